"""Writes a folder of files: it appears whole or not at all, and an existing one stays unless it is to be replaced."""

import errno
import os
import tempfile
from collections.abc import Mapping
from pathlib import Path, PurePosixPath


def refuse_existing(folder: Path) -> None:
    """Raises FileExistsError if something of that name is there; to be asked before long work begins."""
    if os.path.lexists(folder):
        raise FileExistsError(errno.EEXIST, "exists; name a new folder, or remove this one first", str(folder))


def refuse_without_parent(folder: Path) -> None:
    """Raises FileNotFoundError if there is no folder to put this one in; to be asked before long work begins."""
    if not folder.parent.is_dir():
        raise FileNotFoundError(errno.ENOENT, "no such folder", str(folder))


def refuse_foreign(folder: Path, mark: str) -> None:
    """Raises FileExistsError if a folder that is to be replaced has files in it and none of them is named `mark`."""
    if folder.is_dir() and any(folder.iterdir()) and not (folder / mark).is_file():
        said = f"has files of your own in it, as {mark} is not among them; it is not replaced: name another folder"
        raise FileExistsError(errno.EEXIST, said, str(folder))


def write_folder(folder: Path, files: Mapping[str, bytes], replace: bool = False) -> tuple[Path, ...]:
    """Writes the files, by their names in the folder ("a.pdf", "sheets/b.svg"), and returns their paths.

    They are written into a folder beside it, which is then given its name. With `replace` an old folder of that name
    is put aside until then, and removed. Raises FileExistsError if it exists and is not to be replaced, ValueError for
    a name that leads out of the folder, and OSError with the folder's name: no permission, disk full, no such parent.
    """
    for name in files:
        path = PurePosixPath(name)
        if path.is_absolute() or ".." in path.parts or not path.parts:
            raise ValueError(f"{name!r} does not name a file in the folder")
    if not replace:
        refuse_existing(folder)
    elif folder.exists() and (folder.is_symlink() or not folder.is_dir()):
        raise NotADirectoryError(errno.ENOTDIR, "is not a folder; name another", str(folder))
    try:
        with tempfile.TemporaryDirectory(dir=folder.parent, prefix=".schemagen-", suffix=".part") as aside:
            fresh = Path(aside) / "new"
            fresh.mkdir()
            for name, data in files.items():
                _write(fresh / name, data)
            if replace and folder.exists():
                _exchange(folder, fresh, Path(aside) / "old")
            else:
                refuse_existing(folder)
                os.rename(fresh, folder)
    except OSError as e:
        raise type(e)(e.errno, e.strerror or str(e), str(folder)) from None
    return tuple(folder / name for name in files)


def _write(path: Path, data: bytes) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    with path.open("wb") as file:
        file.write(data)
        file.flush()
        os.fsync(file.fileno())


def _exchange(folder: Path, fresh: Path, old: Path) -> None:
    """Puts the fresh folder in the place of the one that is there; if that fails, the old one is put back."""
    os.rename(folder, old)
    try:
        os.rename(fresh, folder)
    except BaseException:
        os.rename(old, folder)
        raise
