"""What the papers of the handover set are made from, and what one of them is before it has a number."""

from collections.abc import Sequence
from dataclasses import dataclass

from schemagen.papers.paper import Piece
from schemagen.schedules.dossier import Dossier
from schemagen.sheets.sheet import Sheet

NONE = "–"
"""Stands in a cell where there is nothing to say; an empty cell is a blank to be filled in by hand."""


@dataclass(frozen=True)
class Material:
    """The dossier of a list and its drawn sheets: the plain ones, and one or more for each operating state."""

    dossier: Dossier
    sheets: Sequence[Sheet]
    state_sheets: Sequence[Sheet]


@dataclass(frozen=True)
class Chapter:
    """One paper of the set without its number and header."""

    name: str
    title: str
    pieces: tuple[Piece, ...] = ()
    sheets: Sequence[Sheet] = ()
    landscape: bool = False


def said(text: object) -> str:
    """A cell's text, or the dash for nothing."""
    return str(text) if text not in (None, "") else NONE
