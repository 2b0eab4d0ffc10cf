"""Where the list wants parts to stand: kept where the pipes allow it, or refused with the reason."""

import json
from dataclasses import replace

import never
import pytest
from test_several_sheets import dwellings

from schemagen.joblist.door import schema
from schemagen.joblist.joblist import Entry
from schemagen.joblist.write import write
from schemagen.layout.hints import Hint, agreed
from schemagen.output.as_svg import svg_text
from schemagen.pipeline import job_of, read

LIST = """
sheet: {title: Two stores}
parts:
  B1: {kind: heat-only-boiler, output: 24 kW, capped: [condensate]EXTRA_B1}
  BU1: {kind: buffer-four-pipeEXTRA_BU1}
  R1: {kind: radiatorEXTRA_R1}
  R2: {kind: radiatorEXTRA_R2}
  T1: {kind: tee}
  T2: {kind: tee}
connections:
  - {run: [B1.flow, pump, BU1.primary-flow], size: 22 mm}
  - [BU1.primary-return, B1.return]
  - [BU1.secondary-flow, T1]
  - [T1, R1, T2]
  - [T1, R2, T2]
  - [T2, BU1.secondary-return]
"""


def job(tmp_path, **hints):
    text = LIST
    for tag in ("B1", "BU1", "R1", "R2"):
        text = text.replace(f"EXTRA_{tag}", f", {hints[tag]}" if tag in hints else "")
    path = tmp_path / "stores.yaml"
    path.write_text(text, encoding="utf-8")
    return read(path)


def box(made, tag):
    return made.plan.parts[tag].box


def notes(made) -> str:
    (sheet,) = made.sheets()
    return " ".join(s.text for block in sheet.blocks if block.name == "notes" for s in block.shapes)


def test_a_part_stands_above_another_or_below_it_as_wished(tmp_path):
    for upper, lower in (("R1", "R2"), ("R2", "R1")):
        for hints in ({upper: f"above: {lower}"}, {lower: f"below: {upper}"}):
            made = job(tmp_path, **hints)
            assert box(made, upper).bottom <= box(made, lower).y
            assert made.drawing.refused == ()
            assert [f for sheet in made.sheets() for f in never.faults(svg_text(sheet))] == []


def test_a_part_stands_left_or_right_of_another_as_wished(tmp_path):
    for left, right in (("R1", "R2"), ("R2", "R1")):
        for hints in ({left: f"left-of: {right}"}, {right: f"right-of: {left}"}):
            made = job(tmp_path, **hints)
            assert box(made, left).right <= box(made, right).x
            assert made.drawing.refused == ()
            assert [f for sheet in made.sheets() for f in never.faults(svg_text(sheet))] == []


def test_what_already_stands_as_wished_changes_nothing(tmp_path):
    plain, wished = job(tmp_path), job(tmp_path, B1="left-of: BU1")
    assert wished.plan.parts == plain.plan.parts and wished.plan.routes == plain.plan.routes


def test_a_wish_against_the_pipes_is_refused_with_the_reason_on_the_sheet(tmp_path):
    made = job(tmp_path, R1="left-of: B1")
    assert box(made, "R1").right > box(made, "B1").x
    (said,) = made.drawing.refused
    assert said.startswith("R1 left of B1: ") and len(said) > len("R1 left of B1: ")
    assert said in notes(made)
    assert [f for sheet in made.sheets() for f in never.faults(svg_text(sheet))] == []


def test_of_wishes_that_contradict_each_other_the_first_is_kept_and_the_others_are_found(tmp_path):
    made = job(tmp_path, R1="above: R2", R2="above: R1")
    assert box(made, "R1").bottom <= box(made, "R2").y
    assert made.drawing.refused == ("R2 above R1: contradicts other hints",)
    assert [f.parts for f in made.findings if f.check == "position-contradicts"] == [("R2", "R1")]


def test_a_ring_of_wishes_and_a_wish_beside_oneself_are_contradictions():
    ring = (Hint("A", "left-of", "B"), Hint("B", "left-of", "C"), Hint("A", "right-of", "C"))
    assert agreed(ring) == (ring[:2], ring[2:])
    assert agreed((Hint("A", "above", "A"),)) == ((), (Hint("A", "above", "A"),))
    both = (Hint("A", "left-of", "B"), Hint("A", "below", "B"))
    assert agreed(both) == (both, ())


def test_an_unknown_tag_is_a_finding_that_names_the_near_miss(tmp_path):
    made = job(tmp_path, R1="above: R3")
    found = [f for f in made.findings if "R3" in f.message]
    assert len(found) == 1 and found[0].parts == ("R1",)
    assert set(made.plan.parts) == set(made.network.parts)


@pytest.mark.parametrize("form", ["stores.json", "stores.xlsx", "stores"])
def test_every_form_of_the_list_carries_wishes(tmp_path, form):
    made = job(tmp_path, R1="above: R2", B1="left-of: R1")
    write(made.list, tmp_path / form)
    again = read(tmp_path / form)
    assert again.network.parts["R1"].values["above"] == "R2" and again.network.parts["B1"].values["left-of"] == "R1"
    assert again.plan.parts == made.plan.parts


def test_the_schema_of_the_list_knows_the_wishes():
    known = schema()["$defs"]["PartIn"]["properties"]
    assert {"left-of", "right-of", "above", "below"} <= set(known)
    assert "left" in json.dumps(known["left-of"])


def test_wishes_between_parts_on_two_sheets_are_refused_there():
    made = dwellings(6)
    plain = made.sheets("A4")
    first, last = (next(p.tag for p in sheet.drawing.parts if not p.connector) for sheet in (plain[0], plain[-1]))
    parts = tuple(
        replace(line, entries=(*line.entries, Entry("above", last, line.place))) if line.tag == first else line
        for line in made.list.parts
    )
    sheets = job_of(replace(made.list, parts=parts)).sheets("A4")
    said = " ".join(s.text for block in sheets[0].blocks if block.name == "notes" for s in block.shapes)
    assert f"{first} above {last}: they are on different sheets" in said
