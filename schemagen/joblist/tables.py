"""Tables of cells, as CSV files and workbooks hold them: their rows to the tree of a list, and a list to its rows."""

import re
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, ListError, Row
from schemagen.joblist.revisions import REVISIONS, pieces_of, text_of_pieces
from schemagen.joblist.tree import Items, Node, Table, Text
from schemagen.joblist.words import clean_text, key_and_unit

NAMES = ("sheet", "parts", "connections", "states", "accept", "fluids", "symbols")
ROW_NAME = {"states": "name", "accept": "check", "fluids": "fluid"}
NEEDED: dict[str, tuple[tuple[str, ...], ...]] = {
    "sheet": (("key", "value"),),
    "parts": (("tag", "kind"),),
    "connections": (("from", "to"), ("run",)),
    "states": (("name",),),
    "accept": (("check",),),
    "fluids": (("fluid",),),
    "symbols": (("folder",),),
}
"""Columns that a table must have: one of the sets."""

ERROR_WORDS = ("#N/A", "#REF!", "#VALUE!", "#DIV/0!", "#NAME?", "#NULL!", "#NUM!", "#GETTING_DATA", "#SPILL!", "#CALC!")
_ALWAYS = ("parts", "connections")
_HEADER_WITHIN = 20
_ERRORS = "|".join(re.escape(w) + "$" for w in ERROR_WORDS)
BOOK_GUARD = re.compile(f"'*(?:{_ERRORS})")
CSV_GUARD = re.compile(f"'*(?:[=+\\-@]|{_ERRORS})")
"""Texts that a program would take for a formula or a fault; when written they get one apostrophe in front."""


def guarded(text: str, guard: re.Pattern[str]) -> str:
    return f"'{text}" if guard.match(text) else text


def unguarded(text: str, guard: re.Pattern[str]) -> str:
    return text[1:] if text.startswith("'") and guard.match(text) else text


@dataclass(frozen=True, slots=True)
class Cells:
    """One table: rows of texts, and where each cell stands.

    `guard` matches texts that were written with a leading apostrophe, which is taken away.
    """

    rows: Sequence[Sequence[str]]
    place: Callable[[int, int], Place]
    whole: Place
    guard: re.Pattern[str]


def tree_of(tables: dict[str, Cells], errors: list[ListError]) -> Node:
    """The tree of a list from its tables by name; what is wrong is added to `errors`."""
    pairs: list[tuple[Text, Node]] = []
    for name, cells in tables.items():
        found = _rows(name, cells, errors)
        node: Node = Items(tuple(found), cells.whole)
        if name == "sheet":
            node = _by_key(found, cells.whole, errors)
        elif name == "symbols":
            folders = [
                value for row in found for key, value in row.pairs if key_and_unit(key.text, name)[0] == "folder"
            ]
            node = folders[0] if folders else Text("", cells.whole)
            errors += [ListError(f.place, "there is a second symbols folder", "name one folder") for f in folders[1:]]
        pairs.append((Text(name, cells.whole), node))
    return Table(tuple(pairs), Place(tables["parts"].whole.file) if "parts" in tables else pairs[0][1].place)


def _by_key(rows: list[Table], whole: Place, errors: list[ListError]) -> Table:
    """The rows of key and value as one table; those of several revisions become one list."""
    pairs: list[tuple[Text, Node]] = []
    revisions: list[Node] = []
    for row in rows:
        cells = {key_and_unit(key.text, "sheet")[0]: value for key, value in row.pairs}
        key, value = cells.get("key"), cells.get("value")
        if key is None:
            errors.append(
                ListError(row.place, "a value has no key", "write title, number, revision … in the first column")
            )
        elif value is not None and key_and_unit(key.text, "sheet")[0] == REVISIONS:
            revisions.append(value)
            if len(revisions) == 1:
                pairs.append((Text(REVISIONS, value.place), value))
        elif value is not None:
            pairs.append((Text(key.text, value.place), value))
    if len(revisions) > 1:
        together = Items(tuple(revisions), revisions[0].place)
        pairs = [(key, together if value is revisions[0] else value) for key, value in pairs]
    return Table(tuple(pairs), whole)


def _rows(name: str, cells: Cells, errors: list[ListError]) -> list[Table]:
    """Each row that is not blank as a table of heading and cell; blank cells are left out."""
    at = header_row(name, cells.rows)
    if at is None:
        if any(clean_text(c) for row in cells.rows for c in row):
            errors.append(_no_header(name, cells))
        return []
    header = [unguarded(clean_text(c), cells.guard) for c in cells.rows[at]]
    out = []
    for n, row in enumerate(cells.rows[at + 1 :], at + 1):
        pairs = []
        for column, cell in enumerate(row):
            text = clean_text(cell)
            if not text:
                continue
            place = cells.place(n, column)
            if text in ERROR_WORDS:
                errors.append(
                    ListError(place, f"the spreadsheet shows {text} here", "mend the formula or type the value")
                )
            elif column >= len(header) or not header[column]:
                message = f"{text!r} stands in a column without a heading"
                errors.append(ListError(place, message, "give the column a heading, or quote a text that holds commas"))
            else:
                pairs.append((Text(header[column], cells.place(at, column)), Text(unguarded(text, cells.guard), place)))
        if pairs:
            out.append(Table(tuple(pairs), cells.place(n, 0)))
    return out


def header_row(name: str, rows: Sequence[Sequence[str]]) -> int | None:
    """The first row that has the columns needed; titles and blank rows may stand above it."""
    for n, row in enumerate(rows[:_HEADER_WITHIN]):
        words = {key_and_unit(cell, name)[0] for cell in row}
        if any(words.issuperset(needed) for needed in NEEDED[name]):
            return n
    return None


def _no_header(name: str, cells: Cells) -> ListError:
    first = next((n for n, row in enumerate(cells.rows) if any(clean_text(c) for c in row)), 0)
    needed = " or ".join(" and ".join(f"`{w}`" for w in words) for words in NEEDED[name])
    found = ", ".join(filter(None, (clean_text(c) for c in cells.rows[first])))[:80]
    message = f"the table `{name}` has no columns {needed}; its first row is: {found}"
    return ListError(cells.place(first, 0), message, "write these headings above the rows")


def tables_of(job: JobList, with_empty: bool = False) -> dict[str, list[list[str]]]:
    """The tables of a list as rows of texts, the first row the headings; only those with something in them, or all."""
    tables = {
        "sheet": [["key", "value"], *(row for e in job.sheet for row in _sheet_rows(e))],
        "parts": _grid(("tag", "kind"), [((p.tag, p.kind), p.entries) for p in job.parts]),
        "connections": _connection_rows(job.connections),
    }
    for name, rows in (("states", job.states), ("accept", job.accept), ("fluids", job.fluids)):
        tables[name] = _row_grid(ROW_NAME[name], rows)
    tables["symbols"] = [["folder"], *([[job.symbols]] if job.symbols else [])]
    return {name: rows for name, rows in tables.items() if with_empty or len(rows) > 1 or name in _ALWAYS}


def _sheet_rows(entry: Entry) -> list[list[str]]:
    """A row of key and value; one for each revision."""
    pieces = pieces_of(entry.text) if entry.key == REVISIONS else []
    if text_of_pieces(pieces) != entry.text:
        return [[entry.key, entry.text]]
    return [[entry.key, text_of_pieces([piece])] for piece in pieces]


def _row_grid(name: str, rows: Sequence[Row]) -> list[list[str]]:
    return _grid((name,), [((row.name,), row.entries) for row in rows])


def _connection_rows(lines: Sequence[ConnectionLine]) -> list[list[str]]:
    runs = any(len(line.stops) > 2 for line in lines)
    rows = []
    for line in lines:
        ends = line.stops if len(line.stops) == 2 else ("", "")
        run = ("" if ends[0] else " > ".join(line.stops),) if runs else ()
        rows.append(((*ends, *run), line.entries))
    return _grid(("from", "to", "run") if runs else ("from", "to"), rows)


def _grid(first: tuple[str, ...], rows: Sequence[tuple[tuple[str, ...], tuple[Entry, ...]]]) -> list[list[str]]:
    """Rows with one column for every key that any of them has."""
    keys = sorted({entry.key for _, entries in rows for entry in entries})
    grid = [[*first, *keys]]
    for fixed, entries in rows:
        texts = {entry.key: entry.text for entry in entries}
        grid.append([*fixed, *(texts.get(key, "") for key in keys)])
    return grid
