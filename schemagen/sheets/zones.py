"""Where the parts stand on the drawn sheets: the field of the grid, and with several sheets the sheet."""

from collections.abc import Sequence

from schemagen.sheets.sheet import PAGES, Page, Sheet
from schemagen.sheets.title_block import field_at


def zones(sheets: Sequence[Sheet]) -> dict[str, str]:
    """By tag: "B4", or "2/B4" on the second of several sheets; a part on several sheets is told by the first."""
    found: dict[str, str] = {}
    for n, sheet in enumerate(sheets, 1):
        page = _page_of(sheet)
        for part in sheet.drawing.parts:
            centre = part.box.centre
            field = field_at(page, sheet.onto.x(centre.x), sheet.onto.y(centre.y))
            found.setdefault(part.tag, f"{n}/{field}" if len(sheets) > 1 else field)
    return found


def _page_of(sheet: Sheet) -> Page:
    if sheet.page in PAGES:
        return PAGES[sheet.page]
    across, down = (max(2, 2 * round(side / 100)) for side in (sheet.width, sheet.height))
    return Page(sheet.page, sheet.width, sheet.height, (across, down))
