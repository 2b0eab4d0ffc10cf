"""Writes sheets to files: the suffix picks the format, and a file appears whole or not at all.

A format is a module of this folder named after its suffix, as_<suffix>.py, with encode(sheets, dpi) -> the bytes of
each file: one for every sheet, or one for all of them. One that shows a drawing in its states and sets all words anew
has STATES = True: it is given the plain drawing first, then one for each state, without furniture (sheets.bare).
"""

import os
import pkgutil
import tempfile
from collections.abc import Sequence
from functools import cache
from importlib import import_module
from pathlib import Path
from types import ModuleType

import schemagen.output
from schemagen.sheets.sheet import CannotDraw, Sheet


class UnknownSuffix(CannotDraw):
    """No format has this suffix; the message names those that there are."""


@cache
def formats() -> tuple[str, ...]:
    """The suffixes that there is a format for, in alphabetical order."""
    names = (m.name for m in pkgutil.iter_modules(schemagen.output.__path__))
    return tuple(sorted(f".{name.removeprefix('as_')}" for name in names if name.startswith("as_")))


def format_of(suffix: str) -> ModuleType:
    """The format with that suffix. Raises UnknownSuffix."""
    if suffix.lower() not in formats():
        raise UnknownSuffix(f"cannot write {suffix or 'a file without suffix'}; use {', '.join(formats())}")
    return import_module(f"schemagen.output.as_{suffix.lower()[1:]}")


def shows_states(suffix: str) -> bool:
    """True if the format with that suffix wants the states too, all without furniture. Raises UnknownSuffix."""
    return getattr(format_of(suffix), "STATES", False)


def encode(sheets: Sequence[Sheet], suffix: str, dpi: int = 200) -> tuple[bytes, ...]:
    """The files that the sheets make in the format with that suffix. Raises UnknownSuffix."""
    return tuple(format_of(suffix).encode(sheets, dpi))


def write(sheets: Sequence[Sheet], path: Path, dpi: int = 200) -> tuple[Path, ...]:
    """Writes the sheets and returns the files: `path` itself if they make one file, else name-1, name-2 …

    Every file is encoded before the first is written. Raises UnknownSuffix, and OSError with the name of the file.
    """
    encoded = encode(sheets, path.suffix, dpi)
    several = len(encoded) > 1
    names = [path.with_name(f"{path.stem}-{n}{path.suffix}") if several else path for n in range(1, len(encoded) + 1)]
    for name, data in zip(names, encoded, strict=True):
        write_whole(name, data)
    return tuple(names)


def write_whole(path: Path, data: bytes) -> None:
    """Writes a file beside `path` and puts it in its place when it is complete; an old file stays until then.

    Raises OSError with the name of `path` in it: no such folder, no permission, disk full, `path` is a folder.
    """
    temporary = None
    try:
        if path.is_dir():
            raise IsADirectoryError(21, "is a folder; name a file in it", str(path))
        with tempfile.NamedTemporaryFile(dir=path.parent, prefix=".schemagen-", suffix=".part", delete=False) as file:
            temporary = Path(file.name)
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        os.chmod(temporary, path.stat().st_mode & 0o777 if path.exists() else 0o666 & ~_umask())
        os.replace(temporary, path)
    except OSError as e:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise type(e)(e.errno, e.strerror or str(e), str(path)) from None
    except BaseException:
        if temporary is not None:
            temporary.unlink(missing_ok=True)
        raise


def _umask() -> int:
    mask = os.umask(0)
    os.umask(mask)
    return mask
