"""read(path) -> JobList: chooses the form by suffix or folder; all errors come at once, in ListUnreadable."""

import re
import sys
from collections.abc import Sequence
from pathlib import Path

from schemagen.base.place import Place
from schemagen.joblist.joblist import JobList, ListError, ListUnreadable
from schemagen.joblist.shape import job_of, shown

MOST_BYTES = 5_000_000
_CURE_SIZE = "a list is a few thousand lines; is this the right file?"
TEXT_FORMS = {".yaml": "yaml", ".yml": "yaml", ".json": "json"}
WORKBOOKS = (".xlsx", ".xlsm", ".ods", ".xls")
TABLE_SUFFIXES = (".csv", ".tsv")
STREAM = "standard input"


def read(source: str | Path) -> JobList:
    """Reads a list from a file, a folder of CSV files, or "-" for standard input. Raises ListUnreadable."""
    if str(source) == "-":
        return _from_stream(sys.stdin.buffer.read(MOST_BYTES + 1))
    path, file = Path(source), str(source)
    suffix = path.suffix.lower()
    try:
        if path.is_dir():
            return _from_folder(path, file)
        if suffix in TABLE_SUFFIXES:
            return _from_folder(path.parent, str(path.parent), path)
        data = _bytes_of(path, file)
    except OSError as e:
        raise _unreadable(file, f"cannot be opened: {_why(e)}", "check the name and the rights of the file") from None
    if suffix in WORKBOOKS:
        return _from_workbook(data, path.stem, file, str(path.parent))
    if suffix not in TEXT_FORMS:
        known = ", ".join([*TEXT_FORMS, *TABLE_SUFFIXES, *WORKBOOKS])
        said = f"the suffix {suffix} is no form of a list" if suffix else "the name has no suffix that tells the form"
        raise _unreadable(file, said, f"give it one of {known}")
    text, notes = decoded(data, file)
    return read_text(text, TEXT_FORMS[suffix], path.stem, file, str(path.parent), notes)


def read_text(
    text: str,
    form: str,
    name: str = "list",
    file: str = STREAM,
    folder: str | None = None,
    notes: Sequence[ListError] = (),
) -> JobList:
    """Reads a list from a text; `form` is "yaml" or "json". Raises ListUnreadable."""
    if form == "json":
        from schemagen.joblist.json_form import read_json as reader
    else:
        from schemagen.joblist.yaml_form import read_yaml as reader
    tree, errors = reader(text.replace("\r\n", "\n").replace("\r", "\n"), file)
    return job_of(tree, errors, name, file, folder, notes)


def decoded(data: bytes, file: str) -> tuple[str, list[ListError]]:
    """The text of a file: by its byte order mark, else UTF-8, else the western 8-bit code page, which is noted.

    Raises ListUnreadable.
    """
    if len(data) > MOST_BYTES:
        raise _unreadable(file, f"the file is larger than {MOST_BYTES // 10**6} MB", _CURE_SIZE)
    for mark, encoding in ((b"\xef\xbb\xbf", "utf-8-sig"), (b"\xff\xfe", "utf-16"), (b"\xfe\xff", "utf-16")):
        if data.startswith(mark):
            try:
                return data.decode(encoding), []
            except UnicodeDecodeError:
                raise _unreadable(file, "the text is damaged", "save it again as UTF-8") from None
    if b"\0" in data:
        raise _unreadable(file, "this is no text", "give YAML, JSON, CSV, or a workbook with its proper suffix")
    try:
        return data.decode("utf-8"), []
    except UnicodeDecodeError as e:
        line = len(re.split(rb"\r\n?|\n", data[: e.start]))
    try:
        text = data.decode("cp1252")
    except UnicodeDecodeError:
        raise _unreadable(file, "the letters are in no code that can be read", "save it as UTF-8") from None
    odd = next((word for word in text.split(" ") if not word.isascii()), "")
    message = (
        f"the text is not UTF-8; it was taken for the western code page, where the first odd word reads {shown(odd)!r}"
    )
    return text, [ListError(Place(file, line), message, "save it as UTF-8 to be sure")]


def _bytes_of(path: Path, file: str) -> bytes:
    if not path.exists():
        raise _unreadable(file, "there is no such file", _near_file(path))
    if not path.is_file():
        raise _unreadable(file, "this is no ordinary file", "give a file or a folder")
    with path.open("rb") as stream:
        return stream.read(MOST_BYTES + 1)


def _near_file(path: Path) -> str:
    import difflib

    names = sorted(p.name for p in path.parent.iterdir()) if path.parent.is_dir() else []
    close = difflib.get_close_matches(path.name, names, n=1)
    if close:
        return f"did you mean {path.with_name(close[0])}?"
    return "check the name; `schemagen new FILE` writes a starter list"


def _why(e: OSError) -> str:
    return (e.strerror or str(e)).lower()


def _unreadable(file: str, message: str, cure: str) -> ListUnreadable:
    return ListUnreadable((ListError(Place(file), message, cure),))


def _from_stream(data: bytes) -> JobList:
    if data.startswith(b"PK\x03\x04"):
        return _from_workbook(data, "list", STREAM, None)
    text, notes = decoded(data, STREAM)
    job = read_text(text, "json" if text.lstrip()[:1] in ("{", "[") else "yaml", notes=notes)
    if job.symbols:
        raise _unreadable(STREAM, f"there is no folder {job.symbols} beside a stream", "give the list as a file")
    return job


def _from_folder(folder: Path, file: str, one: Path | None = None) -> JobList:
    from schemagen.joblist.csv_form import read_folder

    return read_folder(folder, file, one)


def _from_workbook(data: bytes, name: str, file: str, folder: str | None) -> JobList:
    from schemagen.joblist.workbook_form import read_workbook

    return read_workbook(data, name, file, folder)
