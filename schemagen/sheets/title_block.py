"""Frame, grid and title block of a sheet.

Fields are those of ISO 7200:2004 (its public summary), the frame those of ISO 5457 (as explained in drawing handbooks).
What nobody filled in stays an empty ruled line.
"""

from collections.abc import Mapping

from schemagen.drawing.shape import Rect, Shape, Text, line
from schemagen.drawing.style import Pen, Style
from schemagen.sheets.sheet import FILING_MARGIN, MARGIN, Block, Page
from schemagen.sheets.typeset import height_of, shortened, text_lines, wrapped

ROW = 9.0
HEIGHT = 4 * ROW
WIDEST, NARROWEST = 180.0, 130.0
TICK = 5.0
"""Length of a grid line, into the margin."""

LETTERS = "ABCDEFGHJKLMNPQRSTUVWXYZ"
"""Without I and O, as ISO 5457 has it."""

# (field's name, key of the sheet's data, column, row, columns wide, rows high) on a grid of 18 columns and 4 rows
FIELDS = (
    ("Client", "client", 0, 0, 5, 1),
    ("Site", "site", 5, 0, 5, 1),
    ("Drawn", "drawn", 10, 0, 3, 1),
    ("Checked", "checked", 13, 0, 3, 1),
    ("Status", "status", 16, 0, 2, 1),
    ("Firm", "firm", 0, 1, 5, 2),
    ("Document type", "type", 13, 1, 5, 1),
    ("Number", "number", 13, 2, 3, 1),
    ("Revision", "revision", 16, 2, 2, 1),
    ("Approved", "approved", 0, 3, 5, 1),
    ("Date of issue", "date", 5, 3, 4, 1),
    ("Language", "language", 9, 3, 2, 1),
    ("Size", "size", 11, 3, 2, 1),
    ("Scale", "scale", 13, 3, 3, 1),
    ("Sheet", "sheet", 16, 3, 2, 1),
)


def title_block(
    data: Mapping[str, str], page: str, x: float, y: float, width: float, style: Style, sheet: str = "1 of 1"
) -> Block:
    """The block with its top left corner at x, y; `sheet` is the sheet's number and how many there are."""
    values = {"type": "Piping schematic", "language": "en", "status": data.get("purpose", "")} | dict(data)
    values |= {"size": page, "scale": "not to scale", "sheet": sheet}
    column = width / 18
    shapes: list[Shape] = [Rect(x, y, width, HEIGHT, 0, Pen(style.pens["frame"]))]
    for name, key, c, r, wide, high in FIELDS:
        shapes += _field(name, values.get(key, ""), x + c * column, y + r * ROW, wide * column, high * ROW, style)
    shapes += _title(values, x + 5 * column, y + ROW, 8 * column, 2 * ROW, style)
    return Block("title-block", tuple(shapes))


def _field(name: str, value: str, x: float, y: float, w: float, h: float, style: Style) -> list[Shape]:
    small, plain = style.text["small"], style.text["plain"]
    shapes: list[Shape] = [Rect(x, y, w, h, 0, Pen(style.pens["rule"]))]
    shapes += text_lines((shortened(name, small, w - 2),), x + 1, y + 1.1, small)
    base = y + h - 1.6
    if not value.strip():
        return [*shapes, line(((x + 1, base + 0.4), (x + w - 1, base + 0.4)), Pen(style.pens["rule"]))]
    cap = plain if len(wrapped(value, plain, w - 2)) == 1 else small
    if h > ROW and cap == small:
        lines = wrapped(value, plain, w - 2, most=2)
        return [*shapes, *text_lines(lines, x + 1, base - plain - (len(lines) - 1) * 1.5 * plain, plain)]
    return [*shapes, Text(x + 1, base, shortened(value, cap, w - 2), cap)]


def _title(values: Mapping[str, str], x: float, y: float, w: float, h: float, style: Style) -> list[Shape]:
    """The title in the largest letters that fit, the second title below it."""
    small, plain = style.text["small"], style.text["plain"]
    shapes: list[Shape] = [Rect(x, y, w, h, 0, Pen(style.pens["rule"]))]
    shapes += text_lines(("Title",), x + 1, y + 1.1, small)
    title, second = values.get("title", ""), values.get("subtitle", "")
    below = shortened(second, plain, w - 2, False)
    if below:
        shapes.append(Text(x + 1, y + h - 1.6, below, plain))
    for cap, most in ((style.text["title"], 1), (style.text["heading"], 1 if below else 2), (plain, 2)):
        if len(wrapped(title, cap, w - 2, bold=True, most=most + 1)) <= most:
            break
    lines = wrapped(title, cap, w - 2, bold=True, most=most)
    free = h - 4.5 - (plain + 2 if below else 0)
    top = y + 4.5 + max(0, (free - height_of(lines, cap)) / 2)
    return [*shapes, *text_lines(lines, x + 1, top, cap, bold=True)]


def frame(page: Page, style: Style) -> Block:
    """The frame round the drawing space, centring marks and the grid in the margin."""
    left, top, right, bottom = FILING_MARGIN, MARGIN, page.width - MARGIN, page.height - MARGIN
    shapes: list[Shape] = [Rect(left, top, right - left, bottom - top, 0, Pen(style.pens["frame"]))]
    both = page.name != "A4"
    across, down = page.fields
    thin, small = Pen(style.pens["block"]), style.text["small"]
    for i, (a, b) in enumerate(_fields(left, right, page.width / 2, across)):
        for y, into in ((top, -1), (bottom, 1)) if both else ((top, -1),):
            shapes += [line(((a, y), (a, y + into * TICK)), thin)] if i else []
            shapes.append(Text((a + b) / 2, y + into * TICK / 2 + small / 2, str(i + 1), small, anchor="middle"))
    for i, (a, b) in enumerate(_fields(top, bottom, page.height / 2, down)):
        for x, into in ((left, -1), (right, 1)) if both else ((left, -1),):
            shapes += [line(((x, a), (x + into * TICK, a)), thin)] if i else []
            shapes.append(Text(x + into * TICK / 2, (a + b) / 2 + small / 2, LETTERS[i % 24], small, anchor="middle"))
    centre = Pen(style.pens["frame"])
    for a, b in (
        ((page.width / 2, top), (page.width / 2, top - TICK)),
        ((page.width / 2, bottom), (page.width / 2, bottom + TICK)),
        ((left, page.height / 2), (left - TICK, page.height / 2)),
        ((right, page.height / 2), (right + TICK, page.height / 2)),
    ):
        shapes.append(line((a, b), centre))
    return Block("frame", tuple(shapes))


def field_at(page: Page, x: float, y: float) -> str:
    """The field of the page's grid in which a point of the sheet lies, such as "C3"."""
    across, down = page.fields
    columns = _fields(FILING_MARGIN, page.width - MARGIN, page.width / 2, across)
    rows = _fields(MARGIN, page.height - MARGIN, page.height / 2, down)
    column = next((n for n, (_, end) in enumerate(columns) if x <= end), len(columns) - 1)
    row = next((n for n, (_, end) in enumerate(rows) if y <= end), len(rows) - 1)
    return f"{LETTERS[row % 24]}{column + 1}"


def _fields(start: float, end: float, middle: float, count: int) -> list[tuple[float, float]]:
    """Fields of 50 mm counted from the centring mark; the outer ones take what is left."""
    cuts = [middle + 50.0 * (i - count // 2) for i in range(1, count)]
    cuts = [c for c in cuts if start + TICK < c < end - TICK]
    return list(zip([start, *cuts], [*cuts, end], strict=True))
