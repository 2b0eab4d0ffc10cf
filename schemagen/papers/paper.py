"""A paper: a document as values, without ink. A format sets it on pages.

Empty cells and fields are blanks to be filled in by hand: they are set as a ruled line or an empty box, never as a
guess.
"""

from collections.abc import Sequence
from dataclasses import dataclass, field
from typing import Literal

from schemagen.sheets.sheet import Sheet


@dataclass(frozen=True, slots=True)
class Heading:
    """`level` 1 is a chapter of the paper, 2 a part of a chapter."""

    text: str
    level: int = 1


@dataclass(frozen=True, slots=True)
class Paragraph:
    """A "caution" stands in a ruled box, a "remark" in smaller letters."""

    text: str
    style: Literal["plain", "caution", "remark"] = "plain"


@dataclass(frozen=True, slots=True)
class Points:
    """Sentences one below the other, each with a bullet, a number, or an empty box to tick."""

    items: tuple[str, ...]
    mark: Literal["bullet", "number", "box"] = "bullet"


@dataclass(frozen=True, slots=True)
class Grid:
    """A table; its heading row is repeated on every page. `widths` are shares of the width, by content if not given.

    `tall` rows leave room for handwriting.
    """

    columns: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    widths: tuple[float, ...] = ()
    tall: bool = False


@dataclass(frozen=True, slots=True)
class Fields:
    """Names with their values, two pairs to a row; an empty value is a ruled line."""

    pairs: tuple[tuple[str, str], ...]


@dataclass(frozen=True, slots=True)
class Lines:
    """Ruled lines for an answer in handwriting."""

    count: int


@dataclass(frozen=True, slots=True)
class Picture:
    """A whole sheet within the paper's text, as wide as the text; `alt` tells it to those who cannot see it."""

    sheet: Sheet
    alt: str


@dataclass(frozen=True, slots=True)
class NewPage:
    """What follows begins on a new page."""


Piece = Heading | Paragraph | Points | Grid | Fields | Lines | Picture | NewPage


@dataclass(frozen=True)
class Paper:
    """One document. `number` is its number in the set ("H-014-03"), `head` the data of its header (as a sheet's), with
    "list" for what the footer says of the list.

    Either it is text (`pieces`, on A4 pages, upright or `landscape`), or it is drawn (`sheets`, each on a page of its
    own size); with both, the sheets come last.
    """

    name: str
    number: str
    title: str
    pieces: tuple[Piece, ...] = ()
    sheets: Sequence[Sheet] = ()
    landscape: bool = False
    head: dict[str, str] = field(default_factory=dict)
