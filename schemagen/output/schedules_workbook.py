"""Schedules as one workbook: a sheet each, heading frozen, filters, texts as texts and numbers as numbers.

No cell is ever a formula. The same schedules give the same bytes.
"""

import io
from collections.abc import Sequence

from schemagen.joblist.workbook_form import LIKE_ESCAPE, column_name, timeless
from schemagen.output.plain_text import plain
from schemagen.schedules.schedule import Cell, Column, Schedule

NARROWEST, WIDEST = 8, 60
"""Widths of columns, in characters."""

LONGEST = 32_000
"""Characters that a cell can hold, a little below the most that the format allows (32 767)."""


def schedules_workbook(schedules: Sequence[Schedule], title: str) -> bytes:
    """The .xlsx file; `title` stands in its properties."""
    from openpyxl import Workbook

    book = Workbook()
    book.remove(book.active)
    book.properties.title, book.properties.creator = plain(title)[:250], "schemagen"
    for schedule in schedules:
        _fill(book.create_sheet(schedule.name), schedule)
    stream = io.BytesIO()
    book.save(stream)
    return timeless(stream.getvalue())


def _fill(sheet, schedule: Schedule) -> None:
    from openpyxl.styles import Alignment, Font

    sheet.freeze_panes = "B2"
    last = column_name(len(schedule.columns) - 1)
    sheet.auto_filter.ref = f"A1:{last}{len(schedule.rows) + 1}"
    sheet.print_title_rows = "1:1"
    sheet.page_setup.orientation, sheet.page_setup.paperSize = "landscape", sheet.PAPERSIZE_A4
    sheet.page_setup.fitToWidth, sheet.page_setup.fitToHeight = 1, 0
    sheet.sheet_properties.pageSetUpPr.fitToPage = True
    wrap = Alignment(vertical="top", wrap_text=True)
    for c, column in enumerate(schedule.columns, 1):
        cells = [row[c - 1] for row in schedule.rows]
        _write(sheet.cell(1, c), column.title)
        sheet.cell(1, c).font, sheet.cell(1, c).alignment = Font(bold=True), wrap
        sheet.column_dimensions[column_name(c - 1)].width = _width(column, cells)
        for r, value in enumerate(cells, 2):
            cell = sheet.cell(r, c)
            cell.alignment = wrap
            _write(cell, value)


def _write(cell, value: Cell) -> None:
    if isinstance(value, str):
        cell.number_format = "@"
        if text := LIKE_ESCAPE.sub("_x005F_", plain(value)[:LONGEST]):
            cell.value = text
            cell.data_type = "s"
    elif value is not None:
        cell.value = value


def _width(column: Column, cells: Sequence[Cell]) -> float:
    longest = max((len(str(cell)) for cell in cells if cell is not None), default=0)
    return min(max(longest, len(column.title), NARROWEST) + 2, WIDEST)
