"""All part kinds on one sheet: every symbol with its name, family by family."""

from html import escape

from schemagen.base.path import number
from schemagen.base.text import FAMILY, font_size_for, text_width
from schemagen.drawing.style import MM_PER_UNIT
from schemagen.drawing.symbol_ink import svg_of, symbol_ink
from schemagen.parts.kind import PartKind
from schemagen.parts.library import Library

_WIDTH = 420.0
_MARGIN = 12.0
_COLUMNS = 10
_CELL = (_WIDTH - 2 * _MARGIN) / _COLUMNS
_GAP = 5.0
_NAME, _HEADING, _TITLE = 1.8, 3.5, 5.0
_STUB = 8
_OUTWARD = {"L": (-_STUB, 0), "R": (_STUB, 0), "T": (0, -_STUB), "B": (0, _STUB)}


def kinds_sheet(library: Library) -> str:
    """One SVG, 420 mm wide and as high as needed: symbols at drawing size, a short piece of pipe at each opening."""
    out: list[str] = []
    y = _MARGIN + _TITLE
    out.append(_text("Part kinds", _MARGIN, y, _TITLE, bold=True))
    kinds = [library.kind(name) for name in library.names]
    for family in dict.fromkeys(kind.family for kind in kinds):
        y += 12
        out.append(_text(family.capitalize(), _MARGIN, y, _HEADING, bold=True))
        y += 2
        out.append(_line(f"M{number(_MARGIN)} {number(y)}H{number(_WIDTH - _MARGIN)}", 0.25))
        row: list[PartKind] = []
        for kind in [k for k in kinds if k.family == family]:
            if sum(_cells(k) for k in row) + _cells(kind) > _COLUMNS:
                y = _row(row, y, out)
                row = []
            row.append(kind)
        y = _row(row, y, out)
    height = number(y + _MARGIN)
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{number(_WIDTH)}mm" height="{height}mm" '
        f'viewBox="0 0 {number(_WIDTH)} {height}"><title>Part kinds</title>'
        f'<rect x="0" y="0" width="{number(_WIDTH)}" height="{height}" fill="#ffffff"/>\n'
    ) + "\n".join([*out, "</svg>\n"])


def _cells(kind: PartKind) -> int:
    return -(-int((kind.symbol.w + 2 * _STUB) * MM_PER_UNIT) // int(_CELL))


def _row(row: list[PartKind], top: float, out: list[str]) -> float:
    """Draws a row below `top`; the bottom of its lowest line of text."""
    floor = top + _GAP + max(kind.symbol.h + 2 * _STUB for kind in row) * MM_PER_UNIT
    x, bottom = _MARGIN, floor
    for kind in row:
        width = _cells(kind) * _CELL
        middle = x + width / 2
        left = middle - kind.symbol.w * MM_PER_UNIT / 2
        out.append(_symbol(kind, left, floor - (kind.symbol.h + _STUB) * MM_PER_UNIT))
        for i, line in enumerate((*_broken(kind.name, width - 2), kind.letter)):
            baseline = floor + (i + 1) * 1.6 * _NAME
            out.append(_text(line, middle, baseline, _NAME, line == kind.letter, "middle"))
            bottom = max(bottom, baseline)
        x += width
    return bottom


def _symbol(kind: PartKind, x: float, y: float) -> str:
    stubs = "".join(
        _line(f"M{p.at.x} {p.at.y}L{p.at.x + _OUTWARD[p.side][0]} {p.at.y + _OUTWARD[p.side][1]}", 2)
        for p in kind.ports.values()
        if p.need in ("must", "may")
    )
    ink = "".join(svg_of(i) for i in symbol_ink(kind))
    return (
        f'<g class="part" data-kind="{kind.name}" transform="translate({number(x)} {number(y)}) scale({MM_PER_UNIT})">'
        f"<title>{escape(kind.title)}</title>{stubs}{ink}</g>"
    )


def _broken(name: str, width: float) -> list[str]:
    """The name in lines of at most `width`, broken after hyphens."""
    lines, size = [""], font_size_for(_NAME)
    words = name.split("-")
    for i, word in enumerate(words):
        piece = word + ("-" if i < len(words) - 1 else "")
        if lines[-1] and text_width(lines[-1] + piece, size) > width:
            lines.append("")
        lines[-1] += piece
    return lines


def _line(d: str, width: float) -> str:
    return f'<path d="{d}" fill="none" stroke="#000000" stroke-width="{number(width)}"/>'


def _text(text: str, x: float, y: float, cap: float, bold: bool = False, anchor: str = "start") -> str:
    weight = ' font-weight="bold"' if bold else ""
    return (
        f'<text x="{number(x)}" y="{number(y)}" font-family="{FAMILY}, sans-serif"'
        f' font-size="{number(font_size_for(cap))}"{weight} text-anchor="{anchor}" fill="#000000">{escape(text)}</text>'
    )
