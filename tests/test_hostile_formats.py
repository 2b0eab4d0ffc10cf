"""Hostile text in every field, through every format and verb: shown as text or refused; never run or half written."""

import contextlib
import io
import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path
from xml.etree import ElementTree

import pytest

from schemagen import cli

TEXTS = {
    "markup": "<script>alert(1)</script><img src=x onerror=alert(1)>",
    "ends": "]]> --> </style></script></title><![CDATA[ &amp; &#0; \" '",
    "formula": '=HYPERLINK("http://example.invalid","x")',
    "typst": '#panic("run") #read("/etc/passwd") $x$ *b* _i_ @ref `raw` \\ [',
    "dot": '\\N \\G", shape=none]; A -> B {x|<p>y}',
    "dxf": "%%u %%c \\P {\\fArial;x} ^J ^M",
    "right to left": "\u202eמסמך\u202c שלום",
    "emoji": "🔥👩‍🔧 stove",
    "long": "word " * 2_000,
    "unbroken": "x" * 10_000,
}
CALLS = {
    **{f"draw {suffix}": ("draw", "LIST", "-o", f"out.{suffix}") for suffix in ("svg", "png", "pdf", "dxf", "html")},
    "states": ("states", "LIST"),
    "states json": ("states", "LIST", "--format", "json"),
    "check": ("check", "LIST"),
    "check json": ("check", "LIST", "--format", "json"),
    "check github": ("check", "LIST", "--format", "github"),
    "sizes": ("sizes", "LIST"),
    "sizes csv": ("sizes", "LIST", "--format", "csv"),
    "compare": ("compare", "good.yaml", "LIST"),
    "compare pdf": ("compare", "good.yaml", "LIST", "-o", "out.pdf"),
    "graph gv": ("graph", "LIST", "-o", "out.gv"),
    "graph svg": ("graph", "LIST", "-o", "out.svg"),
    "convert xlsx": ("convert", "LIST", "-o", "out.xlsx"),
    "convert yaml": ("convert", "LIST", "-o", "out.yaml"),
    "convert csv": ("convert", "LIST", "-o", "out"),
    "pack": ("pack", "LIST", "-o", "out"),
    "lesson": ("lesson", "LIST", "-o", "out", "--papers", "0"),
}
SLOW = {
    "pack": ("ends", "formula", "typst"),
    "lesson": ("ends", "typst"),
    "draw html": ("markup", "ends", "long"),
    "compare pdf": ("typst", "right to left", "long"),
}
PAIRS = [(verb, name) for verb in CALLS for name in SLOW.get(verb, TEXTS)]
GOOD = {
    "sheet": {"title": "One radiator", "number": "L-01"},
    "parts": {
        "B1": {"kind": "system-boiler", "label": "Boiler", "output": "12 kW", "capped": ["condensate"]},
        "S1": {"kind": "safe-outlet"},
        "R1": {"kind": "radiator", "label": "Hall", "output": "1.5 kW"},
    },
    "connections": [
        {"run": ["B1.flow", "thermostatic-radiator-valve", "R1", "lockshield-valve", "B1.return"], "size": "15 mm"},
        ["B1.relief-outlet", "S1.in"],
    ],
}


def hostile(text: str) -> dict:
    """A sound system with that text in every field; where a word is wanted, it is cut and has no arrows."""
    word = text[:60].strip()
    tag = f"{word.replace('>', '')} R"
    radiator = {"kind": "radiator", "label": text, "output": text}
    boiler = GOOD["parts"]["B1"] | {key: text for key in ("label", "note", "place", "model", "size")}
    return {
        "sheet": {key: text for key in ("title", "subtitle", "number", "customer", "site", "date", "drawn-by")}
        | {"revisions": [{"index": "A", "date": "2025-05-02", "what": text[:400], "by": word}]},
        "parts": {"B1": boiler, "S1": {"kind": "safe-outlet"}, tag: radiator},
        "connections": [
            {"run": ["B1.flow", f"{tag}.a"], "size": text, "note": text, "label": text},
            [f"{tag}.b", "B1.return"],
            ["B1.relief-outlet", "S1.in"],
            [f"{tag} 2.a", "S1.nowhere"],
        ],
        "states": {word: {"calling": [tag]}},
        "accept": [{"check": word, "reason": text}],
    }


def call(*arguments: str) -> tuple[int, str, str]:
    """Exit status, output and messages of the command, in this process."""
    out, err, argv = io.StringIO(), io.StringIO(), sys.argv
    with contextlib.redirect_stdout(out), contextlib.redirect_stderr(err):
        sys.argv = ["schemagen", *arguments]
        try:
            cli.main()
        except SystemExit as e:
            return int(e.code or 0), out.getvalue(), err.getvalue()
        finally:
            sys.argv = argv
    return 0, out.getvalue(), err.getvalue()


def nothing_runs(path: Path) -> None:
    """The file is whole, and nothing in it would be executed or fetched by its reader."""
    data = path.read_bytes()
    assert data, path
    if path.suffix == ".svg":
        for element in ElementTree.fromstring(data).iter():
            assert not element.tag.endswith(("}script", "}image", "}foreignObject", "}img")), path
            assert not [key for key in element.attrib if key.startswith("on")], path
    if path.suffix == ".html":
        assert b"<img src=x" not in data and b"<script>alert" not in data
    if path.suffix == ".csv":
        lines = data.decode("utf-8-sig").splitlines()
        assert not [line for line in lines if line.startswith(("=", '"=', "@", '"@'))], path
    if path.suffix == ".xlsx":
        from openpyxl import load_workbook

        cells = (cell for sheet in load_workbook(path) for row in sheet.iter_rows() for cell in row)
        assert not [cell.coordinate for cell in cells if cell.data_type == "f" or cell.hyperlink], path
    if path.suffix == ".pdf":
        assert data.startswith(b"%PDF") and data.rstrip().endswith(b"%%EOF")
        assert b"/JavaScript" not in data and b"/Launch" not in data
    if path.suffix == ".json":
        json.loads(data)


@pytest.fixture
def place(tmp_path, monkeypatch) -> Path:
    monkeypatch.chdir(tmp_path)
    (tmp_path / "good.yaml").write_text(json.dumps(GOOD), encoding="utf-8")
    return tmp_path


@pytest.mark.parametrize(("verb", "name"), PAIRS)
def test_hostile_text_is_shown_as_text(verb, name, place):
    (place / "bad.json").write_text(json.dumps(hostile(TEXTS[name])), encoding="utf-8")
    status, out, err = call(*("bad.json" if word == "LIST" else word for word in CALLS[verb]))
    too_large = verb == "draw png" and status == 2 and "too large a picture; use" in err
    assert status in (0, 1) or too_large, err[:2_000]
    assert "Traceback" not in out + err
    made = sorted(p for p in place.rglob("*") if p.is_file() and p.name not in ("bad.json", "good.yaml"))
    assert not [p for p in place.rglob(".*")], "a half-written file or folder was left"
    assert bool(made) == (status == 0 and "-o" in CALLS[verb])
    for path in made:
        nothing_runs(path)
    if "json" in verb and status < 2:
        json.loads(out)


@pytest.mark.parametrize("sign", ["\x07", "\x1b[31m", "\x00", "\ud800", "\ufffe"])
@pytest.mark.parametrize("verb", ["draw html", "pack", "lesson", "graph gv", "convert xlsx", "compare"])
def test_control_characters_are_refused_by_every_verb(verb, sign, place):
    (place / "bad.json").write_text(json.dumps(hostile(f"a{sign}b")), encoding="utf-8")
    status, out, err = call(*("bad.json" if word == "LIST" else word for word in CALLS[verb]))
    assert status == 2 and "bad.json" in err and "cure:" in err
    assert sign[0] not in out + err
    assert sorted(os.listdir(place)) == ["bad.json", "good.yaml"]


def test_a_lesson_of_a_list_without_parts_is_refused(place):
    (place / "none.yaml").write_text("parts: {}\nconnections: []\n")
    status, _, err = call("lesson", "none.yaml", "-o", "out", "--papers", "0")
    assert status == 2 and "needs a list with parts" in err
    assert not (place / "out").exists()


@pytest.mark.parametrize("name", ["out.bmp", "out.ods", "out.csv"])
def test_convert_names_the_forms_it_can_write(name, place):
    status, _, err = call("convert", "good.yaml", "-o", name)
    assert status == 2 and ("use .yaml" in err or "parts.csv" in err)
    assert os.listdir(place) == ["good.yaml"]


@pytest.mark.parametrize("verb", ["draw", "pack", "lesson", "graph", "convert", "kinds", "new"])
def test_an_output_without_its_folder_is_said_with_name_and_cure(verb, place):
    name = {"pack": "absent/out", "lesson": "absent/out", "convert": "absent/out.yaml"}.get(verb, "absent/out.svg")
    option = {"kinds": ["--sheet"], "new": []}.get(verb, ["good.yaml", "-o"])
    status, _, err = call(verb, *option, name, *(["--papers", "0"] if verb == "lesson" else []))
    assert status == 2
    assert f"{name}: there is no such folder to write to; make it first" in err
    assert os.listdir(place) == ["good.yaml"]


def test_the_set_of_kinds_is_drawn_to_svg_only(place):
    status, _, err = call("kinds", "--sheet", "out.pdf")
    assert status == 2 and "out.svg" in err
    assert os.listdir(place) == ["good.yaml"]


@pytest.mark.skipif(sys.platform == "win32", reason="signals are sent otherwise there")
@pytest.mark.parametrize("after", [0.5, 0.9, 1.3])
def test_an_interrupted_pack_leaves_a_whole_folder_or_none(after, place):
    process = subprocess.Popen(
        [sys.executable, "-m", "schemagen", "pack", "good.yaml", "-o", "out"],
        stdout=subprocess.DEVNULL, stderr=subprocess.PIPE, text=True,
    )  # fmt: skip
    time.sleep(after)
    process.send_signal(signal.SIGINT)
    _, err = process.communicate(timeout=60)
    assert process.returncode in (0, 130, -signal.SIGINT)
    if process.returncode >= 0:
        assert "Traceback" not in err
    assert sorted(os.listdir(place)) in (["good.yaml"], ["good.yaml", "out"])
    if (place / "out").exists():
        assert (place / "out" / "manifest.json").exists()
