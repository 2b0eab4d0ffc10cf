"""A sheet: a drawing at a scale, and the blocks round it (frame, title block, legend, findings …), in millimetres."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from schemagen.base.finding import Finding
from schemagen.drawing.drawing import Drawing
from schemagen.drawing.shape import Onto, Shape


class CannotDraw(ValueError):
    """What was asked of the drawing cannot be had; the message says why and what to ask instead."""


@dataclass(frozen=True, slots=True)
class Page:
    """A trimmed sheet, landscape. `fields` are the grid's fields along the long and the short side (ISO 5457)."""

    name: str
    width: float
    height: float
    fields: tuple[int, int]


PAGES: dict[str, Page] = {
    page.name: page
    for page in (
        Page("A4", 297, 210, (6, 4)),
        Page("A3", 420, 297, (8, 6)),
        Page("A2", 594, 420, (12, 8)),
        Page("A1", 841, 594, (16, 12)),
    )
}
"""Sizes and grid fields as ISO 5457 has them, smallest first."""

FILING_MARGIN, MARGIN = 20.0, 10.0
"""From the edge to the frame: left, and on the other sides (ISO 5457, from memory)."""


@dataclass(frozen=True, slots=True)
class Block:
    """A group of furniture. `name` is "frame", "title-block", "legend", "section-key", "findings", "cautions" …"""

    name: str
    shapes: tuple[Shape, ...]


@dataclass(frozen=True)
class Words:
    """What a sheet says in words, for formats that set it anew.

    data      the fields of the title block that are filled in
    findings  in the order of their numbers, from 1; `checked` is the sentence that closes them
    cautions  the closing line last
    """

    data: Mapping[str, str] = field(default_factory=dict)
    findings: tuple[Finding, ...] = ()
    checked: str = ""
    cautions: tuple[str, ...] = ()


@dataclass(frozen=True)
class Sheet:
    """One sheet ready for a format: size in millimetres, the drawing and how it stands, the blocks, and their words."""

    page: str
    width: float
    height: float
    title: str
    desc: str
    drawing: Drawing
    onto: Onto
    blocks: tuple[Block, ...]
    words: Words = Words()
