"""A folder appears whole or not at all."""

import os
from pathlib import Path

import pytest

from schemagen.output import write_folder as module
from schemagen.output.write_folder import write_folder

FILES = {"a.txt": b"one", "deep/er/b.txt": b"two"}


def read_back(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_all_files_arrive_and_nothing_is_left_beside_them(tmp_path):
    written = write_folder(tmp_path / "out", FILES)
    assert read_back(tmp_path / "out") == FILES
    assert written == (tmp_path / "out/a.txt", tmp_path / "out/deep/er/b.txt")
    assert os.listdir(tmp_path) == ["out"]


def test_an_existing_folder_is_refused_and_left_as_it_is(tmp_path):
    write_folder(tmp_path / "out", FILES)
    with pytest.raises(FileExistsError, match="name a new folder"):
        write_folder(tmp_path / "out", {"c.txt": b"three"})
    assert read_back(tmp_path / "out") == FILES


def test_replace_leaves_only_the_new_files(tmp_path):
    write_folder(tmp_path / "out", FILES)
    write_folder(tmp_path / "out", {"c.txt": b"three"}, replace=True)
    assert read_back(tmp_path / "out") == {"c.txt": b"three"}
    assert os.listdir(tmp_path) == ["out"]


@pytest.mark.parametrize("replace", [False, True])
def test_a_failure_half_way_leaves_what_was_there(tmp_path, monkeypatch, replace):
    if replace:
        write_folder(tmp_path / "out", FILES)

    def fails(path, data):
        if path.name == "d.txt":
            raise OSError(28, "No space left on device", str(path))
        path.write_bytes(data)

    monkeypatch.setattr(module, "_write", fails)
    with pytest.raises(OSError, match="No space left") as caught:
        write_folder(tmp_path / "out", {"c.txt": b"", "d.txt": b""}, replace=replace)
    assert caught.value.filename == str(tmp_path / "out")
    assert os.listdir(tmp_path) == (["out"] if replace else [])
    if replace:
        assert read_back(tmp_path / "out") == FILES


def test_no_name_leads_out_of_the_folder(tmp_path):
    for name in ("../x", "/x", "a/../../x", ""):
        with pytest.raises(ValueError, match="does not name a file"):
            write_folder(tmp_path / "out", {name: b""})
    assert os.listdir(tmp_path) == []


def test_a_missing_parent_is_named(tmp_path):
    with pytest.raises(OSError) as caught:
        write_folder(tmp_path / "no" / "out", FILES)
    assert caught.value.filename == str(tmp_path / "no" / "out")


def test_a_file_of_that_name_is_never_replaced(tmp_path):
    (tmp_path / "out").write_bytes(b"mine")
    with pytest.raises(OSError):
        write_folder(tmp_path / "out", FILES, replace=True)
    assert (tmp_path / "out").read_bytes() == b"mine"
