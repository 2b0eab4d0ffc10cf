"""Tables beside the drawing: chapters of rows that flow down a column and on into the next."""

from collections.abc import Sequence
from dataclasses import dataclass

from schemagen.drawing.shape import Shape, line, shifted
from schemagen.drawing.style import Pen, Style
from schemagen.sheets.sheet import Block
from schemagen.sheets.typeset import height_of, text_lines

GAP = 4.0
"""Between two columns, and between two chapters, in millimetres."""

STEP = 2.0
"""By how much columns are made higher until few enough of them hold everything, in millimetres."""


@dataclass(frozen=True, slots=True)
class Row:
    """Shapes from the row's top left corner, and its height, in millimetres."""

    shapes: tuple[Shape, ...]
    height: float


@dataclass(frozen=True, slots=True)
class Chapter:
    """A heading and its rows; `name` becomes the block's name."""

    name: str
    heading: str
    rows: tuple[Row, ...]


@dataclass(frozen=True, slots=True)
class Columns:
    """Chapters set in columns from 0, 0 downwards and to the right."""

    blocks: tuple[Block, ...]
    count: int
    height: float


def set_columns(chapters: Sequence[Chapter], width: float, height: float, style: Style) -> Columns:
    """The chapters in columns of that width and height; a row never breaks, a heading never stands alone.

    A row taller than a column is set all the same, so `height` of the result can be larger than asked.
    """
    shapes: dict[str, list[Shape]] = {chapter.name: [] for chapter in chapters}
    column, y, deepest = 0, 0.0, 0.0
    for chapter in chapters:
        heading = _heading(chapter.heading, width, style)
        for i, row in enumerate(chapter.rows):
            wanted = row.height + (heading.height + (GAP if y else 0) if i == 0 else 0)
            if y > 0 and y + wanted > height:
                column, y = column + 1, 0.0
                rows = (heading if i == 0 else _heading(f"{chapter.heading} (continued)", width, style), row)
            else:
                y += GAP if i == 0 and y else 0
                rows = (heading, row) if i == 0 else (row,)
            for piece in rows:
                shapes[chapter.name] += [shifted(s, column * (width + GAP), y) for s in piece.shapes]
                y += piece.height
            deepest = max(deepest, y)
    blocks = tuple(Block(name, tuple(found)) for name, found in shapes.items() if found)
    return Columns(blocks, column + 1 if blocks else 0, deepest)


def lowest_columns(chapters: Sequence[Chapter], width: float, room: float, style: Style) -> Columns:
    """The chapters in as many columns as stand side by side in `room`, as low as can be."""
    most = max(1, int((room + GAP) // (width + GAP)))
    height = sum(row.height for chapter in chapters for row in chapter.rows) / most
    while (columns := set_columns(chapters, width, height, style)).count > most:
        height += STEP
    return columns


def _heading(text: str, width: float, style: Style) -> Row:
    cap = style.text["plain"]
    rule = line(((0, cap + 1.8), (width, cap + 1.8)), Pen(style.pens["rule"]))
    return Row((*text_lines((text,), 0, 0, cap, bold=True), rule), cap + 3.6)


def text_row(lines: Sequence[str], x: float, cap: float, after: float) -> Row:
    return Row(text_lines(lines, x, 0, cap), height_of(lines, cap) + after)
