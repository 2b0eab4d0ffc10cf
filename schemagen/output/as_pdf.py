"""Sheets as one PDF, each on a page of its own size in millimetres: lines stay lines, letters stay text."""

from collections.abc import Sequence

from schemagen.output.as_svg import svg_text
from schemagen.output.plain_text import plain
from schemagen.output.typesetting import typeset
from schemagen.sheets.sheet import Sheet

LANGUAGE = "en"


def encode(sheets: Sequence[Sheet], dpi: int = 0) -> tuple[bytes, ...]:
    """One file of all sheets. `dpi` is for formats made of dots. Raises CannotDraw without the typesetter."""
    title = plain(sheets[0].drawing.title)
    return (typeset("sheets.typ", {"title": title, "language": LANGUAGE, "sheets": [*map(sheet_data, sheets)]}),)


def sheet_data(sheet: Sheet) -> dict:
    """What a template needs to show a sheet: its size in millimetres, its picture, and words for those who hear it."""
    return {
        "width": sheet.width,
        "height": sheet.height,
        "title": plain(sheet.title),
        "svg": svg_text(sheet),
        "alt": plain(sheet.desc),
    }
