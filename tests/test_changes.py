"""What changed between two versions: found exactly, told the same from both sides, drawn so that both can be read."""

import random
from dataclasses import replace
from functools import cache
from pathlib import Path
from xml.etree import ElementTree

import never
import pytest

from schemagen.changes.changes import PartChange, Version, changes
from schemagen.changes.text import as_json, as_text
from schemagen.changes.union import united
from schemagen.changes.words import said_of, state_words
from schemagen.checks.check import Report
from schemagen.joblist.joblist import Entry
from schemagen.joblist.read import read_text
from schemagen.output.as_svg import svg_text
from schemagen.parts.library import shipped_library
from schemagen.pipeline import Comparison, job_of, read
from tests.sound_systems import sound_job
from tests.systems import HERE, job

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("[0-9]*"))

HOUSE = """
parts:
  B1: {kind: system-boiler, label: Boiler, output: 12 kW, capped: [condensate]}
  S1: {kind: safe-outlet}
  V1: {kind: isolating-valve}
  P1: {kind: pump, label: Heating pump}
  T1: {kind: tee}
  T2: {kind: tee}
  R1: {kind: radiator, label: Hall, output: 1.5 kW}
  R2: {kind: radiator, label: Kitchen, output: 1 kW}
  LS1: {kind: lockshield-valve}
  LS2: {kind: lockshield-valve}
  MF1: {kind: magnetic-filter}
  EV1: {kind: expansion-vessel, at: MF1.out}
  TI1: {kind: thermometer, at: V1.b}
  RT1: {kind: room-thermostat, room: Hall, switches: [P1, B1]}
connections:
  - {run: [B1.flow, V1, P1, T1], size: 22 mm}
  - {run: [T1, R1, LS1, T2], size: 15 mm}
  - {run: [T1, thermostatic-radiator-valve, R2, LS2, T2], size: 15 mm}
  - {run: [T2, MF1, B1.return], size: 22 mm, length: 6 m}
  - [B1.relief-outlet, S1.in]
"""


def version(job_list) -> Version:
    made = job_of(job_list)
    return Version(made.network, made.waters, made.report)


def unchecked(job_list) -> Version:
    """A version without findings, where only parts and pipes matter."""
    made = job_of(job_list)
    return Version(made.network, made.waters, Report((), (), 0))


@cache
def house(text: str = HOUSE) -> Version:
    return version(read_text(text, "yaml"))


def edited(*pairs: tuple[str, str]) -> Version:
    text = HOUSE
    for old, new in pairs:
        assert old in text
        text = text.replace(old, new)
    return house(text)


def told(before: Version, after: Version) -> list[str]:
    found = changes(before, after)
    return [said_of(found, change) for change in found.rows]


def shuffled(job_list, seed: int):
    """Lines in another order; but what hangs on a pipe hangs there in the order of the list.

    Which opening of a tee a pipe has follows from the order of the connections: where a part hangs on one, that stays.
    """
    rng = random.Random(seed)
    parts, connections = [*job_list.parts], [*job_list.connections]
    tees = {part.tag for part in parts if part.kind == "tee"}
    hosts = {part.tag: entry.text.split(".")[0] for part in parts for entry in part.entries if entry.key == "at"}
    rng.shuffle(parts)
    hanging = iter([part for part in job_list.parts if part.tag in hosts])
    parts = [next(hanging) if part.tag in hosts else part for part in parts]
    if tees.isdisjoint(hosts.values()):
        rng.shuffle(connections)
    return replace(job_list, parts=tuple(parts), connections=tuple(connections))


def in_short(found, old: Version, new: Version, back: bool = False) -> set:
    """The changes as values that do not hang on numbers or order; with `back` as they are seen from the other side."""
    names = {"added": "removed", "removed": "added"} if back else {}
    sides = (lambda a, b: (b, a)) if back else (lambda a, b: (a, b))

    def pairs(network, numbers):
        return frozenset(network.pipes[i].pair for i in numbers)

    out = set()
    for change in found.rows:
        values = frozenset((v.key, *sides(v.old, v.new)) for v in change.values)
        sort = names.get(change.sort, change.sort)
        if isinstance(change, PartChange):
            out.add((sort, *sides(change.old, change.new), values))
        else:
            out.add((sort, *sides(pairs(old.network, change.old), pairs(new.network, change.new)), values))
    return out


# nothing changed


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_a_list_compared_with_itself_has_no_changes(path):
    made = read(path)
    one = Version(made.network, made.waters, made.report)
    found = changes(one, one)
    assert (found.rows, found.sheet, found.came, found.went) == ((), (), (), ())
    assert found.stayed == made.report.findings


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_lines_in_another_order_are_no_change_even_where_tags_are_made_anew(path):
    made = read(path)
    one = Version(made.network, made.waters, made.report)
    other = version(shuffled(made.list, 5))
    found = changes(one, other)
    assert [said_of(found, change) for change in found.rows] == []


@pytest.mark.parametrize("seed", range(8))
def test_systems_of_any_size_in_any_order_have_no_changes(seed):
    made = job(seed, 12 + 8 * seed)
    assert told(unchecked(made), unchecked(shuffled(made, seed))) == []


def test_a_value_written_otherwise_is_the_same_value():
    assert told(house(), edited(("12 kW", "12000 W"), ("size: 22 mm, length", "size: 22, length"))) == []


# one change


@pytest.mark.parametrize(
    ("edit", "said"),
    [
        ([("12 kW", "15 kW")], ["system boiler B1 (Boiler): output: 12 kW → 15 kW"]),
        ([("label: Hall,", "")], ["radiator R1: label: Hall → not given"]),
        ([("LS2", "LS9")], ["lockshield valve LS2 is now LS9"]),
        ([(" V1", " V-7")], ["isolating valve V1 is now V-7"]),
        ([("RT1", "Stat 1")], ["room thermostat RT1 is now Stat 1"]),
        ([(" T2", " T20"), ("[T2", "[T20"), ("[T1", "[T10"), (" T1", " T10")], []),
        ([("[P1, B1]", "[P1]")], ["room thermostat RT1: switches: P1, B1 → P1"]),
        ([("kind: lockshield-valve}\n  MF1", "kind: isolating-valve}\n  MF1")],
         ["isolating valve LS2: kind: lockshield valve → isolating valve"]),
        ([("V1, P1, T1], size: 22", "V1, P1, T1], size: 28")],
         ["pipes from B1.flow to the run R1–TRV1: size: 22 mm → 28 mm"]),
        ([("length: 6 m", "length: 8 m")], ["pipes from the run LS1–LS2 to B1.return: length: 6 m → 8 m"]),
        ([("MF1, B1.return", "MF1, isolating-valve, B1.return")],
         ["isolating valve V2 added between B1.return and the run MF1–EV1"]),
        ([("R1, LS1, T2", "R1, T2"), ("  LS1: {kind: lockshield-valve}\n", "")],
         ["lockshield valve LS1 removed between R1 and the run LS2–MF1"]),
        ([("  TI1: {kind: thermometer, at: V1.b}\n", "")], ["thermometer TI1 removed at the run V1–P1"]),
        ([("at: V1.b", "at: P1.out")], ["pipe at TI1.port led to the run V1–P1, now leads to the run P1–R1"]),
        ([("[B1.relief-outlet, S1.in]", "[S1.in, B1.relief-outlet]")],
         ["pipe from S1.in to B1.relief-outlet: direction: B1.relief-outlet to S1.in → S1.in to B1.relief-outlet"]),
        ([("B1.flow, V1, P1", "B1.flow, strainer, P1"), ("  V1: {kind: isolating-valve}\n", ""), ("V1.b", "P1.in")],
         ["strainer STR1 added between B1.flow and the run P1–TI1, in place of V1",
          "isolating valve V1 removed between B1.flow and the run P1–TI1"]),
    ],
)  # fmt: skip
def test_each_edit_is_told_as_just_that_change(edit, said):
    assert told(house(), edited(*edit)) == said


def test_a_pipe_put_through_a_tee_is_still_there_and_its_new_branch_is_added():
    after = edited(
        ("  MF1:", "  T3: {kind: tee}\n  T4: {kind: tee}\n  BP1: {kind: bypass-valve}\n  MF1:"),
        ("V1, P1, T1]", "V1, P1, T3, T1]"),
        ("[T2, MF1", "[T2, T4, MF1"),
        ("  - [B1.relief", "  - {run: [T3, BP1, T4], size: 15 mm}\n  - [B1.relief"),
    )
    found = changes(house(), after)
    (change,) = found.rows
    assert (change.sort, change.new) == ("added", "BP1")
    assert sorted(after.network.pipes[i].name for i in change.pipes) == ["BP1.out→T4.branch", "T3.branch→BP1.in"]


def test_a_radiator_with_its_pipes_and_valves_is_told_part_by_part_and_no_pipe_twice():
    after = edited(
        ("  LS2:", "  T5: {kind: tee}\n  T6: {kind: tee}\n  R3: {kind: radiator, output: 1 kW}\n  LS2:"),
        ("LS2, T2]", "LS2, T6, T2]"),
        ("[T1, thermo", "[T1, T5, thermo"),
        ("  - [B1.relief", "  - [T5, thermostatic-radiator-valve, R3, lockshield-valve, T6]\n  - [B1.relief"),
    )
    found = changes(house(), after)
    assert [(c.sort, after.network.parts[c.new].kind.name) for c in found.rows] == [
        ("added", "lockshield-valve"), ("added", "radiator"), ("added", "thermostatic-radiator-valve"),
    ]  # fmt: skip
    pipes = [i for change in found.parts for i in change.pipes]
    assert len(pipes) == len(set(pipes)) == 4


def test_two_tees_of_one_run_are_told_apart_by_their_tags():
    text = next(path for path in EXAMPLES if path.stem.startswith("03")).read_text(encoding="utf-8")
    new = text.replace("[T17, V7,", "[T16, V7,").replace("[T16, HO1.in]", "[T17, HO1.in]")
    found = told(unchecked(read_text(text, "yaml")), unchecked(read_text(new, "yaml")))
    assert found[0] == "pipe at HO1.in led to the run ST1–MV1 at T16, now leads to the run ST1–MV1 at T17"
    assert len(found) == 2


# both sides


def edits_of(made, seed: int):
    """A list with a few lines left out, changed and put in, by chance."""
    rng = random.Random(seed)
    parts, connections = [*made.parts], [*made.connections]
    del connections[rng.randrange(len(connections))]
    gone = parts.pop(rng.randrange(len(parts)))
    connections = [line for line in connections if all(stop.split(".")[0] != gone.tag for stop in line.stops)]
    n = rng.randrange(len(parts))
    parts[n] = replace(parts[n], entries=(*parts[n].entries, Entry("label", "Changed", HERE)))
    n = rng.randrange(len(connections))
    stops = connections[n].stops
    connections[n] = replace(connections[n], stops=(stops[0], "isolating-valve", *stops[1:]))
    n = rng.randrange(len(connections))
    connections[n] = replace(connections[n], entries=(Entry("size", "54 mm", HERE),))
    return replace(made, parts=tuple(parts), connections=tuple(connections))


@pytest.mark.parametrize("seed", range(12))
def test_the_way_back_undoes_the_way_there(seed):
    made, of = job(seed, 12 + 3 * seed), version if seed < 3 else unchecked
    old, new = of(made), of(edits_of(made, seed))
    there, back = changes(old, new), changes(new, old)
    assert in_short(there, old, new) == in_short(back, new, old, back=True)
    assert (there.came, there.went) == (back.went, back.came)
    assert {(v.key, v.old, v.new) for v in there.sheet} == {(v.key, v.new, v.old) for v in back.sheet}


@pytest.mark.parametrize("seed", range(8))
def test_the_order_of_lines_changes_no_change(seed):
    made = job(seed, 12 + 4 * seed)
    after = edits_of(made, seed)
    here, there = (
        [(c.sort, c.old, c.new, c.values) for c in changes(unchecked(made), unchecked(one)).parts]
        for one in (after, shuffled(after, seed))
    )
    assert here == there


@pytest.mark.parametrize("seed", range(8))
def test_every_pipe_is_the_same_or_comes_or_goes(seed):
    made = sound_job(seed)
    old, new = unchecked(made), unchecked(edits_of(made, seed))
    pairing = changes(old, new).pairing
    for network, side, rest in ((old.network, "old", pairing.gone), (new.network, "new", pairing.come)):
        ways = [i for way in pairing.ways for i in getattr(way, side)]
        moved = [getattr(m, side) for m in pairing.moved]
        assert sorted((*ways, *moved, *rest)) == [pipe.index for pipe in network.pipes]


# findings


def test_a_finding_that_came_and_one_that_stayed_are_told_apart():
    found = changes(house(), edited(("  - [B1.relief-outlet, S1.in]\n", "")))
    assert [finding.check for finding in found.came] == ["port-left-open"]
    assert {f.check for f in found.stayed} <= {f.check for f in house().report.findings}
    back = changes(edited(("  - [B1.relief-outlet, S1.in]\n", "")), house())
    assert [finding.check for finding in back.went] == ["port-left-open"]


def test_a_part_renamed_makes_no_new_finding():
    found = changes(house(), edited(("EV1", "VESSEL"), ("P1", "PU-1")))
    assert (found.came, found.went) == ((), ())


# the documents


def test_the_document_has_a_number_values_and_a_sentence_for_each_change():
    found = changes(house(), edited(("12 kW", "15 kW"), ("LS2", "LS9")))
    document = as_json("old.yaml", "new.yaml", found)
    assert [change["number"] for change in document["changes"]] == [1, 2]
    first = document["changes"][0]
    assert (first["change"], first["old"], first["new"]) == ("changed", "B1", "B1")
    assert first["values"] == [{"key": "output", "old": "12 kW", "new": "15 kW"}]
    assert all(change["text"] in " ".join(as_text(found).split()) for change in document["changes"])
    assert document["findings"].keys() == {"came", "went", "stayed"}


def test_no_changes_are_said_in_a_line():
    assert as_text(changes(house(), house())).startswith("no changes of the system")


# the drawing


def comparison(old, new) -> Comparison:
    return Comparison(job_of(old), job_of(new))


PAIRS = {
    "bypass, pump, valve renamed, thermometer out": (
        (" V1", " V-7"), ("label: Heating pump", "label: Pump with speed control"),
        ("size: 22 mm, length", "size: 28 mm, length"),
        ("  TI1: {kind: thermometer, at: V1.b}\n", ""),
        ("  MF1:", "  T3: {kind: tee}\n  T4: {kind: tee}\n  BP1: {kind: bypass-valve}\n  MF1:"),
        ("P1, T1]", "P1, T3, T1]"), ("[T2, MF1", "[T2, T4, MF1"),
        ("  - [B1.relief", "  - {run: [T3, BP1, T4], size: 15 mm}\n  - [B1.relief"),
    ),
    "radiator out": (
        ("  R1: {kind: radiator, label: Hall, output: 1.5 kW}\n", ""),
        ("  - {run: [T1, R1, LS1, T2], size: 15 mm}\n", ""),
        ("P1, T1]", "P1, R2]"), ("[T1, thermostatic-radiator-valve, R2,", "[R2,"), ("LS2, T2]", "LS2, MF1]"),
        ("[T2, MF1, B1", "[MF1, B1"),
    ),
    "other boiler": (("kind: system-boiler", "kind: heat-only-boiler"), (", capped: [condensate]", "")),
    "pipes led elsewhere": (("R1, LS1, T2]", "R1, LS2, T2]"), ("R2, LS2, T2]", "R2, LS1, T2]")),
}  # fmt: skip


@pytest.mark.parametrize("edits", PAIRS.values(), ids=PAIRS)
def test_old_and_new_are_drawn_together_and_nothing_is_drawn_that_must_never_be_seen(edits):
    text = HOUSE
    for old, new in edits:
        text = text.replace(old, new)
    both = comparison(read_text(HOUSE, "yaml"), read_text(text, "yaml"))
    assert drawing_faults(both) == []


def drawing_faults(both: Comparison) -> list[str]:
    """What is wrong with the drawing; but removed pipes may end beside an opening, and removed joints have no dot."""
    union = united(both.changes, shipped_library().kind("tee"))
    removed = {union.network.pipes[i].name for i, sort in union.pipes.items() if sort == "removed"}
    joints = {tag for tag, sort in union.parts.items() if sort == "removed"}
    return [
        fault
        for sheet in both.sheets()
        for fault in never.faults(svg_text(sheet))
        if not (" ends at " in fault and fault.split(" ends at ")[0] in removed)
        and not (fault.endswith(" has no dot") and fault.removesuffix(" has no dot") in joints)
    ]


@pytest.mark.parametrize("seed", range(5))
def test_any_two_versions_are_drawn_with_every_pipe_of_both_and_a_mark_for_every_change(seed):
    made = job(seed, 12 + 5 * seed)
    both = comparison(made, edits_of(made, seed))
    union = united(both.changes, shipped_library().kind("tee"))
    assert sorted(union.old_pipes) == [pipe.index for pipe in both.old.network.pipes]
    assert sorted(union.new_pipes) == [pipe.index for pipe in both.new.network.pipes]
    (sheet,) = both.sheets()
    numbers = {int(label.texts[0].text[1:]) for label in sheet.drawing.labels if label.role == "change"}
    assert numbers == set(range(1, len(both.changes.rows) + 1))
    assert sheet.drawing.marks == ()
    drawn = {part.tag for part in sheet.drawing.parts}
    assert drawn == {*both.new.network.parts, *union.old_tags.values()}


def test_without_colour_added_removed_and_changed_are_told_by_pen_crosses_and_sign():
    text = HOUSE.replace("output: 1 kW", "output: 2 kW").replace("R1, LS1, T2", "R1, T2")
    text = text.replace("  LS1: {kind: lockshield-valve}\n", "").replace("MF1, B1.return", "MF1, strainer, B1.return")
    text = text.replace("[B1.relief-outlet, S1.in]", "[B1.relief-outlet, drain-cock]")
    both = comparison(read_text(HOUSE, "yaml"), read_text(text, "yaml"))
    (sheet,) = both.sheets()
    signs = {label.texts[0].text[0] for label in sheet.drawing.labels if label.role == "change"}
    assert signs == {"+", "−", "Δ"}
    style = sheet.onto.style
    pens = {pipe.name: pipe.pen.width for pipe in sheet.drawing.pipes}
    usual = pens["B1.flow→V1.a"]
    added = [pen for name, pen in pens.items() if name.startswith("B1.relief-outlet→D")]
    removed = [pen for name, pen in pens.items() if name == "B1.relief-outlet→S1.in"]
    assert removed == [style.pens["removed"]] and added == [style.pens["added"]]
    assert style.pens["removed"] < usual < style.pens["added"]
    crossed = {label.subject for label in sheet.drawing.labels if label.role == "cross"}
    assert crossed == {"B1.relief-outlet→S1.in"}
    arrows = {arrow.pipe for arrow in sheet.drawing.arrows}
    assert not arrows & crossed


def test_an_old_value_is_struck_through_beside_the_new_one():
    both = comparison(read_text(HOUSE, "yaml"), read_text(HOUSE.replace("12 kW", "15 kW"), "yaml"))
    (sheet,) = both.sheets()
    (label,) = [label for label in sheet.drawing.labels if (label.subject, label.role) == ("B1", "tag")]
    assert [text.text for text in label.texts] == ["B1", "Boiler", "12 kW", "15 kW"]
    (stroke,) = label.ink
    old = label.texts[2]
    (_, (left, y)), (_, (right, _)) = stroke.segments
    assert left < old.x < right and old.y - old.cap < y < old.y


def test_the_table_beside_the_drawing_has_the_sentences_of_the_text():
    both = comparison(read_text(HOUSE, "yaml"), read_text(HOUSE.replace("12 kW", "15 kW"), "yaml"))
    (sheet,) = both.sheets()
    (block,) = [block for block in sheet.blocks if block.name == "changes"]
    words = " ".join(getattr(shape, "text", "") for shape in block.shapes)
    assert "System boiler B1 (Boiler): output: 12 kW → 15 kW" in " ".join(words.split())
    assert "findings" not in {block.name for block in sheet.blocks}


def test_the_title_names_what_tells_the_versions_apart():
    def second_title(*heads: str) -> str:
        old, new = (read_text(head + HOUSE, "yaml", name) for head, name in zip(heads, ("old", "new"), strict=True))
        (sheet,) = comparison(old, new).sheets()
        return sheet.words.data["subtitle"]

    assert second_title("sheet: {revision: A}", "sheet: {revision: B}") == "Changes from revision A to revision B"
    first, second = "sheet: {number: H-1, revision: A}", "sheet: {number: H-2, revision: A}"
    assert second_title(first, second) == "Changes from H-1 revision A to H-2 revision A"
    assert second_title("", "sheet: {revision: A}") == "Changes from old to new"


def test_the_same_two_lists_give_the_same_drawing():
    old, new = HOUSE, HOUSE.replace("12 kW", "15 kW")
    one, other = (comparison(read_text(old, "yaml"), read_text(new, "yaml")) for _ in "ab")
    assert [svg_text(sheet) for sheet in one.sheets()] == [svg_text(sheet) for sheet in other.sheets()]


# states


def test_states_that_came_and_parts_that_stand_otherwise_are_told():
    old = read_text(HOUSE, "yaml")
    zone = HOUSE.replace("P1, T1]", "P1, ZV1, T1]").replace("  MF1:", "  ZV1: {kind: zone-valve}\n  MF1:")
    second = "\n  RT2: {kind: room-thermostat, switches: [B1]}"
    zone = zone.replace("switches: [P1, B1]}", "switches: [P1, B1, ZV1]}" + second)
    there = comparison(old, read_text(zone, "yaml")).changes.states
    assert "added" in {change.sort for change in there}
    same = comparison(old, read_text(HOUSE.replace("RT1", "Stat 1"), "yaml")).changes.states
    assert same == ()
    fewer = comparison(old, read_text(HOUSE.replace("[P1, B1]", "[B1]"), "yaml")).changes.states
    assert [(c.name, [(v.key, v.old, v.new) for v in c.values]) for c in fewer] == [
        ("all zones shut", [("P1", "off", "on")])
    ]
    assert state_words(fewer[0]) == "all zones shut: P1 off → on"


# texts of all kinds


@pytest.mark.parametrize("text", ["<b>&amp;</b>", "=1+1", "x" * 3000, "a, b: c [d] {e}", "\u202eright to left", "Δ−+"])
def test_any_text_is_told_and_drawn_as_text(text):
    new = replace_label(read_text(HOUSE, "yaml"), "R1", text)
    both = comparison(read_text(HOUSE, "yaml"), new)
    (sheet,) = both.sheets()
    root = ElementTree.fromstring(svg_text(sheet))
    assert not [e for e in root.iter() if e.tag.endswith("}b")]
    assert text.split()[0][:20] in as_text(both.changes)


def replace_label(made, tag: str, text: str):
    parts = tuple(
        replace(p, entries=tuple(replace(e, text=text) if e.key == "label" else e for e in p.entries))
        if p.tag == tag
        else p
        for p in made.parts
    )
    return replace(made, parts=parts)
