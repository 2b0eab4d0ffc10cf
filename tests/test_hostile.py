"""Broken and hostile input: a clear message, a finding or a correct drawing; never a traceback, never half a file."""

import io
import json
import os
import stat
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

MEMORY = 1_000_000_000
GOOD = """\
parts:
  B1: {kind: system-boiler, output: 12 kW}
  R1: {kind: radiator, output: 1.5 kW}
connections:
  - [B1.flow, R1.a]
  - [R1.b, B1.return]
"""


def run(arguments: list[str], folder: Path, stdin: bytes = b"") -> subprocess.CompletedProcess:
    """The command as a process of its own, in that folder, with its memory capped where the system can."""

    def cap():
        import resource

        resource.setrlimit(resource.RLIMIT_DATA, (MEMORY, MEMORY))

    return subprocess.run(
        [sys.executable, "-m", "schemagen", *arguments],
        cwd=folder,
        input=stdin,
        capture_output=True,
        timeout=120,
        preexec_fn=cap if sys.platform.startswith("linux") else None,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p), "NO_COLOR": "1"},
    )


def zipped(members: dict[str, bytes]) -> bytes:
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        for name, data in members.items():
            archive.writestr(name, data)
    return buffer.getvalue()


def bomb() -> bytes:
    """A workbook whose one sheet unpacks to 2 GB of zeros."""
    buffer = io.BytesIO()
    with zipfile.ZipFile(buffer, "w", zipfile.ZIP_DEFLATED) as archive:
        archive.writestr("[Content_Types].xml", "<Types/>")
        with archive.open("xl/worksheets/sheet1.xml", "w", force_zip64=True) as sheet:
            block = bytes(1 << 22)
            for _ in range(512):
                sheet.write(block)
    return buffer.getvalue()


def part(text: str) -> str:
    return GOOD.replace("output: 12 kW", text)


def labelled(label: str) -> bytes:
    return part(f"output: 12 kW, label: {json.dumps(label, ensure_ascii=False)}").encode()


UNREADABLE = {
    "empty.yaml": b"",
    "blanks.yaml": b"   \n\n  \n",
    "binary.yaml": bytes(range(256)) * 64,
    "zeros.yaml": bytes(10_000),
    "long_line.yaml": b"parts: {A: {kind: radiator, note: " + b"x" * 50_000_000 + b"}}",
    "anchors.yaml": b"a: &a [x, x, x, x, x, x, x, x, x]\n"
    + b"".join(b"%c: &%c [%s]\n" % (c + 1, c + 1, b", ".join([b"*%c" % c] * 9)) for c in range(97, 106)),
    "object.yaml": b"parts: !!python/object/apply:os.system ['touch owned']\n",
    "tag.yaml": b"parts: !evil {A: {kind: radiator}}\n",
    "deep.yaml": b"parts: " + b"[" * 10_000,
    "deep_block.yaml": b"".join(b" " * i + b"a:\n" for i in range(3_000)),
    "deep.json": b'{"parts": ' + b"[" * 10_000 + b"]" * 10_000 + b"}",
    "cut.json": b'{"parts": {"A": {"kind": "radi',
    "list.yaml": b"- just\n- words\n",
    "number.yaml": b"42\n",
    "tab.yaml": b"parts:\n\tA: {kind: radiator}\n",
    "no_zip.xlsx": b"this is no workbook",
    "no_parts.xlsx": zipped({"hello.txt": b"hello"}),
    "bomb.xlsx": None,
    "two_keys.yaml": b"parts: {}\nparts: {}\n",
    "outside.yaml": GOOD.encode() + b"symbols: ../../somewhere\n",
    "absolute.yaml": GOOD.encode() + b"symbols: /etc\n",
    "unknown.words": GOOD.encode(),
    "control.yaml": labelled("bell \x07 escape \x1b[31m null \x00"),
    "surrogate.json": b'{"parts": {"B1": {"kind": "system-boiler", "label": "\\ud800"}}, "connections": []}',
    "comma.yaml": GOOD.encode() + b"sheet: {title: Heat pump, buffer}\n",
}

READABLE = {
    "script.yaml": labelled("<script>alert(1)</script>"),
    "cdata.yaml": labelled("]]> <![CDATA[ &amp; &#0; \" ' --> <!--"),
    "rtl.yaml": labelled("\u202eמסמך\u202c שלום"),
    "emoji.yaml": labelled("🔥🚿👩‍🔧 stove"),
    "long_label.yaml": labelled("word " * 2_000),
    "nan.yaml": part("output: .nan").encode(),
    "infinite.yaml": part("output: .inf").encode(),
    "negative.yaml": part("output: -5 kW, size: -22 mm").encode(),
    "wrong_unit.yaml": part("output: 3 bar").encode(),
    "unknown_kind.yaml": GOOD.replace("radiator", "radiatro").encode(),
    "unknown_port.yaml": GOOD.replace("R1.a", "R1.flow").encode(),
    "unknown_tag.yaml": GOOD.replace("R1.a", "R9.a").encode(),
    "twice.yaml": GOOD.replace("  R1:", "  B1:").encode(),
    "itself.yaml": (GOOD + "  - [R1.a, R1.a]\n").encode(),
    "cycle.yaml": (
        GOOD.replace("parts:\n", "parts:\n  T1: {kind: tee}\n  T2: {kind: tee}\n")
        + "  - {run: [T1, T2, T1, T2, T1]}\n"
    ).encode(),
    "only_parts.yaml": b"parts: {B1: {kind: system-boiler}}\n",
    "nothing.yaml": b"parts: {}\nconnections: []\n",
    "dots.yaml": (GOOD + "  - [., ..]\n  - [B1., .flow]\n").encode(),
    "formula.yaml": labelled('=HYPERLINK("http://example.invalid")'),
    "tag_markup.yaml": (
        GOOD.replace("R1", '"<b>&R1"')
        .replace('[B1.flow, "<b>&R1".a]', "['B1.flow', '<b>&R1.a']")
        .replace('["<b>&R1".b, B1.return]', "['<b>&R1.b', B1.return]")
        .encode()
    ),
}


def written(name: str, data: bytes | None, folder: Path) -> str:
    (folder / name).write_bytes(bomb() if data is None else data)
    return name


def stayed_clean(result: subprocess.CompletedProcess, folder: Path) -> None:
    said = result.stderr.decode(errors="replace") + result.stdout.decode(errors="replace")
    assert "Traceback" not in said, said[-2000:]
    assert not (folder / "owned").exists()
    half_written = [p for p in folder.iterdir() if p.name.startswith(".") or p.suffix == ".tmp"]
    assert not half_written, "a half-written file was left"


@pytest.mark.parametrize("name", UNREADABLE)
def test_a_list_that_cannot_be_read_is_refused_with_place_and_cure(name, tmp_path):
    result = run(["draw", written(name, UNREADABLE[name], tmp_path), "-o", "out.svg"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2, result.stderr
    assert name.split(".")[0] in result.stderr.decode(errors="replace")
    assert not (tmp_path / "out.svg").exists()


@pytest.mark.parametrize("name", READABLE)
def test_a_list_that_can_be_read_is_drawn_whatever_it_says(name, tmp_path):
    from xml.etree import ElementTree

    result = run(["draw", written(name, READABLE[name], tmp_path), "-o", "out.svg"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 0, result.stderr
    root = ElementTree.parse(tmp_path / "out.svg").getroot()
    assert not [e for e in root.iter() if e.tag.endswith("script")]


def test_check_reports_an_unreadable_list_in_the_same_document(tmp_path):
    result = run(["check", written("empty.yaml", b"", tmp_path), "--format", "json"], tmp_path)
    document = json.loads(result.stdout)
    assert result.returncode == 2
    assert document["errors"][0].keys() == {"place", "message", "cure"}


def test_a_folder_without_a_list_is_refused(tmp_path):
    (tmp_path / "folder").mkdir()
    result = run(["check", "folder"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2


def test_a_missing_file_is_refused(tmp_path):
    result = run(["check", "absent.yaml"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2


@pytest.mark.skipif(not hasattr(os, "geteuid") or os.geteuid() == 0, reason="the superuser may read everything")
def test_a_file_without_permission_is_refused(tmp_path):
    path = tmp_path / "locked.yaml"
    path.write_text(GOOD)
    path.chmod(0)
    result = run(["check", "locked.yaml"], tmp_path)
    path.chmod(stat.S_IRUSR | stat.S_IWUSR)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="needs a device that is always full")
def test_a_full_disk_is_said_and_the_old_file_stays(tmp_path, monkeypatch):
    from schemagen.output import write as output

    target = tmp_path / "out.svg"
    target.write_text("old")

    def no_room(*_):
        raise OSError(28, "No space left on device")

    monkeypatch.setattr(output.os, "fsync", no_room)
    with pytest.raises(OSError):
        output.write_whole(target, b"new")
    assert target.read_text() == "old"
    assert list(tmp_path.iterdir()) == [target]


def test_an_output_folder_that_does_not_exist_is_said(tmp_path):
    result = run(["draw", written("good.yaml", GOOD.encode(), tmp_path), "-o", "absent/out.svg"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2


def test_an_unknown_suffix_names_those_that_can_be_written(tmp_path):
    result = run(["draw", written("good.yaml", GOOD.encode(), tmp_path), "-o", "out.bmp"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2
    assert b".svg" in result.stderr


def test_a_symbol_with_a_script_is_refused(tmp_path):
    folder = tmp_path / "own"
    folder.mkdir()
    (folder / "thing.toml").write_text(
        'title="thing"\nletter="X"\nabout="x"\n[symbol]\nshape="stub"\n[ports]\np={role="dead",media="X"}\n'
    )
    (folder / "thing.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20"><script>alert(1)</script>'
        '<circle class="port" id="p" cx="10" cy="20" r="1"/></svg>'
    )
    text = "symbols: own\n" + GOOD.replace("  R1: {kind: radiator", "  X1: {kind: thing}\n  R1: {kind: radiator")
    result = run(["draw", written("own.yaml", text.encode(), tmp_path), "-o", "out.svg"], tmp_path)
    stayed_clean(result, tmp_path)
    assert result.returncode == 2
    assert b"script" in result.stderr
