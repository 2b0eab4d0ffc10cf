"""Workbooks: .xlsx, .ods and .xls are read by cell value; .xlsx is written, with nothing but text cells."""

import datetime
import io
import re
import zipfile
from collections.abc import Iterator
from contextlib import contextmanager

from schemagen.base.place import Place
from schemagen.joblist.joblist import JobList, ListError, ListUnreadable
from schemagen.joblist.read import MOST_BYTES
from schemagen.joblist.shape import job_of, near
from schemagen.joblist.tables import BOOK_GUARD, NAMES, Cells, guarded, tables_of, tree_of
from schemagen.joblist.words import TABLES, clean_text, hyphened
from schemagen.parts.library import shipped_library

MOST_UNPACKED = 100_000_000
MOST_CELLS = 600_000
MOST_MEMBERS = 10_000
_SHEET_FILE = re.compile(r"sheets/.*\.xml$|content\.xml$")
_FILLED_CELL = re.compile(rb"<(?:\w+:)?c\b[^>]*?\br=[\"']([A-Z]{1,4})(\d{1,9})[\"'][^>/]*>")
_ROW_OR_CELL = re.compile(rb"<(?:\w+:)?table-(row|cell)\b[^>]*>")
_REPEATED = re.compile(rb"number-(?:columns|rows)-repeated=[\"'](\d{1,12})[\"']")
LIKE_ESCAPE = re.compile("_(?=x[0-9A-Fa-f]{4}_)")
"""Stands for a character in a workbook's texts (ECMA-376 part 1, 22.9.2.19), so a plain one is written escaped."""
_DATES = {"date", "datum", "fecha", "data", "drawn", "checked", "approved"}


def read_workbook(data: bytes, name: str, file: str, folder: str | None) -> JobList:
    """The list in a workbook. Raises ListUnreadable."""
    _refuse_bombs(data, file)
    import python_calamine

    with _no_traceback(file):
        book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data))
    errors: list[ListError] = []
    tables: dict[str, Cells] = {}
    cells = 0
    for table, name_there in _chosen(list(book.sheet_names), file, errors).items():
        with _no_traceback(file):
            sheet = book.get_sheet_by_name(name_there)
        cells += sheet.total_width * sheet.total_height
        if cells > MOST_CELLS:
            raise _unreadable(file, f"sheet {name_there} is far too large", "delete the empty rows and columns")
        tables[table] = _cells(sheet.to_python(skip_empty_area=False), file, name_there, errors)
    if "parts" not in tables:
        raise ListUnreadable(tuple(errors))
    tree = tree_of(tables, errors)
    return job_of(tree, errors, name, file, folder)


@contextmanager
def _no_traceback(file: str) -> Iterator[None]:
    """Whatever the reader of workbooks throws, even its own panics, says that the file is no sound workbook."""
    try:
        yield
    except (KeyboardInterrupt, SystemExit):
        raise
    except BaseException as e:
        message = f"this is no sound workbook: {_short(e)}"
        raise _unreadable(file, message, "save it again as .xlsx or .ods, without a password") from None


def _chosen(sheets: list[str], file: str, errors: list[ListError]) -> dict[str, str]:
    """The sheet of each table. Sheets with other names are the user's own and are left alone."""
    chosen: dict[str, str] = {}
    for sheet in sheets:
        table = TABLES.get(hyphened(sheet))
        if table in chosen:
            message = f"two sheets hold the table `{table}`: {chosen[table]} and {sheet}"
            errors.append(ListError(Place(file, sheet=sheet), message, "keep one of them"))
        elif table:
            chosen[table] = sheet
    for table in ("parts", "connections"):
        if table not in chosen:
            message = f"the workbook has no sheet `{table}`; it has {', '.join(sheets)}"
            errors.append(ListError(Place(file), message, f"name the sheet with the {table} `{table}`"))
    for sheet in sheets:
        cure = near(sheet, [n for n in NAMES if n not in chosen])
        if TABLES.get(hyphened(sheet)) is None and cure.startswith("did you mean"):
            errors.append(ListError(Place(file, sheet=sheet), f"the sheet `{sheet}` is no table of a list", cure))
    return {table: chosen[table] for table in NAMES if table in chosen}


def _cells(rows: list[list], file: str, sheet: str, errors: list[ListError]) -> Cells:
    def place(row: int, column: int) -> Place:
        return Place(file, sheet=sheet, cell=f"{column_name(column)}{row + 1}")

    texts = []
    for n, row in enumerate(rows):
        wants_date = hyphened(str(row[0])) in _DATES if row else False
        texts.append([_text(value, place(n, c), wants_date, errors) for c, value in enumerate(row)])
    return Cells(texts, place, Place(file, sheet=sheet), BOOK_GUARD)


def _text(value: object, place: Place, wants_date: bool, errors: list[ListError]) -> str:
    if isinstance(value, str):
        return value
    if isinstance(value, bool):
        return "yes" if value else "no"
    if isinstance(value, float):
        return repr(value).removesuffix(".0") if abs(value) < 1e15 else f"{value:.0f}"
    if isinstance(value, (datetime.datetime, datetime.date)):
        day = value.strftime("%Y-%m-%d")
        if not wants_date:
            typed = f"{value.day}/{value.month}"
            typed += f" or {value.month}/{value.day}"
            message = f"the spreadsheet turned what was typed, perhaps {typed}, into the date {day}"
            errors.append(ListError(place, message, "format the column as text and type it again"))
            return ""
        return day
    if isinstance(value, (datetime.time, datetime.timedelta)):
        message = f"the spreadsheet turned what was typed into the time {value}"
        errors.append(ListError(place, message, "format the column as text and type it again"))
        return ""
    return clean_text(str(value))


def column_name(column: int) -> str:
    """0 is "A", 26 is "AA"."""
    name = ""
    column += 1
    while column:
        column, rest = divmod(column - 1, 26)
        name = chr(ord("A") + rest) + name
    return name


def _refuse_bombs(data: bytes, file: str) -> None:
    """Raises ListUnreadable if the packed file would unpack to more than a list can need."""
    if len(data) > MOST_BYTES:
        raise _unreadable(file, f"the file is larger than {MOST_BYTES // 10**6} MB", "is this the right file?")
    if not data.startswith(b"PK"):
        return
    with _no_traceback(file), zipfile.ZipFile(io.BytesIO(data)) as packed:
        members = packed.infolist()
        total = sum(member.file_size for member in members)
        if total <= MOST_UNPACKED and len(members) <= MOST_MEMBERS:
            far = max((_extent(packed.read(m)) for m in members if _SHEET_FILE.search(m.filename)), default=0)
    if total > MOST_UNPACKED or len(members) > MOST_MEMBERS:
        message = f"the workbook unpacks to {total // 10**6} MB in {len(members)} pieces"
        raise _unreadable(file, message, "copy the tables into a new workbook")
    if far > MOST_CELLS:
        raise _unreadable(file, "a sheet of the workbook is far too large", "delete the empty rows and columns")


def _extent(xml: bytes) -> int:
    """How many cells a sheet spans: by the farthest cell of .xlsx, by the repeated filled cells of .ods."""
    columns = rows = filled = 0
    for m in _FILLED_CELL.finditer(xml):
        columns, rows = max(columns, _column_number(m[1])), max(rows, int(m[2]))
    in_row = 1
    for m in _ROW_OR_CELL.finditer(xml):
        times = int(repeated[1]) if (repeated := _REPEATED.search(m[0])) else 1
        if m[1] == b"row":
            in_row = times
        elif b"value-type" in m[0]:
            filled += in_row * times
    return max(columns * rows, filled)


def _column_number(letters: bytes) -> int:
    number = 0
    for letter in letters:
        number = number * 26 + letter - 64
    return number


def _short(e: BaseException) -> str:
    return str(e).splitlines()[0][:120] if str(e) else type(e).__name__


def _unreadable(file: str, message: str, cure: str) -> ListUnreadable:
    return ListUnreadable((ListError(Place(file), message, cure),))


def workbook_bytes(job: JobList) -> bytes:
    """The list as .xlsx: all cells text, headings frozen, kinds in a drop-down list. Same list, same bytes."""
    from openpyxl import Workbook
    from openpyxl.styles import Font

    book = Workbook()
    book.remove(book.active)
    for name, rows in tables_of(job).items():
        sheet = book.create_sheet(name)
        sheet.freeze_panes = "A2"
        for r, row in enumerate(rows, 1):
            for c, text in enumerate(row, 1):
                cell = sheet.cell(r, c)
                cell.number_format = "@"
                if text:
                    cell.value = LIKE_ESCAPE.sub("_x005F_", guarded(text, BOOK_GUARD))
                    cell.data_type = "s"
        for c in range(len(rows[0])):
            sheet.cell(1, c + 1).font = Font(bold=True)
            width = max(len(row[c]) for row in rows)
            sheet.column_dimensions[column_name(c)].width = min(max(width + 2, 10), 60)
    _offer_kinds(book)
    stream = io.BytesIO()
    book.save(stream)
    return timeless(stream.getvalue())


def _offer_kinds(book) -> None:
    """A drop-down list of the kinds that ship, in the second column of the parts; other words stay possible."""
    from openpyxl.worksheet.datavalidation import DataValidation

    names = shipped_library().names
    sheet = book.create_sheet("kinds")
    sheet.sheet_state = "hidden"
    for n, name in enumerate(names, 1):
        sheet.cell(n, 1, name)
    offer = DataValidation(
        type="list", formula1=f"kinds!$A$1:$A${len(names)}", allow_blank=True, showErrorMessage=False
    )
    offer.add("B2:B5000")
    book["parts"].add_data_validation(offer)


def timeless(data: bytes) -> bytes:
    """The packed file without the hour it was made."""
    out = io.BytesIO()
    with zipfile.ZipFile(io.BytesIO(data)) as old, zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as new:
        for name in old.namelist():
            content = old.read(name)
            if name == "docProps/core.xml":
                content = re.sub(rb"\d{4}-\d\d-\d\dT\d\d:\d\d:\d\dZ", b"2000-01-01T00:00:00Z", content)
            info = zipfile.ZipInfo(name, (2000, 1, 1, 0, 0, 0))
            info.compress_type = zipfile.ZIP_DEFLATED
            new.writestr(info, content)
    return out.getvalue()
