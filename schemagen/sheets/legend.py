"""The legend of symbols used, the key of sections, the findings and the notes, as chapters of rows."""

from collections.abc import Collection, Sequence

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP
from schemagen.checks.check import Report
from schemagen.drawing.drawing import Drawing, Hop
from schemagen.drawing.marks import mark_radius, mark_shapes
from schemagen.drawing.pipe_lines import HOP_RADIUS, stretched
from schemagen.drawing.shape import Circle, Onto, Path, Shape, line, shape_of, shifted
from schemagen.drawing.style import Pen
from schemagen.drawing.symbol_ink import symbol_ink
from schemagen.network.network import Network
from schemagen.parts.kind import PartKind
from schemagen.sheets.column import Chapter, Row, text_row
from schemagen.sheets.findings_text import closing_line
from schemagen.sheets.typeset import height_of, text_lines, wrapped

CELL = 40
"""Side of a symbol's cell in the legend, in units: inline symbols stand in it at their size on the drawing."""

FAMILIES = (
    "sources", "stores", "movers", "vessels", "valves", "fittings", "instruments", "emitters", "ends", "controls",
)  # fmt: skip
"""Families in the order of the legend; those of a user's own come last."""

SAMPLE = 26.0
"""Length of a line's sample in millimetres: two periods of the longest pattern at the usual module, drawn together."""


def symbol_legend(network: Network, drawing: Drawing, onto: Onto, cap: float, width: float) -> Chapter:
    """Each kind on the drawing once, two to a row, family by family; then the joint and the crossing, if any."""
    drawn = {part.tag for part in drawing.parts}
    kinds: dict[str, PartKind] = {}
    for part in network.parts.values():
        if part.tag in drawn and part.kind.name != "tee":
            kinds.setdefault(part.kind.name, part.kind)
    rank = {family: n for n, family in enumerate(FAMILIES)}
    in_order = sorted(
        kinds.values(), key=lambda k: (rank.get(k.family, len(rank)), k.family, _legend_height(k), k.title)
    )
    cells = [_kind_cell(kind, onto, cap, width / 2) for kind in in_order]
    if any(part.kind == "tee" for part in drawing.parts):
        cells.append(_cell("joint", _dot(), onto, cap, width / 2))
    if any(pipe.hops for pipe in drawing.pipes):
        cells.append(_cell("crossing, not joined", _crossing(), onto, cap, width / 2))
    return Chapter("legend", "Symbols", tuple(_pair(cells[i : i + 2], width / 2) for i in range(0, len(cells), 2)))


def _legend_height(kind: PartKind) -> float:
    """Height of the symbol in its cell, in units: neighbours of one height waste no room."""
    w, h = kind.symbol.w, kind.symbol.h
    return h * min(1.0, CELL / max(w, h))


def _kind_cell(kind: PartKind, onto: Onto, cap: float, width: float) -> Row:
    w, h = kind.symbol.w, kind.symbol.h
    fit = min(1.0, CELL / max(w, h))
    shapes = [shape_of(ink) for ink in symbol_ink(kind)]
    at = Onto(onto.style, onto.scale * fit, (CELL - w * fit) / 2 * onto.scale, (CELL - h * fit) / 2 * onto.scale)
    return _named(kind.title, tuple(at.shape(s) for s in shapes), h * fit, onto, cap, width)


def _cell(name: str, shapes: Sequence[Shape], onto: Onto, cap: float, width: float) -> Row:
    at = Onto(onto.style, onto.scale)
    return _named(name, tuple(at.shape(s) for s in shapes), 20, onto, cap, width)


def _named(name: str, shapes: tuple[Shape, ...], units_high: float, onto: Onto, cap: float, width: float) -> Row:
    """The symbol with its name at the right of it, both on one middle line; the row is as high as the higher."""
    cell = CELL * onto.scale
    lines = wrapped(name, cap, width - cell - 3, most=4)
    high = max(units_high * onto.scale, height_of(lines, cap))
    lift = (high - cell) / 2
    text_top = (high - height_of(lines, cap) + 0.35 * cap) / 2
    texts = text_lines(lines, cell + 1.5, text_top, cap)
    return Row((*(shifted(s, 0, lift) for s in shapes), *texts), high + 1.4)


def _pair(cells: Sequence[Row], width: float) -> Row:
    high = max(cell.height for cell in cells)
    shapes = [shifted(s, i * width, (high - cell.height) / 2) for i, cell in enumerate(cells) for s in cell.shapes]
    return Row(tuple(shapes), high)


def _dot() -> tuple[Shape, ...]:
    pen = Pen(0.7)
    return line(((8, 20), (32, 20)), pen), line(((20, 20), (20, 32)), pen), Circle(20, 20, 4, None, "#000000")


def _crossing() -> tuple[Shape, ...]:
    pen = Pen(0.7)
    hop = Hop(0, Point(20, 20), HOP_RADIUS)
    return line(((20, 6), (20, 34)), pen), Path(hop_segments((Point(4, 20), Point(36, 20)), (hop,)), pen)


def hop_segments(points: Sequence[Point], hops: Sequence[Hop]):
    """A level or upright line with its hops as segments of base.path."""
    (a, b) = points
    out = [("M", (a.x, a.y))]
    for hop in hops:
        r = hop.radius
        out += [("L", (hop.at.x - r, hop.at.y)), ("A", (r, r, 0, 0, 1, hop.at.x + r, hop.at.y))]
    return tuple([*out, ("L", (b.x, b.y))])


def section_key(drawing: Drawing, onto: Onto, cap: float, width: float) -> Chapter:
    """A sample of each section's line with its code letters and its name."""
    style, code = onto.style, 5 * cap
    ends = (Point(0, 0), Point(round(SAMPLE / onto.scale), 0))
    rows = []
    for section in (style.sections[s] for s in drawing.sections):
        lines = wrapped(section.name, cap, width - SAMPLE - code - 2)
        sample = line(((0, cap / 2), (SAMPLE, cap / 2)), onto.pen(stretched(section.pen, ends)))
        letters = text_lines((section.code,), SAMPLE + 2, 0, cap, bold=True, colour=section.pen.colour)
        words = text_lines(lines, SAMPLE + 2 + code, 0, cap)
        rows.append(Row((sample, *letters, *words), max(height_of(lines, cap), cap) + 2.0))
    return Chapter("section-key", "Sections", tuple(rows))


def findings_panel(report: Report, cap: float, width: float, numbers: Collection[int] | None = None) -> Chapter:
    """Number, sentence and cure of each finding; at the end what was checked and what could not be.

    With `numbers` only the findings with these, and nothing at the end.
    """
    unit = cap / LABEL_CAP
    left = 2 * 1.35 * mark_radius(88 if len(report.findings) > 9 else 8) * unit + 1.5
    rows = []
    for number, finding in enumerate(report.findings, 1):
        if numbers is not None and number not in numbers:
            continue
        said = wrapped(finding.message, cap, width - left, most=8)
        cure = wrapped(f"Cure: {finding.cure}", cap, width - left, most=6)
        reason = () if finding.accepted is None else wrapped(f"Accepted: {finding.accepted}", cap, width - left, most=4)
        lines = (*said, *cure, *reason)
        reach = 1.35 * mark_radius(number) * unit
        mark = mark_shapes(finding, number, (left - 1.5) / 2, reach, unit)
        texts = text_lines(lines, left, reach - cap / 2, cap)
        rows.append(Row((*mark, *texts), max(height_of(lines, cap) + reach - cap / 2, 2 * reach) + 1.8))
    if numbers is None:
        last = closing_line(report)
        rows.append(text_row(wrapped(f"{last[:1].upper()}{last[1:]}.", cap, width), 0, cap, 1.0))
    return Chapter("findings", "Findings", tuple(rows))


def sheets_table(contents: Sequence[str], cap: float, width: float) -> Chapter:
    """The number of each sheet and what is on it; no rows for no contents."""
    left = 3 * cap
    rows = []
    for number, content in enumerate(contents, 1):
        lines = wrapped(content, cap, width - left, most=3)
        figure = text_lines((str(number),), 0, 0, cap, bold=True)
        rows.append(Row((*figure, *text_lines(lines, left, 0, cap)), height_of(lines, cap) + 1.4))
    return Chapter("sheets", "Sheets", tuple(rows))
