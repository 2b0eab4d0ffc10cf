"""CSV: a folder with parts.csv and connections.csv, in the spellings that spreadsheets of all countries save."""

import csv
import io
import re
from pathlib import Path

from schemagen.base.place import Place
from schemagen.base.units import unclear_comma
from schemagen.joblist.joblist import JobList, ListError, ListUnreadable
from schemagen.joblist.read import MOST_BYTES, TABLE_SUFFIXES, decoded
from schemagen.joblist.shape import job_of
from schemagen.joblist.tables import CSV_GUARD, Cells, guarded, header_row, tables_of, tree_of
from schemagen.joblist.words import TABLES, hyphened

_SEPARATORS = ";\t,|"
_TEXT_COLUMNS = {"label", "note", "place", "room", "reason", "value", "tag", "kind"}
_TO_QUOTE = re.compile(r'[;\t,|"\r\n]')
_FROZEN = re.compile(r'="(.*)"')
_SHORT_QUANTITY = re.compile(r"[+-]?\d{1,3},\d{3} ?[^\d\s,;]{0,6}")


def read_folder(folder: Path, file: str, one: Path | None) -> JobList:
    """Reads the tables of a folder; `one` is the file that was named, if not the folder.

    Raises ListUnreadable, OSError.
    """
    errors: list[ListError] = []
    paths: dict[str, Path] = {}
    for path in sorted(folder.iterdir()):
        name = TABLES.get(hyphened(path.stem)) if path.suffix.lower() in TABLE_SUFFIXES else None
        if name in paths:
            message = f"two files hold the table `{name}`: {paths[name].name} and {path.name}"
            errors.append(ListError(Place(file), message, "keep one of them in the folder"))
        elif name:
            paths[name] = path
    if one is not None and one not in paths.values():
        if not one.exists():
            raise _unreadable(str(one), "there is no such file", "check the name")
        message = f"{one.name} is no table of a list"
        raise _unreadable(str(one), message, "name the two files parts.csv and connections.csv, in one folder")
    for name in ("parts", "connections"):
        if name not in paths:
            found = (
                ", ".join(p.name for p in sorted(folder.iterdir()) if p.suffix.lower() in TABLE_SUFFIXES)
                or "no CSV files"
            )
            message = f"the folder has no {name}.csv; it has {found}"
            errors.append(ListError(Place(file), message, f"save the table as {name}.csv in this folder"))
    tables: dict[str, Cells] = {}
    notes: list[ListError] = []
    for name, path in paths.items():
        shown = str(path) if file == str(folder) else f"{file}/{path.name}"
        with path.open("rb") as stream:
            data = stream.read(MOST_BYTES + 1)
        try:
            text, warned = decoded(data, shown)
            notes += warned
            tables[name] = cells_of(text, name, shown)
        except ListUnreadable as e:
            errors += e.errors
    if not tables or errors and set(tables) != set(paths):
        raise ListUnreadable(tuple(errors))
    tree = tree_of(tables, errors)
    if "parts" not in tables:
        raise ListUnreadable(tuple(errors))
    return job_of(tree, errors, folder.resolve().name, file, str(folder), notes)


def cells_of(text: str, name: str, file: str) -> Cells:
    """The cells of the CSV text of the table `name`. Raises ListUnreadable."""
    if char := next((c for c in text if c == "\0"), ""):
        raise _unreadable(file, f"the text holds the character U+{ord(char):04X}", "save it again as CSV, UTF-8")
    lines = text.splitlines(keepends=True)
    skipped, separator = 0, ""
    if lines and (m := re.fullmatch(r'"?sep=(.)"?\s*', lines[0], re.I)):
        skipped, separator = 1, m[1]
    separator = separator or separator_of(text, name)
    csv.field_size_limit(MOST_BYTES)
    rows, starts = [], []
    reader = csv.reader(io.StringIO(text, newline=""), delimiter=separator, strict=True)
    start = 1
    try:
        for row in reader:
            rows.append(row)
            starts.append(start)
            start = reader.line_num + 1
    except csv.Error as e:
        message, cure = _csv_fault(str(e))
        raise ListUnreadable((ListError(Place(file, start), message, cure),)) from None
    rows, starts = rows[skipped:], starts[skipped:]
    header = [hyphened(c) for c in next((r for r in rows if any(r)), [])]
    texts = [[_cell(c, separator, header[n] if n < len(header) else "") for n, c in enumerate(row)] for row in rows]
    return Cells(texts, lambda row, column: Place(file, starts[row]), Place(file), CSV_GUARD)


def separator_of(text: str, name: str) -> str:
    """The separator that gives the table its headings, else the most frequent one of the first line with any."""
    lines = re.sub(r'"[^"]*"', "", text[:20_000]).splitlines()
    for mark in _SEPARATORS:
        if header_row(name, [line.split(mark) for line in lines]) is not None and any(mark in line for line in lines):
            return mark
    for line in lines:
        if best := max((line.count(mark) for mark in _SEPARATORS), default=0):
            return next(mark for mark in _SEPARATORS if line.count(mark) == best)
    return ","


def _cell(text: str, separator: str, column: str) -> str:
    text = text.strip()
    if m := _FROZEN.fullmatch(text):
        return m[1].replace('""', '"')
    if separator == ";" and column not in _TEXT_COLUMNS and _SHORT_QUANTITY.fullmatch(text) and unclear_comma(text):
        return text.replace(",", ".")
    return text


def _csv_fault(reason: str) -> tuple[str, str]:
    if "unexpected end" in reason:
        return (
            "a quotation mark that opens in this row is never closed",
            'close it; write "" for one " inside a quoted text',
        )
    if "expected after" in reason:
        return (
            "more text follows a closing quotation mark",
            'put the whole cell in quotes; write "" for one " inside it',
        )
    if "field larger" in reason:
        return "a cell is longer than any list needs", "is a quotation mark left open?"
    return f"this row is no CSV: {reason}", "save the table again as CSV, UTF-8"


def _unreadable(file: str, message: str, cure: str) -> ListUnreadable:
    return ListUnreadable((ListError(Place(file), message, cure),))


def csv_texts(job: JobList, with_empty: bool = False) -> dict[str, str]:
    """The files of the folder: name and text, to be saved as UTF-8.

    Cells that a spreadsheet would take for a formula get an apostrophe, which reading takes away.
    """
    return {
        f"{name}.csv": "\ufeff" + "".join(",".join(map(_quoted, row)) + "\r\n" for row in rows)
        for name, rows in tables_of(job, with_empty).items()
    }


def _quoted(text: str) -> str:
    text = guarded(text, CSV_GUARD)
    return '"' + text.replace('"', '""') + '"' if _TO_QUOTE.search(text) else text
