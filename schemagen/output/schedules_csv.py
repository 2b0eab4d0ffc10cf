"""A schedule as CSV: UTF-8 with a byte order mark, lines that end in CR LF, as spreadsheets of all countries read it.

Texts that a spreadsheet would take for a formula get an apostrophe in front.
"""

import csv
import io

from schemagen.joblist.tables import CSV_GUARD, guarded
from schemagen.output.plain_text import plain
from schemagen.schedules.schedule import Cell, Schedule


def schedule_csv(schedule: Schedule) -> bytes:
    """The schedule's file, headings first; what is not known is an empty field."""
    out = io.StringIO()
    writer = csv.writer(out, lineterminator="\r\n")
    writer.writerow([guarded(plain(column.title), CSV_GUARD) for column in schedule.columns])
    writer.writerows([_field(cell) for cell in row] for row in schedule.rows)
    return ("\ufeff" + out.getvalue()).encode()


def _field(cell: Cell) -> str:
    if cell is None:
        return ""
    return guarded(plain(cell), CSV_GUARD) if isinstance(cell, str) else number_text(cell)


def number_text(value: float) -> str:
    """A number without a needless point: 10.0 is "10"."""
    return repr(value).removesuffix(".0")
