"""write(job, path): the four forms of a list, each read back as the same list; written whole or not at all."""

import os
import re
import tempfile
from collections.abc import Sequence
from pathlib import Path
from typing import Any

from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, Row
from schemagen.joblist.revisions import REVISIONS, pieces_of, text_of_pieces
from schemagen.joblist.tables import ROW_NAME
from schemagen.joblist.words import clean_word
from schemagen.parts.library import COMMON, shipped_library

FORMS = (".yaml", ".yml", ".json", ".xlsx", ".csv")
_PLAIN = re.compile(r"[^\W_](?:[\w .°²³+/()×*%·'-]*[\w.°²³)%])?")
_LISTS = {"words", "tags", "ports"}
_ROW_DIMENSIONS = {"parts": "tags", "calling": "words", "states": "words", "positions": "table"}
_WIDEST = 120


class NoSuchForm(ValueError):
    """A list has no form of that name; the message says which there are."""


def write(job: JobList, path: str | Path) -> None:
    """Writes a list; the suffix picks the form. A folder, a path without suffix, or parts.csv, gets a set of CSV files.

    Files are replaced by finished ones only. Raises NoSuchForm for an unknown suffix, OSError if the disk says no.
    """
    path = Path(path)
    suffix = path.suffix.lower()
    if path.is_dir() or not suffix or suffix == ".csv":
        if suffix == ".csv" and not path.is_dir():
            if path.name not in ("parts.csv", "connections.csv"):
                raise NoSuchForm(f"a list in CSV is two files; write to a folder, or to {path.with_name('parts.csv')}")
            path = path.parent
        _write_folder(job, path)
    elif suffix == ".xlsx":
        from schemagen.joblist.workbook_form import workbook_bytes

        replace_files({path: workbook_bytes(job)})
    elif suffix in FORMS:
        replace_files({path: text_of(job, "json" if suffix == ".json" else "yaml").encode()})
    else:
        raise NoSuchForm(f"a list cannot be written as {suffix}; use {', '.join(FORMS)}, or a folder for CSV")


def text_of(job: JobList, form: str) -> str:
    """The list as text; `form` is "yaml" or "json"."""
    return _json(job) if form == "json" else _yaml(job)


def replace_files(contents: dict[Path, bytes]) -> None:
    """Writes all files under other names first, then puts them in their places.

    Raises OSError with the name of the file that was wanted, and leaves no leftovers.
    """
    waiting: list[tuple[str, Path]] = []
    path = Path()
    try:
        for path, data in contents.items():
            handle, name = tempfile.mkstemp(dir=path.parent, prefix=".", suffix=".part")
            waiting.append((name, path))
            with os.fdopen(handle, "wb") as stream:
                stream.write(data)
            os.chmod(name, path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        while waiting:
            name, path = waiting[0]
            os.replace(name, path)
            waiting.pop(0)
    except OSError as e:
        raise type(e)(e.errno, e.strerror or str(e), str(path)) from None
    finally:
        for name, _ in waiting:
            Path(name).unlink(missing_ok=True)


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask


def _write_folder(job: JobList, folder: Path) -> None:
    """Tables that the folder holds from before and the list lacks are emptied, or they would be read with it."""
    from schemagen.joblist.csv_form import csv_texts

    texts = csv_texts(job)
    folder.mkdir(parents=True, exist_ok=True)
    empty = csv_texts(JobList(job.name, None, (), (), ()), with_empty=True)
    texts |= {name: text for name, text in empty.items() if name not in texts and (folder / name).exists()}
    replace_files({folder / name: text.encode() for name, text in texts.items()})


def _json(job: JobList) -> str:
    import json

    return json.dumps(data_of(job), ensure_ascii=False, indent=2) + "\n"


def data_of(job: JobList) -> dict[str, Any]:
    """The list as dicts, lists and texts, in the order in which a list is written."""
    data: dict[str, Any] = {}
    if job.sheet:
        data["sheet"] = {e.key: _revisions(e.text) if e.key == REVISIONS else e.text for e in job.sheet}
    if job.symbols:
        data["symbols"] = job.symbols
    if job.fluids:
        data["fluids"] = _named(job.fluids, "fluids")
    parts = [(p.tag, {"kind": p.kind} | _short(p.entries, _dimensions(p.kind))) for p in job.parts]
    if len(dict(parts)) == len(parts):
        data["parts"] = dict(parts)
    else:
        data["parts"] = [{"tag": tag} | values for tag, values in parts]
    data["connections"] = [_connection(line) for line in job.connections]
    if job.states:
        data["states"] = _named(job.states, "states")
    if job.accept:
        data["accept"] = [_row(row, "accept") for row in job.accept]
    return data


def _revisions(text: str) -> Any:
    """Revisions as a list of tables, if they are read back as the same text."""
    pieces = pieces_of(text)
    return pieces if text_of_pieces(pieces) == text else text


def _connection(line: ConnectionLine) -> Any:
    return {"run": list(line.stops)} | _short(line.entries, {}) if line.entries else list(line.stops)


def _named(rows: Sequence[Row], table: str) -> Any:
    names = {row.name for row in rows}
    if "" in names or len(names) < len(rows):
        return [_row(row, table) for row in rows]
    return {row.name: _short(row.entries, _ROW_DIMENSIONS) for row in rows}


def _row(row: Row, table: str) -> dict[str, Any]:
    return ({ROW_NAME[table]: row.name} if row.name else {}) | _short(row.entries, _ROW_DIMENSIONS)


def _short(entries: Sequence[Entry], dimensions: dict[str, str]) -> dict[str, Any]:
    return {e.key: _value(e.text, dimensions.get(e.key, "text")) for e in entries}


def _value(text: str, dimension: str) -> Any:
    """A text as the list or table that it came from, if the key takes one; read back it is the same text."""
    pieces = text.split(", ")
    if not all(pieces):
        return text
    if dimension in _LISTS and len(pieces) > 1 and ": " not in text:
        return pieces
    if dimension == "table":
        pairs = [piece.partition(": ") for piece in pieces]
        table = {key: value for key, _, value in pairs}
        if all(key and value and key == clean_word(key) for key, _, value in pairs) and len(table) == len(pairs):
            return table
    return text


def _dimensions(kind: str) -> dict[str, str]:
    library = shipped_library()
    attributes = library.kind(kind).attributes if kind in library else COMMON
    return {name: attribute.dimension for name, attribute in attributes.items()}


def _yaml(job: JobList) -> str:
    """The list as YAML: one line for each part and connection, as long as they fit."""
    sections = []
    for word, value in data_of(job).items():
        if isinstance(value, str):
            sections.append(f"{word}: {_scalar(value)}\n")
        elif not value:
            sections.append(f"{word}: {'[]' if word == 'connections' else '{}'}\n")
        elif isinstance(value, dict):
            width = min(max(len(_scalar(key)) for key in value), 8) if word == "parts" else 0
            lines = (_keyed_lines(_scalar(key), item, width) for key, item in value.items())
            sections.append(f"{word}:\n" + "".join(lines))
        else:
            sections.append(f"{word}:\n" + "".join(f"  - {_flow(item)}\n" for item in value))
    return "\n".join(sections)


def _keyed_lines(key: str, value: Any, width: int) -> str:
    if isinstance(value, list) and value and all(isinstance(item, dict) for item in value):
        return f"  {key}:\n" + "".join(f"    - {_flow(item)}\n" for item in value)
    line = f"  {key}:{' ' * max(width - len(key), 0)} {_flow(value)}\n"
    if isinstance(value, dict) and len(line) > _WIDEST:
        return f"  {key}:\n" + "".join(f"    {_scalar(k)}: {_flow(v)}\n" for k, v in value.items())
    return line


def _flow(value: Any) -> str:
    if isinstance(value, str):
        return _scalar(value)
    if isinstance(value, list):
        return f"[{', '.join(map(_flow, value))}]"
    return "{" + ", ".join(f"{_scalar(key)}: {_flow(item)}" for key, item in value.items()) + "}"


def _scalar(text: str) -> str:
    """A text as a plain scalar where it is safe everywhere, else in double quotes."""
    if _PLAIN.fullmatch(text) and text.lower() != "null":
        return text
    import json

    return json.dumps(text, ensure_ascii=False)
