"""The score sheet: one row for every item of every exercise, as CSV with formulas made harmless."""

import csv
import io
from collections.abc import Iterable

from schemagen.joblist.tables import CSV_GUARD, guarded
from schemagen.lessons.exercise import Exercise

COLUMNS = ("paper", "item", "asked", "expected", "accepted alternatives", "marks", "mark given")


def score_sheet(exercises: Iterable[Exercise]) -> str:
    """One mark for each item; the last column is left for the trainer."""
    out = io.StringIO()
    table = csv.writer(out, lineterminator="\r\n")
    table.writerow(COLUMNS)
    for exercise in exercises:
        for item in exercise.items:
            row = (exercise.paper.name, item.name, item.asked, item.expected, "; ".join(item.accepted), "1", "")
            table.writerow([guarded(" ".join(cell.split()), CSV_GUARD) for cell in row])
    return out.getvalue()
