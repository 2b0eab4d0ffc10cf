"""The handover set: which papers there are, what stands in them, and the folder that holds them."""

import io
import json
import os
import re
import subprocess
import sys
from dataclasses import dataclass
from functools import cache
from hashlib import sha256
from pathlib import Path

import pypdf
import pytest

from schemagen import pipeline
from schemagen.joblist.read import read_text
from schemagen.joblist.write import text_of
from schemagen.output.pack_files import pack_files
from schemagen.papers.commissioning import blocks
from schemagen.papers.handover import handover
from schemagen.papers.material import Material
from schemagen.papers.pack import Pack
from schemagen.papers.paper import Fields, Grid, Heading, Paper, Paragraph, Points
from schemagen.papers.settings import all_settings
from schemagen.schedules.dossier import Dossier
from schemagen.sheets.cautions import CAUTIONS, CLOSING
from tests.test_cli import run

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
NUMBERS = ("01", "02", "03", "04", "05", "06", "07", "08", "09", "10")
SMALL = next(EXAMPLES.glob("01_*"))


@dataclass(frozen=True)
class Set:
    """The papers of a list without its drawings, which take longer than all the rest."""

    dossier: Dossier
    papers: tuple[Paper, ...]


def set_of(job: pipeline.Job) -> Set:
    dossier = Dossier(job._facts, job.report, job.sizes)
    return Set(dossier, handover(Material(dossier, (), ()), "list"))


@cache
def pack_of(number: str) -> Set:
    return set_of(pipeline.read(next(EXAMPLES.glob(f"{number}_*"))))


@cache
def small_pack() -> Pack:
    return pipeline.handover(SMALL)


@cache
def small_files() -> dict[str, bytes]:
    return pack_files(small_pack())


def job_of(text: str) -> pipeline.Job:
    return pipeline.job_of(read_text(text, "yaml"))


def paper(pack: Set, name: str) -> Paper | None:
    return next((p for p in pack.papers if p.name == name), None)


def words(paper: Paper) -> str:
    """All text of a paper."""
    said: list[str] = []
    for piece in paper.pieces:
        match piece:
            case Heading() | Paragraph():
                said.append(piece.text)
            case Points():
                said += piece.items
            case Fields():
                said += [text for pair in piece.pairs for text in pair]
            case Grid():
                said += [*piece.columns, *(cell for row in piece.rows for cell in row)]
    return "\n".join(said)


def rows(paper: Paper) -> list[tuple[str, ...]]:
    return [row for piece in paper.pieces if isinstance(piece, Grid) for row in piece.rows]


@pytest.mark.parametrize("number", NUMBERS)
def test_the_papers_are_numbered_from_01_without_a_gap_and_the_contents_list_them(number):
    pack = pack_of(number)
    drawing = pack.dossier.network.sheet["number"]
    assert [p.number for p in pack.papers] == [f"{drawing}-{n:02}" for n in range(1, len(pack.papers) + 1)]
    listed = [(row[0], row[1]) for row in rows(pack.papers[0])]
    assert listed == [(p.number, p.title) for p in pack.papers]
    assert len({p.name for p in pack.papers}) == len(pack.papers)


@pytest.mark.parametrize("number", NUMBERS)
def test_a_row_of_a_table_has_a_cell_for_each_column(number):
    for one in pack_of(number).papers:
        for piece in one.pieces:
            if isinstance(piece, Grid):
                assert {len(row) for row in piece.rows} <= {len(piece.columns)}, one.name
                assert not piece.widths or len(piece.widths) == len(piece.columns), one.name


@pytest.mark.parametrize("number", NUMBERS)
def test_every_part_with_a_setting_has_a_row_in_the_commissioning_record_and_every_row_a_unit(number):
    dossier = pack_of(number).dossier
    found = [row for block in blocks(dossier) for row in block.rows]
    recorded = [pair for row in found for pair in row.sets]
    assert sorted(recorded) == sorted((s.tag, s.key) for s in all_settings(dossier))
    assert all(row.unit for row in found)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_setting_of_the_list_is_told_as_the_list_has_it(number):
    """Read from the list's own text: each number under a key that ends in setting or pre-charge."""
    pack = pack_of(number)
    told = words(paper(pack, "settings-and-sizes"))
    for part in pack.dossier.network.parts.values():
        for key, text in part.texts.items():
            if key.endswith("setting") or key == "pre-charge":
                assert re.search(rf"^{re.escape(text.split()[0])}$", told, re.M), (part.tag, key)


def test_a_paper_is_there_only_where_it_applies():
    has = {number: {p.name for p in pack_of(number).papers} for number in ("01", "03", "09")}
    assert "unvented" in has["03"] and "unvented" not in has["01"] and "unvented" not in has["09"]
    assert {"contents", "schematic", "parts", "pipes", "findings", "register"} <= has["01"]


def test_the_cautions_are_those_that_apply_and_end_with_the_deference_to_local_codes():
    text = words(paper(pack_of("07"), "cautions"))
    assert CAUTIONS["solid-fuel"] in text and CAUTIONS["open-vented"] in text
    assert CAUTIONS["unvented-store"] not in text and CAUTIONS["heat-pump"] not in text
    assert text.endswith(CLOSING)


def test_the_valve_guide_warns_of_what_must_stay_open_and_does_not_list_it():
    guide = paper(pack_of("03"), "valve-guide")
    assert "RV1, EV1, TP1, ER1 and EV2" in words(guide) and "Leave V6 open" in words(guide)
    for row in rows(guide):
        assert not re.search(r"^(RV1|TP1|ER1|EV1|EV2|V6),", row[2], re.M)


def test_open_errors_stand_on_the_first_page():
    first = words(pack_of("09").papers[0])
    findings = paper(pack_of("09"), "findings")
    assert f"5 open errors (see {findings.number})" in first
    assert "open error" not in words(pack_of("03").papers[0])


def test_the_commissioning_record_has_design_values_and_blanks_to_measure():
    record = paper(pack_of("03"), "commissioning")
    by_name = {row[0]: row for row in rows(record) if len(row) == 7}
    assert by_name["RV1: setting"] == ("RV1: setting", "3", "given", "", "bar", "", "")
    assert by_name["EV1: charge pressure"][1:5] == ("1", "given", "", "bar")
    assert by_name["Flow rate, hot water calls"][1:5] == ("20", "calc", "", "L/min")
    assert all(row[3] == "" for row in by_name.values())


def test_notices_follow_the_region_of_the_sheet():
    text = "sheet: {number: X, region: %s}\nparts: {B1: {kind: system-boiler}, R1: {kind: radiator}}\n"
    text += "connections: [[B1.flow, R1, B1.return]]\n"
    here = words(paper(set_of(job_of(text % "England")), "notices"))
    there = words(paper(set_of(job_of(text % "Norway")), "notices"))
    assert "regulation 40" in here and "regulation 40" not in there
    assert "no rules are on file" in there and "building authority" in there


def test_a_list_with_nothing_in_it_still_makes_a_set():
    pack = pipeline.handover(job_of("parts: {}\nconnections: []\n"))
    assert [p.number for p in pack.papers][:2] == ["01", "02"]
    assert "handover.pdf" in pack_files(pack)


def test_hostile_words_are_set_as_words():
    nasty = "#panic() $x$ *b* <script>alert(1)</script> \\u202e =1+1 " + "w" * 900
    text = f"sheet: {{title: '{nasty}', number: 'N', firm: '#x'}}\n"
    text += f"parts:\n  B1: {{kind: system-boiler, label: '{nasty}', place: '#p'}}\n  R1: {{kind: radiator}}\n"
    text += "connections: [[B1.flow, isolating-valve, R1, B1.return]]\n"
    pdf = pypdf.PdfReader(io.BytesIO(pack_files(pipeline.handover(job_of(text)))["handover.pdf"]))
    said = "".join(page.extract_text() for page in pdf.pages)
    assert "#panic()" in said and "<script>" in said


# files


def test_every_paper_has_a_bookmark_in_the_pdf_and_the_text_is_found():
    pdf = pypdf.PdfReader(io.BytesIO(small_files()["handover.pdf"]))
    titles = [entry.title for entry in pdf.outline if not isinstance(entry, list)]
    for one in small_pack().papers:
        assert any(one.title in title for title in titles), one.title
    text = "".join(page.extract_text() for page in pdf.pages)
    assert "Which valve do I shut?" in text and "Commissioning record" in text


def test_the_manifest_names_every_file_with_its_hash():
    files = small_files()
    manifest = json.loads(files["manifest.json"])
    named = {entry["name"]: entry for entry in manifest["files"]}
    assert set(named) == set(files) - {"manifest.json"}
    for name, entry in named.items():
        assert entry["sha256"] == sha256(files[name]).hexdigest() and entry["bytes"] == len(files[name])
    assert manifest["list_sha256"] == sha256(files["list.yaml"]).hexdigest()
    assert manifest["program"] == "schemagen" and manifest["version"]


def test_the_set_holds_the_files_that_people_ask_for():
    names = set(small_files())
    wanted = {"handover.pdf", "schematic.svg", "schematic.pdf", "schedules.xlsx", "findings.json", "list.yaml"}
    assert wanted <= names and {"schedules/parts.csv", "schedules/valves.csv"} <= names
    assert json.loads(small_files()["findings.json"])["findings"] == []


def test_the_list_in_the_set_is_the_same_list():
    again = job_of(small_files()["list.yaml"].decode())
    assert text_of(again.list, "yaml").encode() == small_files()["list.yaml"]
    assert [p.tag for p in again.network.parts.values()] == list(small_pack().dossier.network.parts)


def test_the_same_list_gives_the_same_bytes_in_another_process(tmp_path):
    for n, seed in enumerate(("0", "77")):
        result = run("pack", SMALL, "-o", f"set{n}", cwd=tmp_path, PYTHONHASHSEED=seed)
        assert result.returncode == 0, result.stderr
    one, two = (read_back(tmp_path / f"set{n}") for n in range(2))
    assert one == two == small_files()


def read_back(folder: Path) -> dict[str, bytes]:
    return {p.relative_to(folder).as_posix(): p.read_bytes() for p in sorted(folder.rglob("*")) if p.is_file()}


def test_an_existing_folder_is_refused_and_left_alone_unless_it_is_an_earlier_set_to_be_replaced(tmp_path):
    (tmp_path / "set").mkdir()
    (tmp_path / "set" / "mine.txt").write_text("mine")
    refused = run("pack", SMALL, "-o", "set", cwd=tmp_path)
    assert refused.returncode == 2 and "--replace" in refused.stderr
    assert read_back(tmp_path / "set") == {"mine.txt": b"mine"}
    kept = run("pack", SMALL, "-o", "set", "--replace", cwd=tmp_path)
    assert kept.returncode == 2 and "files of your own" in kept.stderr
    assert read_back(tmp_path / "set") == {"mine.txt": b"mine"}
    (tmp_path / "set" / "manifest.json").write_text("{}")
    replaced = run("pack", SMALL, "-o", "set", "--replace", cwd=tmp_path)
    assert (replaced.returncode, replaced.stderr) == (0, "")
    assert replaced.stdout.splitlines() == [str(Path("set", name)) for name in small_files()]
    assert "mine.txt" not in read_back(tmp_path / "set")
    assert os.listdir(tmp_path) == ["set"]


def test_a_list_that_cannot_be_read_leaves_no_folder(tmp_path):
    (tmp_path / "bad.yaml").write_text("parts: [")
    result = run("pack", "bad.yaml", "-o", "set", cwd=tmp_path)
    assert result.returncode == 2 and "bad.yaml" in result.stderr
    assert os.listdir(tmp_path) == ["bad.yaml"]


def test_without_the_typesetter_the_refusal_names_the_line_that_installs_it(tmp_path):
    code = "import sys; sys.modules['typst'] = None; from schemagen.cli import main; main()"
    result = subprocess.run(
        [sys.executable, "-c", code, "pack", str(SMALL), "-o", "set"], cwd=tmp_path, capture_output=True, text=True
    )
    assert result.returncode == 2
    assert "pip install 'schemagen[paper]'" in result.stderr
    assert os.listdir(tmp_path) == []
