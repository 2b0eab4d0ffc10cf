"""The table of revisions above the title block: index, date, what was done, by whom; the newest on top.

It is ruled like the block below it. A list that names no revisions gets none.
"""

from collections.abc import Mapping

from schemagen.drawing.shape import Rect, Shape, line
from schemagen.drawing.style import Pen, Style
from schemagen.joblist.revisions import REVISIONS, Revision, revisions_of
from schemagen.sheets.sheet import Block
from schemagen.sheets.typeset import height_of, shortened, text_lines, wrapped

MOST = 6
"""So many revisions are printed, the newest; of more, the last line counts the rest."""

MOST_LINES = 2
"""Of what was done in one revision."""

COLUMNS = (("Revision", 0.0), ("Date", 0.1), ("What was done", 0.27), ("By", 0.8))
"""Heading of each column and where it begins, as a share of the width."""

PAD = 1.2


def revision_table(data: Mapping[str, str], width: float, style: Style) -> tuple[Block, float]:
    """The table with its top left corner at 0, 0, and its height in millimetres; nothing and 0.0 for no revisions."""
    shown = _rows(revisions_of(data.get(REVISIONS, "")))
    if not shown:
        return Block("revisions", ()), 0.0
    cap, rule, y = style.text["small"], Pen(style.pens["rule"]), 0.0
    shapes: list[Shape] = []
    for row in (*shown, tuple(heading for heading, _ in COLUMNS)):
        cells = [_cell(text, n, width, cap) for n, text in enumerate(row)]
        high = max(height_of(lines, cap) for _, lines in cells) + 2 * PAD
        shapes += [text for x, lines in cells for text in text_lines(lines, x + PAD, y + PAD, cap)]
        shapes += [line(((0, y), (width, y)), rule)] if y else []
        y += high
    shapes += [line(((share * width, 0), (share * width, y)), rule) for _, share in COLUMNS[1:]]
    return Block("revisions", (Rect(0, 0, width, y, 0, Pen(style.pens["block"])), *shapes)), y


def _rows(revisions: tuple[Revision, ...]) -> list[tuple[str, ...]]:
    rows = [(r.index, r.date, r.what, r.by) for r in revisions]
    if len(rows) <= MOST:
        return rows
    left = len(rows) - MOST + 1
    return [*rows[: MOST - 1], ("", "", f"and {left} earlier revisions", "")]


def _cell(text: str, n: int, width: float, cap: float) -> tuple[float, tuple[str, ...]]:
    """Where a cell begins, and its lines."""
    ends = [*(share for _, share in COLUMNS), 1.0]
    room = (ends[n + 1] - ends[n]) * width - 2 * PAD
    most = MOST_LINES if COLUMNS[n][0] == "What was done" else 1
    lines = wrapped(text, cap, room, most=most) if most > 1 else (shortened(text, cap, room),)
    return ends[n] * width, lines or ("",)
