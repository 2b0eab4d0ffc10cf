"""The command: exit status, the documents it prints, and what it leaves alone."""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from schemagen.parts.library import shipped_library
from schemagen.parts.trade_words import WORDS, meant_by

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
FIRST = next(iter(sorted(EXAMPLES.glob("01_*"))), None)
COMBINED = EXAMPLES / "04_heat_pump_combined_casing.xlsx"
FAULTY = next(iter(sorted(EXAMPLES.glob("09_*"))), None)


def run(*arguments: str, cwd: Path, **environment: str) -> subprocess.CompletedProcess:
    return subprocess.run(
        [sys.executable, "-m", "schemagen", *map(str, arguments)],
        cwd=cwd,
        capture_output=True,
        text=True,
        timeout=120,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p), **environment},
    )


def test_a_clean_list_ends_with_status_0_and_says_how_many_checks_ran(tmp_path):
    result = run("check", FIRST, cwd=tmp_path)
    assert result.returncode == 0, result.stdout
    assert result.stdout.startswith("no findings: ")


def test_a_faulty_list_ends_with_status_1_and_is_drawn_with_status_0(tmp_path):
    assert run("check", FAULTY, cwd=tmp_path).returncode == 1
    assert run("draw", FAULTY, "-o", "x.svg", cwd=tmp_path).returncode == 0
    assert run("draw", FAULTY, "-o", "x.svg", "--strict", cwd=tmp_path).returncode == 1


def test_the_json_document_has_the_keys_that_other_programs_rely_on(tmp_path):
    document = json.loads(run("check", FAULTY, "--format", "json", cwd=tmp_path).stdout)
    assert {"list", "errors", "findings"} <= document.keys()
    wanted = {"check", "severity", "message", "cure", "parts", "pipes", "states", "source", "accepted"}
    for finding in document["findings"]:
        assert wanted <= finding.keys()


def test_several_lists_close_with_a_summary(tmp_path):
    result = run("check", FIRST, FAULTY, cwd=tmp_path)
    assert result.returncode == 1
    assert "errors  warnings  advice" in result.stdout


def test_annotations_name_the_file_and_the_line(tmp_path):
    (tmp_path / "x.yaml").write_text("parts:\n  B1: {kind: system-boilr}\n")
    result = run("check", "x.yaml", "--format", "github", cwd=tmp_path)
    assert "::error file=x.yaml,line=2,title=" in result.stdout


def test_the_same_list_gives_the_same_bytes_whatever_the_hash_seed_and_the_folder(tmp_path):
    other = tmp_path / "other"
    other.mkdir()
    run("draw", FAULTY, "-o", tmp_path / "a.svg", cwd=tmp_path, PYTHONHASHSEED="1")
    run("draw", FAULTY, "-o", tmp_path / "b.svg", cwd=other, PYTHONHASHSEED="2")
    assert (tmp_path / "a.svg").read_bytes() == (tmp_path / "b.svg").read_bytes()


@pytest.mark.parametrize("call", [("check", "-v"), ("states",), ("sizes",)], ids=lambda call: call[0])
def test_what_is_printed_does_not_hang_on_the_hash_seed(call, tmp_path):
    """The list has data that are missing, so that names are listed whose order could."""
    verb, *options = call
    printed = {run(verb, COMBINED, *options, cwd=tmp_path, PYTHONHASHSEED=seed).stdout for seed in ("1", "2", "6")}
    assert len(printed) == 1


def test_help_does_not_load_the_graph_library(tmp_path):
    result = run("--help", cwd=tmp_path, PYTHONPROFILEIMPORTTIME="1")
    assert result.returncode == 0
    assert "networkx" not in result.stderr


def test_neither_a_drawing_nor_a_check_waits_for_the_libraries_of_graphs_and_numbers(tmp_path):
    for call in (("draw", FIRST, "-o", tmp_path / "a.svg"), ("check", FIRST)):
        result = run(*call, cwd=tmp_path, PYTHONPROFILEIMPORTTIME="1")
        assert result.returncode == 0
        assert not [name for name in ("networkx", "numpy") if name in result.stderr]


@pytest.mark.parametrize("verb", ["draw", "check", "why", "states", "sizes", "kinds", "compare", "convert", "new"])
def test_every_verb_shows_an_example_in_its_help(verb, tmp_path):
    result = run(verb, "--help", cwd=tmp_path)
    assert result.returncode == 0
    assert "Example: schemagen" in " ".join(result.stdout.split())


def test_a_list_from_standard_input_is_checked(tmp_path):
    result = subprocess.run(
        [sys.executable, "-m", "schemagen", "check", "-", "--format", "json"],
        input="parts: {}\nconnections: []\n",
        capture_output=True,
        text=True,
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": os.pathsep.join(p for p in sys.path if p)},
    )
    assert json.loads(result.stdout)["errors"] == []


def test_an_unknown_kind_names_the_near_miss(tmp_path):
    result = run("kinds", "radiatr", cwd=tmp_path)
    assert result.returncode == 2
    assert "radiator" in result.stderr


def test_a_word_of_the_trade_leads_to_its_kind(tmp_path):
    assert "did you mean isolating-valve?" in run("kinds", "stopcock", cwd=tmp_path).stderr
    assert "did you mean check-valve?" in run("kinds", "Non-return valve", cwd=tmp_path).stderr


def test_every_word_of_the_trade_leads_to_kinds_that_exist_and_is_none_itself():
    library = shipped_library()
    for word, kinds in WORDS.items():
        assert meant_by(word) == kinds
        assert word not in library
        assert all(kind in library for kind in kinds)


def test_new_does_not_write_over_a_file(tmp_path):
    assert run("new", "house.yaml", cwd=tmp_path).returncode == 0
    before = (tmp_path / "house.yaml").read_bytes()
    assert run("new", "house.yaml", cwd=tmp_path).returncode == 2
    assert (tmp_path / "house.yaml").read_bytes() == before


def test_the_starter_list_has_no_findings_and_can_be_drawn(tmp_path):
    run("new", "house.yaml", cwd=tmp_path)
    assert run("check", "house.yaml", cwd=tmp_path).stdout.startswith("no findings: ")
    assert run("draw", "house.yaml", cwd=tmp_path).returncode == 0
    assert (tmp_path / "house.svg").exists()


def test_no_colour_codes_are_printed_where_there_is_no_terminal(tmp_path):
    assert "\x1b" not in run("check", FAULTY, cwd=tmp_path).stdout


def test_the_python_calls_do_the_same_as_the_command(tmp_path):
    from schemagen import check, draw, read

    job = read(FAULTY)
    assert [f.check for f in check(job)] == [
        f["check"] for f in json.loads(run("check", FAULTY, "--format", "json", cwd=tmp_path).stdout)["findings"]
    ]
    assert draw(job)._repr_svg_().startswith("<svg")


def test_a_list_converts_through_every_form_and_draws_the_same_bytes(tmp_path):
    previous = FIRST
    for name in ("a.json", "b.xlsx", "c", "d.yaml"):
        assert run("convert", previous, "-o", name, cwd=tmp_path).returncode == 0
        previous = tmp_path / name
        assert run("draw", previous, "-o", f"{name}.svg", cwd=tmp_path).returncode == 0
    drawings = {(tmp_path / f"{name}.svg").read_bytes() for name in ("a.json", "b.xlsx", "c", "d.yaml")}
    assert len(drawings) == 1


def test_the_example_in_every_help_runs(tmp_path):
    import re
    import shlex
    import shutil

    from schemagen.cli import app

    shutil.copytree(EXAMPLES, tmp_path / "examples")
    lines = [command.epilog for command in app.registered_commands]
    assert all(lines)
    for line in lines:
        words = shlex.split(re.fullmatch(r"Example: schemagen (.*)", line)[1])
        result = run(*words, cwd=tmp_path)
        assert result.returncode == (1 if "mistakes" in line else 0), line + result.stderr


def test_why_prints_a_page_with_source_and_both_lists(tmp_path):
    page = run("why", "coil-one-side", cwd=tmp_path).stdout
    assert all(f"\n{head}" in page for head in ("What", "Why", "Cure", "Source", "Wrong", "Right"))


def test_why_alone_lists_every_check_once(tmp_path):
    from schemagen.checks.pages import all_checks

    words = run("why", cwd=tmp_path).stdout.split()
    assert all(words.count(check.slug) == 1 for check in all_checks())


def test_a_milder_severity_can_end_with_status_1(tmp_path):
    lines = FIRST.read_text(encoding="utf-8").splitlines()
    without_thermometers = [line for line in lines if "thermometer" not in line]
    (tmp_path / "x.yaml").write_text("\n".join(without_thermometers), encoding="utf-8")
    findings = json.loads(run("check", "x.yaml", "--format", "json", cwd=tmp_path).stdout)["findings"]
    assert {f["severity"] for f in findings} == {"advice"}
    assert run("check", "x.yaml", cwd=tmp_path).returncode == 0
    assert run("check", "x.yaml", "--fail-on", "warning", cwd=tmp_path).returncode == 0
    assert run("check", "x.yaml", "--fail-on", "advice", cwd=tmp_path).returncode == 1


def test_compare_prints_the_changes_and_ends_with_status_0_with_or_without_any(tmp_path):
    text = FIRST.read_text(encoding="utf-8")
    (tmp_path / "new.yaml").write_text(text.replace("kind: radiator,", "kind: towel-rail,", 1), encoding="utf-8")
    same = run("compare", FIRST, FIRST, cwd=tmp_path)
    assert (same.returncode, same.stdout.splitlines()[0]) == (0, "no changes of the system")
    result = run("compare", FIRST, "new.yaml", cwd=tmp_path)
    assert result.returncode == 0
    assert "kind: radiator → " in " ".join(result.stdout.split())
    document = json.loads(run("compare", FIRST, "new.yaml", "--format", "json", cwd=tmp_path).stdout)
    assert document["changes"][0]["change"] == "changed"


def test_compare_draws_in_the_format_of_the_suffix_and_writes_nothing_else(tmp_path):
    for name in ("both.svg", "both.png"):
        result = run("compare", FIRST, FAULTY, "-o", name, cwd=tmp_path)
        assert (result.returncode, result.stdout.strip()) == (0, name), result.stderr
    assert sorted(path.name for path in tmp_path.iterdir()) == ["both.png", "both.svg"]
    assert run("compare", FIRST, FAULTY, "-o", "both.doc", cwd=tmp_path).returncode == 2


def test_compare_of_a_list_that_cannot_be_read_ends_with_status_2_and_its_place(tmp_path):
    (tmp_path / "bad.yaml").write_text("parts: [\n")
    result = run("compare", FIRST, "bad.yaml", cwd=tmp_path)
    assert result.returncode == 2
    assert "bad.yaml:" in result.stderr
