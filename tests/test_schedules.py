"""Schedules: what stands in them, and their files read back by other libraries."""

import csv
import io
import re
import zipfile
from dataclasses import replace
from functools import cache
from math import pi
from pathlib import Path

import pytest
import python_calamine

from schemagen import pipeline
from schemagen.joblist.read import read_text
from schemagen.output.schedules_csv import schedule_csv
from schemagen.output.schedules_workbook import schedules_workbook
from schemagen.schedules.all_schedules import all_schedules
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.schedule import Schedule, numbers, texts

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
NUMBERS = ("01", "02", "03", "05", "06", "07", "08", "09")

HOSTILE = (
    "=1+1", "+A1", "-2", "@SUM(A1)", '=HYPERLINK("x")', "'quoted", "<b>&amp;</b>", 'a "b", c', "two\nlines",
    "\x00\x07", "_x0041_", "#REF!", "\u202eright to left", "x" * 10_000, "007", "1e5", "TRUE", "",
)  # fmt: skip


def dossier_of(job: pipeline.Job) -> Dossier:
    return Dossier(job._facts, job.report, job.sizes)


@cache
def schedules_of(number: str) -> dict[str, Schedule]:
    job = pipeline.read(next(EXAMPLES.glob(f"{number}_*")))
    return {s.name: s for s in all_schedules(dossier_of(job))}


@cache
def network_of(number: str):
    return pipeline.read(next(EXAMPLES.glob(f"{number}_*"))).network


def row(schedule: Schedule, key: str) -> dict[str, object]:
    found = next(r for r in schedule.rows if r[0] == key)
    return {column.title: cell for column, cell in zip(schedule.columns, found, strict=True)}


@pytest.mark.parametrize("number", NUMBERS)
def test_every_row_has_a_cell_of_the_right_sort_for_every_column(number):
    for schedule in schedules_of(number).values():
        for cells in schedule.rows:
            for column, cell in zip(schedule.columns, cells, strict=True):
                assert isinstance(cell, str) != column.number or cell is None, (schedule.name, column, cell)


@pytest.mark.parametrize("number", NUMBERS)
def test_every_part_but_tees_has_one_row_and_every_valve_one(number):
    network, schedules = network_of(number), schedules_of(number)
    tags = [cells[0] for cells in schedules["parts"].rows]
    assert tags == [t for t, p in network.parts.items() if p.kind.shape != "tee"]
    valves = [cells[0] for cells in schedules["valves"].rows]
    hand = [t for t, p in network.parts.items() if p.kind.moved_by == "hand" and p.kind.family == "valves"]
    assert set(hand) <= set(valves) and len(valves) == len(set(valves))


@pytest.mark.parametrize("number", NUMBERS)
def test_every_sized_pipe_stands_in_the_pipe_schedule_once(number):
    """Counted by the parts passed: a run through n parts replaces n + 1 pipes."""
    network, rows = network_of(number), schedules_of(number)["pipes"].rows
    ends = [(cells[0], cells[1]) for cells in rows]
    assert len(ends) == len(set(ends))
    listed = {end for pair in ends for end in pair} | {tag for cells in rows for tag in str(cells[2]).split(", ")}
    for pipe in network.pipes:
        if pipe.size_text:
            both = [
                str(e) in listed or e.tag in listed or network.parts[e.tag].kind.shape == "tee"
                for e in (pipe.start, pipe.end)
            ]
            assert all(both), pipe.name


def test_a_relief_valve_tells_its_setting_what_it_protects_and_where_it_discharges():
    safety = schedules_of("03")["safety"]
    assert row(safety, "RV1") | {"on the drawing": ""} == {
        "tag": "RV1", "device": "Pressure relief valve", "label": "", "place": "", "protects": "HP1, BU1",
        "setting": "3 bar", "discharges to": "SO3 (Through the wall)", "on the drawing": "",
    }  # fmt: skip
    assert row(safety, "TP1")["discharges to"] == "TU1"
    assert row(safety, "TU1")["discharges to"] == "SO4 (To gully under grating)"


def test_a_valve_tells_what_it_parts_from_what_and_what_stops():
    valves = schedules_of("03")["valves"]
    assert row(valves, "V9")["isolates"].startswith("R1 from ")
    assert row(valves, "V9")["what stops if shut"] == "R1 (Hall)"
    assert row(valves, "SV1")["what it does"] == "shuts off the whole house"
    assert row(valves, "V6")["normal position"] == "open, locked"
    assert row(valves, "FL1")["normal position"] == "disconnected"
    assert row(valves, "DV1")["what it does"] == "turns the water; a: hot water; b: heating"


def test_length_and_content_of_a_pipe_are_those_of_the_list():
    pipes = schedules_of("03")["pipes"]
    cells = next(r for r in pipes.rows if r[1] == "SO4.in")
    named = {column.title: cell for column, cell in zip(pipes.columns, cells, strict=True)}
    assert named["length, m"] == 4
    assert named["content, L"] == float(f"{4 * pi / 4 * 0.0202**2 * 1000:.3g}")


def test_the_states_table_has_the_positions_of_every_state():
    states = schedules_of("03")["states"]
    diverter = row(states, "DV1")
    assert diverter["Hot water calls"] == "a" and diverter["Heating calls"] == "b"


def test_an_accepted_finding_stays_in_the_list_with_its_reason():
    job = pipeline.read(next(EXAMPLES.glob("09_*")))
    found = job.findings[0]
    report = replace(job.report, findings=(replace(found, accepted="known (A. Person)"), *job.findings[1:]))
    findings = {s.name: s for s in all_schedules(Dossier(job._facts, report, job.sizes))}["findings"]
    assert [cells[-1] for cells in findings.rows].count("known (A. Person)") == 1
    assert len(findings.rows) == len(job.findings)


# files


def hostile() -> Schedule:
    rows = tuple((text, None if n % 3 == 0 else n / 3, text) for n, text in enumerate(HOSTILE))
    return Schedule("hostile", "Hostile", (*texts("first"), numbers("value", "m"), *texts("=last")), rows)


def shown(text: str) -> str:
    """A text as a spreadsheet shows it: one line, without controls."""
    return " ".join(re.sub(r"[\x00-\x1f]", " ", text).split())


def test_csv_begins_with_a_mark_ends_its_lines_with_cr_lf_and_keeps_every_text():
    data = schedule_csv(hostile())
    text = data.decode("utf-8-sig")
    assert data.startswith(b"\xef\xbb\xbf") and text.count("\r\n") == len(HOSTILE) + 1
    rows = list(csv.reader(io.StringIO(text, newline="")))
    assert rows[0] == ["first", "value, m", "'=last"]
    for cells, given in zip(rows[1:], HOSTILE, strict=True):
        assert cells[0].removeprefix("'") == shown(given).removeprefix("'")


def test_no_field_of_a_csv_is_a_formula():
    for schedule in (hostile(), *schedules_of("06").values()):
        for cells in csv.reader(io.StringIO(schedule_csv(schedule).decode("utf-8-sig"), newline="")):
            for cell, column in zip(cells, schedule.columns, strict=True):
                assert column.number or not cell.startswith(("=", "+", "-", "@", "\t")), cell


def test_the_workbook_is_read_back_with_texts_as_texts_and_numbers_as_numbers():
    data = schedules_workbook([hostile()], "=title")
    sheet = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(data)).get_sheet_by_name("hostile")
    head, *rows = sheet.to_python()
    assert head == ["first", "value, m", "=last"]
    for n, (cells, given) in enumerate(zip(rows, HOSTILE, strict=True)):
        assert cells[0] == cells[2] == shown(given)
        assert cells[1] == ("" if n % 3 == 0 else pytest.approx(n / 3))


def test_no_cell_of_the_workbook_is_a_formula_and_no_sheet_lacks_its_filter_and_frozen_heading():
    data = schedules_workbook([hostile(), *schedules_of("03").values()], "x")
    with zipfile.ZipFile(io.BytesIO(data)) as packed:
        sheets = [packed.read(name).decode() for name in packed.namelist() if "worksheets/" in name]
    assert len(sheets) == 9
    for xml in sheets:
        assert "<f>" not in xml and "<f " not in xml
        assert "<autoFilter " in xml and 'state="frozen"' in xml and "<cols>" in xml


def test_the_sheets_of_a_list_hold_the_schedules_cell_by_cell():
    schedules = list(schedules_of("03").values())
    book = python_calamine.CalamineWorkbook.from_filelike(io.BytesIO(schedules_workbook(schedules, "x")))
    assert book.sheet_names == [s.name for s in schedules]
    for schedule in schedules:
        head, *rows = book.get_sheet_by_name(schedule.name).to_python()
        assert head == [column.title for column in schedule.columns]
        for cells, wanted in zip(rows, schedule.rows, strict=True):
            assert cells == ["" if w is None else shown(w) if isinstance(w, str) else w for w in wanted]


def test_the_same_schedules_give_the_same_bytes():
    schedules = list(schedules_of("05").values())
    assert schedules_workbook(schedules, "x") == schedules_workbook(schedules, "x")
    with zipfile.ZipFile(io.BytesIO(schedules_workbook(schedules, "x"))) as packed:
        assert {info.date_time for info in packed.infolist()} == {(2000, 1, 1, 0, 0, 0)}


def test_hostile_words_in_a_list_reach_the_schedules_as_text():
    text = "parts:\n  R1: {kind: radiator, label: '=cmd()', place: '@x', room: '<script>'}\nconnections: []\n"
    job = pipeline.job_of(read_text(text, "yaml"))
    parts = next(s for s in all_schedules(dossier_of(job)) if s.name == "parts")
    assert parts.rows[0][2:4] == ("=cmd()", "@x")
    assert b",'=cmd(),'@x," in schedule_csv(parts)


def test_a_list_without_a_pipe_has_every_schedule_without_a_row_to_show():
    job = pipeline.job_of(read_text("parts: {}\nconnections: []\n", "yaml"))
    schedules = all_schedules(dossier_of(job))
    assert [len(s.rows) for s in schedules if s.name not in ("states", "findings")] == [0] * 6
    assert schedules_workbook(schedules, "x")
