"""Accounts and drawings of the operating states: what a practitioner would write, and what the solved flow says."""

import json
import re
import subprocess
import sys
from collections import Counter
from itertools import pairwise
from pathlib import Path

import never
import pytest
from fragments import built
from systems import system
from test_cli import run

from schemagen import read
from schemagen.network.network import PortId
from schemagen.operation.account import account_of, stands
from schemagen.operation.operate import operate
from schemagen.operation.state_view import view_of
from schemagen.operation.ways import Branches, Stop, in_words, tags_on, ways_of
from schemagen.output.as_svg import svg_text
from schemagen.sheets.sheet import PAGES
from schemagen.sheets.states_text import as_json, as_text

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("[0-9]*"))
SOUND = EXAMPLES[:8]
QUIET = {"capture_output": True, "check": True}
WORKING = ("call", "all-calls", "defrost")
SEEDS = [(seed, size) for size in (12, 40, 90) for seed in range(5)]


def example(number: str):
    return read(next(p for p in EXAMPLES if p.name.startswith(number)))


def ways(number: str, name: str) -> list[str]:
    op = example(number).operation
    return [in_words(way) for way in ways_of(op.flow(op.state(name)))]


def account(op, name: str) -> str:
    return " ".join(account_of(op, op.state(name)).sentences)


def operation(text: str):
    return operate(built(text).network)


# the ways of the water

AS_A_PRACTITIONER_WRITES = [
    ("01", "heating calls", ["B1 → R1, R2 and R3 → MF1 → B1"]),
    ("02", "hot water calls", ["B1 → P1 → ZV2 → ST1 coil → MF1 → B1"]),
    ("02", "heating calls", ["B1 → P1 → ZV1 → R1, R2 and R3 → MF1 → B1"]),
    ("02", "all calls", ["B1 → P1 → [ZV1 → R1, R2 and R3 | ZV2 → ST1 coil] → MF1 → B1"]),
    ("02", "all zones shut", ["P1 → BP1 → MF1 → B1 → P1"]),
    ("02", "tap open: HO1 (Kitchen hot tap)", ["CM1 → CW1 → ST1 → HO1"]),
    ("03", "hot water calls", ["HP1 → DV1 → ST1 coil → MF1 → HP1"]),
    ("03", "heating calls", ["BU1 → P1 → ZV1 → R1 and R2 → BU1"]),
    ("03", "buffer calls", ["HP1 → DV1 → BU1 → MF1 → HP1"]),
    ("03", "defrost", ["HP1 → DV1 → BU1 → MF1 → HP1"]),
    ("03", "hot-water circulation runs", ["ST1 → P2 → ST1"]),
    ("04", "heating calls", ["ST1 buffer → P1 → ZV1 → R1 and R2 → ST1 buffer"]),
    ("05", "heating calls: RT1 (Living room)",
     ["B1 → ZV1 → MS1 → MF1 → B1", "MS1 → UM1 → UL1, UL2 and UL3 → UM1 → MS1"]),
    ("06", "solar charging", ["SC1 → ST1 lower coil → P1 → FF1 → SC1"]),
    ("06", "hot water calls", ["B1 → ZV2 → ST1 upper coil → MF1 → B1"]),
    ("06", "tap open: HO1 (Kitchen hot tap)", ["CM1 → IG1 → ST1 (and past it) → MV1 → HO1"]),
    ("07", "stove burns", ["SF1 → HL1 → SF1", "SF1 → TS1 (and past it) → LV1 → MF1 → P1 → SF1"]),
    ("08", "heating calls: RT2 (Flat 2)",
     ["B1 → P1 → LH1 → MF1 → B1", "LH1 → P2 → HU2 network → LH1", "HU2 → HZ2 → HU2"]),
]  # fmt: skip


@pytest.mark.parametrize(("number", "state", "told"), AS_A_PRACTITIONER_WRITES)
def test_the_ways_of_water_read_as_a_practitioner_would_write_them(number, state, told):
    assert ways(number, state) == told


def test_no_water_has_no_way():
    assert ways("03", "no calls, power on") == []


def test_a_short_circuit_past_a_part_is_told():
    op = operation(
        "parts: system-boiler B1; tee T1; tee T2; radiator R1\n"
        "pipes: B1.flow - T1.a; T1.b - R1.a; T1.branch - T2.branch; R1.b - T2.a; T2.b - B1.return"
    )
    assert [in_words(w) for w in ways_of(op.flow(op.states[0]))] == ["B1 → R1 (and past it) → B1"]


MIXED = """
parts: heat-only-boiler B1; heating-mixing-valve MV1; pump P1; underfloor-manifold UM1; tee T2;
    room-thermostat RT1 switches: P1, B1
pipes: B1.flow - MV1.hot; MV1.mixed - P1.in; P1.out - UM1.flow-in; UM1.return-out - T2.a; T2.b - B1.return;
    T2.branch - MV1.cold
"""


def test_water_that_is_mixed_in_is_told_apart_so_that_no_stop_of_a_way_comes_twice():
    op = operation(MIXED)
    assert [in_words(w) for w in ways_of(op.flow(op.states[0]))] == ["B1 → MV1 → P1 → UM1 → B1", "UM1 → MV1"]
    assert "Water goes B1 → MV1 → P1 → UM1 → B1; UM1 → MV1." in account(op, "heating calls")


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_no_way_comes_twice_by_the_same_stop_but_by_both_bars_of_a_manifold_or_a_mixing_set(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    for state in op.of_sort(*WORKING):
        for way in ways_of(op.flow(state)):
            stops = Counter(item.tag for item in way[1:] if isinstance(item, Stop))
            twice = {network.parts[tag].kind.name for tag, count in stops.items() if count > 1}
            assert twice <= {"underfloor-manifold", "mixing-set"}, in_words(way)


def test_many_parts_side_by_side_are_counted():
    stops = tuple((Stop(f"R{n}", f"R{n}"),) for n in range(1, 21))
    assert in_words((Branches(stops),)) == "R1, R2, R3 … R20 (20 side by side)"


def test_two_sources_side_by_side_are_both_on_the_way():
    op = operation(
        "parts: system-boiler B1; system-boiler B2; tee T1; tee T2; radiator R1\n"
        "pipes: B1.flow - T1.a; B2.flow - T1.branch; T1.b - R1.a; R1.b - T2.a; T2.b - B1.return; "
        "T2.branch - B2.return"
    )
    assert [in_words(w) for w in ways_of(op.flow(op.states[0]))] == ["B1 and B2 → R1"]


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_each_step_of_a_way_is_one_that_moving_water_takes(seed, size):
    """By a search of its own: from each stop the next one is reached along pipes in which water moves."""
    network, _ = system(seed, size)
    op = operate(network)
    for state in op.of_sort(*WORKING):
        flow = op.flow(state)
        onward = {}
        for pipe in network.pipes:
            if way := flow.direction(pipe):
                a, b = (pipe.start.tag, pipe.end.tag)[::way]
                onward.setdefault(a, set()).add(b)
        for way in ways_of(flow):
            for one, other in pairwise(way):
                for a in _ends(one, last=True):
                    for b in _ends(other, last=False):
                        assert _reaches(onward, a, b), (state.name, in_words(way), a, b)


def _ends(item, last: bool) -> list[str]:
    if isinstance(item, Stop):
        return [item.tag]
    return [tag for way in item.ways for tag in _ends(way[-1 if last else 0], last)]


def _reaches(onward, a: str, b: str) -> bool:
    seen, todo = set(), [a]
    while todo:
        for tag in onward.get(todo.pop(), ()):
            if tag == b:
                return True
            if tag not in seen:
                seen.add(tag)
                todo.append(tag)
    return False


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_every_source_pump_and_load_in_which_water_moves_is_on_a_way(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    for state in op.of_sort(*WORKING):
        flow = op.flow(state)
        told = set(tags_on(ways_of(flow)))
        for tag, part in network.parts.items():
            named = part.kind.takes or part.kind.gives
            if (named and flow.part_moves(tag, named)) or (part.kind.driver == "pump" and flow.part_moves(tag)):
                assert tag in told, (state.name, tag)


# accounts


def test_the_account_of_hot_water_says_what_turns_what_runs_and_what_waits():
    assert account(example("03").operation, "hot water calls") == (
        "CT1 (cylinder thermostat) calls. DV1 turns to a (hot water); HP1 and its pump run. "
        "Water goes HP1 → DV1 → ST1 coil → MF1 → HP1. Heating stands still. The fan of HP1 turns. ST1 warms up."
    )


def test_in_a_defrost_the_pump_runs_as_in_heating_and_the_heat_pump_gives_no_heat():
    op = example("03").operation
    state, like = op.state("defrost"), op.state("buffer calls")
    network, flow, flow_like = op.network, op.flow(state), op.flow(like)
    assert [flow.direction(p) for p in network.pipes] == [flow_like.direction(p) for p in network.pipes]
    assert (state.pumps_on, state.sources_on) == (("HP1",), ())
    assert account(op, "defrost").startswith("HP1 clears ice off its outdoor coil with heat from its water.")


def test_a_boiler_has_no_defrost_and_two_heat_pumps_have_one_each():
    assert not list(example("02").operation.of_sort("defrost"))
    op = operation(
        "parts: air-heat-pump H1; air-heat-pump H2; radiator R1; radiator R2\n"
        "pipes: H1.flow - R1.a; R1.b - H1.return; H2.flow - R2.a; R2.b - H2.return"
    )
    giving = {s.name: s.sources_on for s in op.of_sort("defrost")}
    assert giving == {"defrost: H1": ("H2",), "defrost: H2": ("H1",)}


def test_a_bypass_that_opens_is_told():
    assert "BP1 opens on the pressure" in account(example("02").operation, "all zones shut")


def test_a_fire_goes_on_when_the_power_is_off():
    assert "SF1 goes on giving heat" in account(example("07").operation, "power off")


def test_states_that_one_stands_for_are_named():
    told = account(example("05").operation, "heating calls: RT1 (Living room)")
    assert told.endswith("The same holds for heating calls: RT2 (Bedroom).")


def test_water_that_runs_nowhere_is_said_so_in_a_faulty_list():
    assert "HP1 and its pump run. No water moves." in account(example("09").operation, "hot water calls")


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.stem)
def test_an_account_names_only_tags_that_are_in_the_list(path):
    op = read(path).operation
    for state in op.states:
        for tag in re.findall(r"\b[A-Z]{1,3}\d+\b", account(op, state.name)):
            assert tag in op.network.parts, (state.name, tag)


@pytest.mark.parametrize("path", SOUND, ids=lambda p: p.stem)
def test_in_a_correct_example_no_source_stands_still_and_no_pump_is_dead_headed(path):
    op = read(path).operation
    for state in op.of_sort(*WORKING, "all-shut"):
        flow = op.flow(state)
        for tag in (*state.sources_on, *state.pumps_on):
            kind = op.network.parts[tag].kind
            if kind.gives or kind.driver == "pump":
                moving = flow.part_moves(tag, kind.gives) if kind.gives else flow.part_moves(tag)
                assert moving or (state.sort == "all-shut" and tag == "MS1"), (state.name, tag)


@pytest.mark.parametrize("path", SOUND, ids=lambda p: p.stem)
def test_water_enters_no_opening_of_a_part_whose_way_is_shown_shut(path):
    op = read(path).operation
    for state in op.states:
        flow, seen = op.flow(state), stands(op, state)
        for tag, word in seen.items():
            part = op.network.parts[tag]
            if word == "shut" and part.kind.name in ("zone-valve", "isolating-valve", "bypass-valve"):
                assert all(flow.into(PortId(tag, name)) == 0 for name in part.kind.ports), (state.name, tag)


def test_a_source_that_only_pumps_is_seen_off():
    op = example("03").operation
    assert [stands(op, op.state(n))["HP1"] for n in ("buffer calls", "defrost", "power off")] == ["on", "off", "off"]


COMBI = """
parts: combi-boiler CB1; cold-main CM1; tee T1; hot-outlet HO1; cold-outlet CO1; radiator R1;
    room-thermostat RT1 switches: CB1
pipes: CB1.flow - R1.a; R1.b - CB1.return; CM1.out - T1.a; T1.b - CB1.cold-in; T1.branch - CO1.in;
    CB1.hot-out - HO1.in
"""


def test_a_boiler_that_heats_tap_water_as_it_runs_is_seen_at_it_and_at_rest_when_only_cold_is_drawn():
    op = operation(COMBI)
    names = ("no calls, power on", "heating calls", "tap open: HO1", "tap open: CO1", "all taps open")
    seen = [stands(op, op.state(name))["CB1"] for name in names]
    assert seen == ["off", "heating", "hot-water", "off", "hot-water"]
    assert re.search(r"^CB1 +off +heating +· +· +· +hot-water +· +hot-water$", as_text(op), re.M)


def test_an_outdoor_unit_follows_its_indoor_unit():
    op = operation(
        "parts: split-outdoor-unit O1; heat-pump-indoor-unit H1; radiator R1; room-thermostat X1 acts-on H1\n"
        "pipes: O1.gas - H1.gas; H1.liquid - O1.liquid; H1.heating-flow - R1.a; R1.b - H1.return"
    )
    assert [op.state(n).positions["O1"] for n in ("heating calls", "power off")] == ["on", "off"]
    assert [s.name for s in op.of_sort("defrost")] == ["defrost"]


# printed


def test_the_json_document_has_the_keys_that_other_programs_rely_on():
    op = example("03").operation
    document = json.loads(json.dumps(as_json("x.yaml", op)))
    assert document["list"] == "x.yaml"
    assert [s["name"] for s in document["states"]] == [s.name for s in op.states]
    keys = {"name", "sort", "calling", "alike", "positions", "pumps", "sources", "outlets", "pipes", "ways", "account"}
    for state in document["states"]:
        assert keys == state.keys()
        assert [(p["from"], p["to"]) for p in state["pipes"]] == [p.pair for p in op.network.pipes]
        assert {p["moves"] for p in state["pipes"]} <= {"forward", "backward", "still"}


def test_the_table_tells_for_each_state_what_differs_from_rest():
    lines = as_text(example("03").operation).splitlines()
    head = next(line for line in lines if line.startswith("part")).split()
    cells = {line.split()[0]: line.split() for line in lines if re.match(r"(HP1|DV1|ZV1|P1) ", line)}
    hot_water, rest = head.index("1") - 1, 1
    assert head[:4] == ["part", "at", "rest", "1"]
    assert [cells[t][rest] for t in ("HP1", "DV1", "ZV1", "P1")] == ["off", "b", "shut", "off"]
    assert [cells[t][hot_water] for t in ("HP1", "DV1", "ZV1", "P1")] == ["on", "a", "·", "·"]


def test_the_verb_prints_states_and_names_them_when_one_is_not_there(tmp_path):
    first = EXAMPLES[0]
    assert "  1  Heating calls" in run("states", first, cwd=tmp_path).stdout
    assert json.loads(run("states", first, "--format", "json", cwd=tmp_path).stdout)["states"]
    wrong = run("draw", first, "--state", "hot watr", "-o", "x.svg", cwd=tmp_path)
    assert wrong.returncode == 2
    assert "heating calls" in wrong.stderr
    assert run("draw", first, "--state", "filling", "--states", cwd=tmp_path).returncode == 2
    assert not list(tmp_path.iterdir())


def test_the_drawing_of_a_state_does_not_take_the_name_of_the_plain_one(tmp_path):
    (tmp_path / "x.yaml").write_text(EXAMPLES[0].read_text(encoding="utf-8"), encoding="utf-8")
    assert run("draw", "x.yaml", "--state", "No calls, power on", cwd=tmp_path).returncode == 0
    assert run("draw", "x.yaml", "--states", cwd=tmp_path).returncode == 0
    names = sorted(p.name for p in tmp_path.glob("*.svg"))
    assert names == ["x-1.svg", *(f"x-{n}.svg" for n in range(2, len(names))), "x-no-calls-power-on.svg"]


# drawings of the states


@pytest.fixture(scope="module", params=[p for p in SOUND if p.name[:2] in ("02", "03", "06")], ids=lambda p: p.stem)
def drawn(request):
    job = read(request.param)
    sheets = job.state_sheets(job.states)
    return job, [(state, svg_text(sheet)) for state, sheet in zip(job.states, sheets, strict=True)]


def test_a_state_drawing_shows_nothing_that_must_never_be_seen(drawn):
    _, sheets = drawn
    assert [(s.name, fault) for s, svg in sheets for fault in never.faults(svg)] == []


def test_arrows_stand_exactly_on_moving_pipes_and_point_the_solved_way(drawn):
    job, sheets = drawn
    for state, svg in sheets:
        flow, picture = job.operation.flow(state), never.Picture(svg)
        solved = {p.name: flow.direction(p) for p in job.network.pipes}
        said = {p.name: {"forward": 1, "backward": -1, "still": 0}[p.moves] for p in picture.pipes}
        assert said == solved
        assert {name for name, _ in picture.arrows} == {name for name, way in solved.items() if way}
        assert list(never.arrows_astray(picture)) == []


def test_still_pipes_are_thin_and_grey_and_keep_their_pattern(drawn):
    job, sheets = drawn
    page = next(name for name, page in PAGES.items() if f'width="{page.width:g}mm"' in sheets[0][1])
    plain = _pens(svg_text(job.sheets(page)[0]))
    for _, svg in sheets:
        moves = {p.name: p.moves for p in never.Picture(svg).pipes}
        for name, (colour, width, dashes) in _pens(svg).items():
            usual = plain[name]
            assert bool(dashes) == bool(usual[2])
            if moves[name] == "still":
                assert (colour, float(width) <= 0.35) == ("#767676", True)
            else:
                assert (colour, width) == usual[:2]


def _pens(svg: str):
    out = {}
    for element in re.findall(r'<path class="pipe"[^>]*>', svg):
        at = dict(re.findall(r'([\w-]+)="([^"]*)"', element))
        out[f"{at['data-from']}→{at['data-to']}"] = (at["stroke"], at["stroke-width"], at.get("stroke-dasharray", ""))
    return out


def test_everything_stands_at_the_same_place_on_every_sheet(drawn):
    _, sheets = drawn
    pictures = [never.Picture(svg) for _, svg in sheets]
    first = pictures[0]
    for picture in pictures[1:]:
        assert (picture.width, picture.height) == (first.width, first.height)
        assert (picture.parts, picture.ports) == (first.parts, first.ports)
        assert [p.points for p in picture.pipes] == [p.points for p in first.pipes]
        named = [[t for t in p.texts if t[1]] for p in (picture, first)]
        assert named[0] == named[1]


def test_each_sheet_carries_its_state_and_what_happens_in_it(drawn):
    job, sheets = drawn
    for number, (state, svg) in enumerate(sheets, 1):
        words = Counter(" ".join(text for text, _, _ in never.Picture(svg).texts).split())
        view = view_of(job.operation, state)
        assert not Counter(" ".join((view.title, *view.account)).split()) - words
        assert f">{number} of {len(sheets)}<" in svg


def test_symbols_show_how_their_parts_stand():
    job = example("03")
    hot, heat = (job.state_drawing(job.operation.state(n)) for n in ("hot water calls", "heating calls"))
    shapes = [{p.tag: p.shapes for p in d.parts} for d in (hot, heat)]
    differing = {tag for tag in shapes[0] if shapes[0][tag] != shapes[1][tag] and not tag.startswith("T")}
    assert differing - {"TV2"} == {"HP1", "DV1", "P1", "ZV1"}
    plain = {p.tag: p.shapes for p in job.drawing.parts}
    assert shapes[1]["P1"] == plain["P1"] and shapes[0]["P1"] != plain["P1"]


def test_the_plain_drawing_says_nothing_of_states():
    job = example("03")
    assert (job.drawing.state, job.drawing.account) == ("", "")
    assert "data-moves" not in svg_text(job.sheets()[0])


# filling


def test_filling_reaches_the_coil_the_zones_and_the_floor_with_their_valves_held_open_by_hand():
    reached = {"03": ("ST1", "HP1", "R1"), "04": ("ST1", "R1"), "05": ("UL1", "UL2", "UL3"), "08": ("HU1", "HU4")}
    for number, parts in reached.items():
        op = example(number).operation
        flow = op.flow(op.state("filling"))
        for tag in parts:
            kind = op.network.parts[tag].kind
            assert flow.part_moves(tag, kind.takes or kind.gives), (number, tag)
    assert "DV1 is held between its sides by hand" in account(example("03").operation, "filling")
    assert "UM1 are held open by hand" in account(example("05").operation, "filling")


def test_an_automatic_fill_unit_is_what_the_water_comes_in_by():
    assert "Water comes in through AF1" in account(example("08").operation, "filling")


def test_the_pump_of_a_mixing_set_does_not_run_on_with_the_boiler():
    assert "MS1" not in example("05").operation.state("all zones shut").pumps_on


# figures at the pipes


def test_a_state_drawing_says_what_is_known_at_its_pipes_and_nothing_where_nothing_is_known(drawn):
    """Held against the figures of the list, worked out anew."""
    job, _ = drawn
    for state in job.operation.of_sort("call", "all-calls", "tap-open"):
        known = job.sizes.states[state.name]
        drawing = job.state_drawing(state)
        index = {pipe.name: pipe.index for pipe in job.network.pipes}
        for label in drawing.labels:
            if label.role == "figure":
                i = index[label.subject]
                allowed = []
                if i in known.temperature_c:
                    allowed.append(f"{round(known.temperature_c[i])} °C")
                if known.flow_m3s.get(i):
                    litres = 6e4 * abs(known.flow_m3s[i])
                    allowed.append(f"{litres:.1f} L/min" if litres < 9.95 else f"{litres:.0f} L/min")
                assert " ".join(t.text for t in label.texts) in (" ".join(allowed), *allowed), (state.name, label)


def test_heating_flow_and_return_are_told_apart_on_the_drawing():
    job = example("03")
    drawing = job.state_drawing(job.operation.state("heating calls"))
    said = " ".join(text.text for label in drawing.labels if label.role == "figure" for text in label.texts)
    assert "45 °C" in said and "40 °C 4.1 L/min" in said


def test_no_figures_stand_at_the_pipes_while_filling_or_without_power(drawn):
    job, _ = drawn
    for state in job.operation.of_sort("filling", "no-calls", "power-off"):
        assert not [label for label in job.state_drawing(state).labels if label.role == "figure"]


def test_drawing_a_state_does_without_the_numerical_library():
    code = (
        "import sys; from schemagen.pipeline import read; job = read('examples/03_heat_pump_buffer_cylinder.yaml'); "
        "job.state_drawing(job.operation.state('heating calls')); print('numpy' in sys.modules)"
    )
    result = subprocess.run([sys.executable, "-c", code], cwd=EXAMPLES[0].parent.parent, text=True, **QUIET)
    assert result.stdout.strip() == "False"


# what a person notices

NOTICED = [
    ("03", "heating calls", "P1 runs. R1 and R2 get warm."),
    ("03", "buffer calls", "The fan of HP1 turns. BU1 warms up."),
    ("03", "all zones shut", "No room is heated. HP1 can be heard to run on."),
    ("03", "power off", "In frost AF1 and AF2 open and let water out before it freezes."),
    ("02", "all calls", "B1 fires and P1 runs. R1, R2 and R3 get warm. ST1 warms up."),
    ("02", "all zones shut", "P1 can be heard to run on; its water comes back through BP1."),
    ("02", "all taps open", "BA1 runs warm for as long as ST1 holds hot water, at most 46 °C by MV1."),
    ("02", "all taps open", "HO1 runs hot for as long as ST1 holds hot water."),
    ("02", "filling", "Air hisses out of AV1. The pressure on PG1 rises."),
    ("05", "heating calls: RT1 (Living room)", "UL1, UL2 and UL3 get warm over some hours, as floors do."),
    ("06", "solar charging", "The sun warms SC1 and P1 runs. ST1 warms up."),
    ("06", "power off", "While the sun shines SC1 gets very hot, as no water carries its heat away."),
    ("07", "stove burns", "SF1 burns and P1 runs. HL1 gets warm. TS1 warms up."),
    ("08", "heating calls: RT2 (Flat 2)", "HZ2 gets warm."),
    ("08", "all taps open", "HO1, HO2, HO3 and HO4 run hot, heated by HU1, HU2, HU3 and HU4 as they run."),
    ("08", "tap open: HO3 (Taps)", "HO3 runs hot, heated by HU3 as it runs. B1 fires."),
]


@pytest.mark.parametrize(("number", "name", "noticed"), NOTICED)
def test_what_a_person_notices_in_a_state(number, name, noticed):
    op = example(number).operation
    assert noticed in account_of(op, op.state(name)).notice


@pytest.mark.parametrize("path", SOUND, ids=lambda p: p.stem)
def test_every_state_of_every_sort_has_something_to_notice(path):
    op = read(path).operation
    for state in op.states:
        assert account_of(op, state).notice, state.name


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_only_emitters_in_moving_water_are_said_to_get_warm(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    for state in op.of_sort("call", "all-calls"):
        notice, flow = account_of(op, state).notice, op.flow(state)
        for sentence in re.findall(r"(?:^|\. )([^.]* gets? warm)", notice):
            for tag in re.findall(r"\b[A-Z]+\d+\b", sentence):
                assert flow.part_moves(tag), (state.name, sentence)


def test_a_mixing_set_on_a_header_draws_from_it_so_that_its_floor_gets_warm():
    op = operation(
        """
parts: air-heat-pump H1; low-loss-header L1; header F1; header F2; isolating-valve V1; isolating-valve V2;
    mixing-set M1; underfloor-manifold U1; underfloor-loop A1; underfloor-loop A2; underfloor-loop A3; radiator R1;
    mixing-set M2
pipes: H1.flow - L1.primary-flow; L1.primary-return - H1.return; L1.secondary-flow - F1.end;
    F1.branch-1 - V1.a;
    V1.b - M1.source-flow; M1.source-return - V2.a; V2.b - F2.branch-1; F2.end - L1.secondary-return;
    F1.branch-2 - M2.source-flow; M2.source-return - F2.branch-2; M2.load-flow - R1.a; R1.b - M2.load-return;
    M1.load-flow - U1.flow-in; U1.return-out - M1.load-return; U1.loop-1-flow - A1.in; A1.out - U1.loop-1-return;
    U1.loop-2-flow - A2.in; A2.out - U1.loop-2-return; U1.loop-3-flow - A3.in; A3.out - U1.loop-3-return
state: floor = H1 on, M1 on
"""
    )
    told = account(op, "floor")
    assert "L1 → M1 → L1" in told
    assert "A1, A2 and A3 get warm" in told


_COIL = """
parts: heat-only-boiler B1; vented-cylinder C1 gravity: yes
pipes: B1.flow - C1.coil-in; C1.coil-out - B1.return
state: hot = B1 on
"""


def test_a_coil_on_a_gravity_circuit_is_heated_by_a_boiler_without_a_pump():
    assert "Water goes B1 → C1 coil → B1" in account(operation(_COIL), "hot")


def test_a_coil_that_is_not_on_a_gravity_circuit_wants_a_pump():
    assert "No water moves" in account(operation(_COIL.replace(" gravity: yes", "")), "hot")


@pytest.fixture(scope="module")
def pool_house(tmp_path_factory):
    path = tmp_path_factory.mktemp("pool") / "pool.yaml"
    path.write_text(
        """
parts:
  G1: {kind: ground-heat-pump}
  L1: {kind: ground-loop}
  D1: {kind: diverter-valve, rest: a, serves: {a: heating, b: K1}}
  E1: {kind: plate-heat-exchanger}
  K1: {kind: swimming-pool}
  P1: {kind: pump}
  P2: {kind: pump}
  B1: {kind: buffer-four-pipe, capped: [vent, drain]}
  R1: {kind: radiator}
  T1: {kind: tee}
  S1: {kind: temperature-sensor, on: K1, switches: [D1, G1, P1]}
  S2: {kind: room-thermostat, room: Hall, switches: [P2]}
  S3: {kind: temperature-sensor, on: B1, switches: [G1]}
connections:
  - {run: [G1.brine-out, L1, G1.brine-in]}
  - {run: [G1.flow, D1.common]}
  - {run: [D1.a, B1.primary-flow]}
  - {run: [B1.primary-return, T1, G1.return]}
  - {run: [D1.b, E1.left-top]}
  - {run: [E1.left-bottom, T1.branch]}
  - {run: [B1.secondary-flow, P2, R1, B1.secondary-return]}
  - {run: [K1.out, P1, E1.right-bottom]}
  - {run: [E1.right-top, K1.in]}
""",
        encoding="utf-8",
    )
    return read(path).operation


def test_a_pool_that_calls_turns_the_diverter_to_its_side(pool_house):
    assert pool_house.state("heating calls: S1").positions["D1"] == "b"
    assert "K1 gets warm" in account(pool_house, "heating calls: S1")


def test_nothing_is_drawn_from_the_ground_while_its_heat_pump_rests(pool_house):
    assert "L1" not in pool_house.state("heating calls: S2 (Hall)").sources_on
    assert "L1" in pool_house.state("heating calls: S1").sources_on


def test_a_ground_loop_is_not_said_to_run(pool_house):
    assert "; G1 with its pump and P1 run." in account(pool_house, "heating calls: S1")
