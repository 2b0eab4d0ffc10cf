"""What the operating states and the moving water promise: by hand, against brute force, and on every example."""

from dataclasses import replace
from itertools import product
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from fragments import built
from systems import system

from schemagen.network.network import OUT, PortId
from schemagen.operation.balance import balance, linear_flow
from schemagen.operation.circuit import TEE_LEG, Circuit, is_joint
from schemagen.operation.moves import LEAST, Inside, Solver
from schemagen.operation.operate import operate
from schemagen.parts.kind import OUTSIDE
from schemagen.pipeline import read

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"
SEEDS = [(seed, size) for size in (12, 35, 70) for seed in range(6)]

CASCADE = """
parts: system-boiler B1; system-boiler B2; tee T1; tee T2; radiator R1
pipes: B1.flow - T1.a; B2.flow - T1.branch; T1.b - R1.a; R1.b - T2.a; T2.b - B1.return; T2.branch - B2.return
"""


def operation(text):
    return operate(built(text).network)


def pipe(network, name):
    return next(p for p in network.pipes if p.name == name)


def directions(op, state, *names):
    flow = op.flow(op.state(state))
    return tuple(flow.direction(pipe(op.network, name)) for name in names)


def names(op, *sorts):
    return [s.name for s in (op.of_sort(*sorts) if sorts else op.states)]


# states from control devices


def test_a_list_without_controls_has_one_call_that_runs_everything():
    op = operation(
        "parts: heat-only-boiler B1; pump P1; radiator R1\npipes: B1.flow - P1.in; P1.out - R1.a; R1.b - B1.return"
    )
    call = op.state("heating calls")
    assert (call.pumps_on, call.sources_on) == (("P1",), ("B1",))
    assert names(op) == ["heating calls", "no calls, power on", "all zones shut", "power off"]


TWO_ZONES = """
parts: system-boiler B1; tee T1; tee T2; zone-valve Z1; zone-valve Z2; radiator R1 room: Hall; \
    radiator R2 room: Bedroom; room-thermostat X1 room: Hall acts-on Z1, B1; \
    room-thermostat X2 room: Bedroom acts-on Z2, B1; programmer Y1 acts-on Z1, Z2
pipes: B1.flow - T1.a; T1.b - Z1.in; T1.branch - Z2.in; Z1.out - R1.a; Z2.out - R2.a; R1.b - T2.a; R2.b - T2.branch; \
T2.b - B1.return
"""


def test_each_thermostat_opens_its_own_valve_and_all_calls_open_both():
    op = operation(TWO_ZONES)
    opened = {s.name: [t for t in ("Z1", "Z2") if s.positions[t] == "open"] for s in op.states}
    assert opened["heating calls: X1 (Hall)"] == ["Z1"]
    assert opened["heating calls: X2 (Bedroom)"] == ["Z2"]
    assert opened["all calls"] == ["Z1", "Z2"]
    assert opened["no calls, power on"] == opened["power off"] == []


def test_a_programmer_only_permits_where_a_thermostat_calls():
    assert all("Y1" not in state.calling for state in operation(TWO_ZONES).states)


def test_a_programmer_alone_is_the_call():
    op = operation(
        "parts: system-boiler B1; radiator R1; programmer Y1 acts-on B1\npipes: B1.flow - R1.a; R1.b - B1.return"
    )
    assert op.state("heating calls").calling == ("Y1",)


def test_thermostats_behind_one_wiring_centre_open_the_valves_of_their_own_rooms():
    text = TWO_ZONES.replace("acts-on Z1, B1", "acts-on C1").replace("acts-on Z2, B1", "acts-on C1")
    op = operation(text.replace("; programmer Y1", "; controller C1 acts-on Z1, Z2, B1; programmer Y1"))
    call = op.state("heating calls: X2 (Bedroom)")
    assert (call.positions["Z1"], call.positions["Z2"], call.sources_on) == ("shut", "open", ("B1",))


def test_a_cut_out_thermostat_never_calls():
    op = operation(
        "parts: system-boiler B1; indirect-unvented-cylinder C1; cut-out-thermostat X1 on C1 acts-on B1\n"
        "pipes: B1.flow - C1.coil-in; C1.coil-out - B1.return"
    )
    assert all("X1" not in state.calling for state in op.states)


DIVERTER = """
parts: system-boiler B1; diverter-valve V1 {}; indirect-unvented-cylinder C1; radiator R1; tee T1; \
cylinder-thermostat X1 on C1 acts-on V1, B1{}; room-thermostat X2 acts-on V1, B1{}
pipes: B1.flow - V1.common; V1.a - C1.coil-in; V1.b - R1.a; C1.coil-out - T1.branch; R1.b - T1.a; T1.b - B1.return
"""


def test_a_diverter_turns_to_the_outlet_on_which_the_calling_store_hangs():
    op = operation(DIVERTER.format("", "", ""))
    assert op.state("hot water calls").positions["V1"] == "a"
    assert op.state("heating calls").positions["V1"] == "b"


@pytest.mark.parametrize(("hot", "heating", "winner"), [("", "", "a"), (" priority: 2", " priority: 1", "b")])
def test_of_two_calls_that_turn_a_diverter_both_ways_hot_water_wins_unless_the_list_says_otherwise(
    hot, heating, winner
):
    third = "; room-thermostat X3 acts-on P3; heat-only-boiler B3; pump P3; radiator R3\npipes: B3.flow - P3.in; "
    text = DIVERTER.format("rest: b", hot, heating).replace("\npipes:", third + "P3.out - R3.a; R3.b - B3.return;")
    assert operation(text).state("all calls").positions["V1"] == winner


def test_all_calls_are_not_told_again_where_one_call_shuts_the_others_out():
    assert "all calls" not in names(operation(DIVERTER.format("", "", "")))


def test_what_serves_says_goes_before_what_hangs_on_the_outlet():
    op = operation(DIVERTER.format("serves: b: hot-water, a: heating", "", ""))
    assert op.state("hot water calls").positions["V1"] == "b"


def test_a_mid_position_valve_serves_both_calls_at_once():
    op = operation(DIVERTER.format("", "", "").replace("diverter-valve", "mid-position-valve")
                   .replace("V1.a", "V1.hot-water").replace("V1.b", "V1.heating"))  # fmt: skip
    found = {s.name: s.positions["V1"] for s in op.of_sort("call", "all-calls")}
    assert found == {"hot water calls": "hot-water", "heating calls": "heating", "all calls": "both"}


def test_an_indoor_unit_has_a_hot_water_sensor_of_its_own():
    op = operation(
        "parts: heat-pump-indoor-unit H1; vented-cylinder C1; radiator R1; tee T1; room-thermostat X1 acts-on H1\n"
        "pipes: H1.heating-flow - R1.a; H1.hot-water-flow - C1.coil-in; R1.b - T1.a; C1.coil-out - T1.branch; "
        "T1.b - H1.return"
    )
    assert op.state("hot water calls").positions["H1"] == "hot-water"
    assert directions(op, "hot water calls", "H1.hot-water-flow→C1.coil-in", "H1.heating-flow→R1.a") == (1, 0)
    assert directions(op, "heating calls", "H1.hot-water-flow→C1.coil-in", "H1.heating-flow→R1.a") == (0, 1)


def test_states_that_the_user_names_stand_as_named():
    op = operation(
        "parts: heat-only-boiler B1; pump P1; radiator R1; zone-valve Z1\n"
        "pipes: B1.flow - P1.in; P1.out - Z1.in; Z1.out - R1.a; R1.b - B1.return\n"
        "state: frost = B1 off, P1 on, Z1 open"
    )
    state = op.states[0]
    assert (state.name, state.sort, state.pumps_on, state.sources_on) == ("frost", "named", ("P1",), ())
    assert state.positions["Z1"] == "open"
    assert directions(op, "frost", "Z1.out→R1.a") == (1,)


def test_twenty_zones_are_told_by_the_first_and_the_last_and_the_others_are_named():
    zones = range(1, 21)
    parts = "; ".join(f"zone-valve Z{n}; radiator R{n}; room-thermostat X{n} acts-on Z{n}, B1" for n in zones)
    pipes = "; ".join(f"F1.branch-{n} - Z{n}.in; Z{n}.out - R{n}.a; R{n}.b - G1.branch-{n}" for n in range(1, 9))
    text = "parts: system-boiler B1; header F1; header G1; {}\npipes: B1.flow - F1.end; {}; G1.end - B1.return"
    op = operation(text.format(parts, pipes))
    told = names(op, "call")
    assert told == ["heating calls: X1", "heating calls: X20"]
    ((name, alike),) = op.merged
    assert (name, alike) == ("heating calls: X1", tuple(f"heating calls: X{n}" for n in range(2, 20)))


def test_two_rooms_that_do_the_same_are_one_state():
    op = operate(read(EXAMPLES / "05_underfloor_with_mixing_set.json").network)
    assert names(op, "call", "all-calls") == ["heating calls: RT1 (Living room)"]
    assert op.states[0].alike == ("heating calls: RT2 (Bedroom)",)


def test_some_of_two_sources_are_states_on_demand_only():
    op = operation(CASCADE)
    assert names(op, "sources") == []
    assert [(s.name, s.sources_on) for s in op.source_states] == [("only B1 on", ("B1",)), ("only B2 on", ("B2",))]


def test_a_source_that_is_off_takes_the_pump_in_its_own_run_with_it():
    text = CASCADE.replace("system-boiler", "heat-only-boiler").replace("tee T1", "tee T1; pump P1; pump P2")
    text = text.replace("B1.flow - T1.a", "B1.flow - P1.in; P1.out - T1.a")
    op = operation(text.replace("B2.flow - T1.branch", "B2.flow - P2.in; P2.out - T1.branch"))
    assert [s.pumps_on for s in op.source_states] == [("P1",), ("P2",)]


STATES_OF_EXAMPLES = {
    "01_one_radiator_circuit.yaml": ["heating calls"],
    "02_two_zones_with_zone_valves": ["hot water calls", "heating calls", "all calls"],
    "03_heat_pump_buffer_cylinder.yaml": [
        "hot water calls", "heating calls", "hot-water circulation runs", "buffer calls", "all calls",
    ],
    "04_heat_pump_combined_casing.xlsx": [
        "hot water calls", "heating calls", "hot-water circulation runs", "buffer calls", "all calls",
    ],
    "06_twin_coil_solar.yaml": ["hot water calls", "heating calls", "solar charging", "all calls"],
    "07_thermal_store_solid_fuel.yaml": ["heating calls", "stove burns", "all calls"],
    "08_four_flats_on_risers.xlsx": [*(f"heating calls: RT{n} (Flat {n})" for n in range(1, 5)), "all calls"],
}  # fmt: skip
"""The calls that a practitioner would list for each example."""


@pytest.mark.parametrize("example", STATES_OF_EXAMPLES)
def test_an_example_has_the_calls_that_a_practitioner_would_list(example):
    op = operate(read(EXAMPLES / example).network)
    assert names(op, "call", "all-calls") == STATES_OF_EXAMPLES[example]


@pytest.mark.parametrize("example", STATES_OF_EXAMPLES)
def test_in_a_correct_example_no_source_stands_still_while_it_heats_and_every_part_works_in_some_state(example):
    network = read(EXAMPLES / example).network
    op = operate(network)
    for state in op.of_sort("call", "all-calls"):
        flow = op.flow(state)
        for tag in (*state.sources_on, *state.pumps_on):
            if gives := network.parts[tag].kind.gives:
                assert flow.part_moves(tag, gives), (state.name, tag)
            elif network.parts[tag].kind.driver:
                assert flow.part_moves(tag), (state.name, tag)
    for tag, part in network.parts.items():
        if part.kind.takes or part.kind.gives:
            assert any(op.flow(s).part_moves(tag) for s in op.states), tag


@pytest.mark.parametrize("example", STATES_OF_EXAMPLES)
def test_in_a_correct_example_water_runs_as_listed(example):
    network = read(EXAMPLES / example).network
    op = operate(network)
    for state in op.states:
        if state.sort != "filling":
            flow = op.flow(state)
            assert [p.name for p in network.pipes if flow.direction(p) < 0 and not flow.uncertain(p)] == [], state.name


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_state_names_are_unique_and_every_position_is_one_that_the_kind_has(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    assert len({s.name.casefold() for s in op.states}) == len(op.states)
    for state in (*op.states, *op.source_states):
        for tag, position in state.positions.items():
            assert position in network.parts[tag].kind.positions, (state.name, tag)


# flows by hand


def test_water_runs_round_a_loop_and_equal_branches_share_it_equally():
    op = operation(
        "parts: system-boiler B1; tee T1; tee T2; radiator R1; radiator R2\n"
        "pipes: B1.flow - T1.a; T1.b - R1.a; T1.branch - R2.a; R1.b - T2.a; R2.b - T2.branch; T2.b - B1.return"
    )
    flow = op.flow(op.state("heating calls"))
    main, one, two = (flow.amount(pipe(op.network, n)) for n in ("B1.flow→T1.a", "T1.b→R1.a", "T1.branch→R2.a"))
    assert one == pytest.approx(two) and main == pytest.approx(one + two) and one > LEAST


def test_flows_of_unequal_branches_are_as_worked_out_by_hand():
    """Between two tees: R1 alone (pipes 2, radiator 5, legs 2/3), and R2 with R3 in a row (pipes 3, radiators 10)."""
    op = operation(
        "parts: system-boiler B1; tee T1; tee T2; radiator R1; radiator R2; radiator R3\n"
        "pipes: B1.flow - T1.a; T1.b - R1.a; T1.branch - R2.a; R2.b - R3.a; R1.b - T2.a; R3.b - T2.branch; "
        "T2.b - B1.return"
    )
    flow = op.flow(op.state("heating calls"))
    one, two = (flow.amount(pipe(op.network, n)) for n in ("T1.b→R1.a", "T1.branch→R2.a"))
    assert one / two == pytest.approx((13 + 2 * TEE_LEG) / (7 + 2 * TEE_LEG))


def test_a_pipe_listed_the_other_way_round_changes_nothing_but_its_sign():
    text = (
        "parts: system-boiler B1; radiator R1; tee T1; tee T2; radiator R2\n"
        "pipes: B1.flow - T1.a; T1.b - R1.a; {}; T1.branch - R2.a; R2.b - T2.branch; T2.b - B1.return"
    )
    listed, turned = operation(text.format("R1.b - T2.a")), operation(text.format("T2.a - R1.b"))
    amounts = []
    for op in (listed, turned):
        flow = op.flow(op.state("heating calls"))
        amounts.append([flow.amount(p) * (-1 if p.start == PortId("T2", "a") else 1) for p in op.network.pipes])
    assert amounts[0] == pytest.approx(amounts[1])


def test_a_check_valve_against_the_pump_stops_the_loop():
    text = (
        "parts: heat-only-boiler B1; pump P1; check-valve K1; radiator R1\n"
        "pipes: B1.flow - P1.in; P1.out - K1.{}; K1.{} - R1.a; R1.b - B1.return"
    )
    right, wrong = operation(text.format("in", "out")), operation(text.format("out", "in"))
    assert directions(right, "heating calls", "R1.b→B1.return") == (1,)
    assert directions(wrong, "heating calls", "R1.b→B1.return") == (0,)


IDLE_ZONE = """
parts: heat-only-boiler B1; tee T1; tee T2; pump P1; pump P2; radiator R1; radiator R2{}
pipes: B1.flow - T1.a; T1.b - P1.in; T1.branch - P2.in; P1.out - R1.a; {}; R1.b - T2.a; R2.b - T2.branch; \
T2.b - B1.return
state: zone 1 = B1 on, P1 on, P2 off
"""


def test_water_runs_backwards_through_an_idle_pumped_branch_unless_a_check_valve_stops_it():
    free = operation(IDLE_ZONE.format("", "P2.out - R2.a"))
    held = operation(IDLE_ZONE.format("; check-valve K2", "P2.out - K2.in; K2.out - R2.a"))
    assert directions(free, "zone 1", "R2.b→T2.branch", "R1.b→T2.a") == (-1, 1)
    assert directions(held, "zone 1", "R2.b→T2.branch", "R1.b→T2.a") == (0, 1)


def test_the_way_through_a_buffer_across_flow_and_return_is_uncertain_and_nothing_else_is():
    op = operation(
        "parts: air-heat-pump H1; tee T1; tee T2; buffer-two-pipe U1; pump P1; radiator R1\n"
        "pipes: H1.flow - T1.a; T1.branch - U1.top; T1.b - P1.in; P1.out - R1.a; R1.b - T2.a; T2.branch - U1.bottom; "
        "T2.b - H1.return"
    )
    flow = op.flow(op.state("heating calls"))
    assert {p.name for p in op.network.pipes if flow.uncertain(p)} == {"T1.branch→U1.top", "T2.branch→U1.bottom"}
    assert flow.uncertain(Inside("U1", "top", "bottom"))


def test_a_separator_keeps_the_boiler_pump_from_driving_the_other_circuit():
    op = operation(
        "parts: system-boiler B1; low-loss-header L1; radiator R1\n"
        "pipes: B1.flow - L1.primary-flow; L1.primary-return - B1.return; L1.secondary-flow - R1.a; "
        "R1.b - L1.secondary-return"
    )
    assert directions(op, "heating calls", "B1.flow→L1.primary-flow", "L1.secondary-flow→R1.a") == (1, 0)


def test_a_bypass_valve_opens_only_where_the_pump_has_no_other_way():
    text = TWO_ZONES.replace("system-boiler B1", "system-boiler B1 overrun: yes; bypass-valve Q1; tee T3; tee T4")
    text = text.replace("B1.flow - T1.a", "B1.flow - T3.a; T3.b - T1.a; T3.branch - Q1.in; Q1.out - T4.branch")
    op = operation(text.replace("T2.b - B1.return", "T2.b - T4.a; T4.b - B1.return"))
    opened = [s.name for s in op.states if op.flow(s).open_bypasses]
    assert opened == ["all zones shut"]
    assert directions(op, "all zones shut", "Q1.out→T4.branch", "T4.b→B1.return") == (1, 1)


def test_a_stove_drives_its_water_by_gravity_and_power_does_not_matter():
    op = operation(
        "parts: solid-fuel-stove S1; heat-leak-radiator R1; open-vent-end O1; tee T1\n"
        "pipes: S1.flow - T1.a; T1.branch - O1.port; T1.b - R1.a; R1.b - S1.return"
    )
    for state in ("stove burns", "power off"):
        assert directions(op, state, "R1.b→S1.return", "T1.branch→O1.port") == (1, 0)
    assert directions(op, "no calls, power on", "R1.b→S1.return") == (0,)


def test_cold_water_runs_to_a_tap_only_while_it_is_open():
    op = operation(
        "parts: cold-main M1; tee T1; cold-outlet O1; cold-outlet O2\n"
        "pipes: M1.out - T1.a; T1.b - O1.in; T1.branch - O2.in"
    )
    assert directions(op, "tap open: O1", "M1.out→T1.a", "T1.b→O1.in", "T1.branch→O2.in") == (1, 1, 0)
    assert directions(op, "all taps open", "M1.out→T1.a", "T1.b→O1.in", "T1.branch→O2.in") == (1, 1, 1)
    assert directions(op, "no calls, power on", "M1.out→T1.a") == (0,)


def test_a_filling_loop_passes_water_in_the_filling_state_alone():
    op = operate(read(EXAMPLES / "01_one_radiator_circuit.yaml").network)
    loop = Inside("FL1", "supply-end", "system-end")
    assert [s.name for s in op.states if op.flow(s).moves(loop)] == ["filling"]


def test_only_the_flat_whose_tap_runs_draws_from_the_riser():
    op = operate(read(EXAMPLES / "08_four_flats_on_risers.xlsx").network)
    flow = op.flow(op.state("tap open: HO2 (Taps)"))
    through = [f"HU{n}" for n in range(1, 5) if flow.moves(Inside(f"HU{n}", "network-flow", "network-return"))]
    assert through == ["HU2"]


def test_sides_change_at_the_takers_and_at_the_ends_of_a_buffer():
    op = operate(read(EXAMPLES / "03_heat_pump_buffer_cylinder.yaml").network)
    sides = op.flow(op.state("all calls")).sides
    side = {p.name: sides.get(p.index) for p in op.network.pipes}
    assert (side["DV1.a→ST1.coil-in"], side["ST1.coil-out→T4.a"]) == ("flow", "return")
    assert (side["TV2.out→R2.a"], side["R2.b→LS2.a"]) == ("flow", "return")
    sides = op.flow(op.state("buffer calls")).sides
    side = {p.name: sides.get(p.index) for p in op.network.pipes}
    assert (side["T23.b→BU1.primary-flow"], side["BU1.primary-return→T24.a"]) == ("flow", "return")


def test_water_behind_a_mixing_set_is_mixed():
    op = operate(read(EXAMPLES / "05_underfloor_with_mixing_set.json").network)
    sides = op.flow(op.states[0]).sides
    mixed = [p.name for p in op.network.pipes if sides.get(p.index) == "mixed"]
    assert any(name.startswith("MS1.load-flow") for name in mixed)
    assert not any(name.startswith("MS1.source-return") for name in mixed)


# facts from graph theory


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_a_pipe_on_no_closed_way_never_moves(seed, size):
    network, _ = system(seed, size)
    simple = nx.Graph()
    inside = [
        (a, b) for a, b, edge in network.graph.edges(data=True) if edge["passage"] and edge["passage"].sort != "heat"
    ]
    for a, b in (*((p.start, p.end) for p in network.pipes), *inside):
        middle = ("edge", simple.number_of_edges())
        simple.add_edges_from([(a, middle), (middle, b)])
    still = {frozenset(edge) for edge in nx.bridges(simple)}
    lonely = [p for p in network.pipes if any(p.start in edge and ("edge", 2 * p.index) in edge for edge in still)]
    op = operate(network)
    assert lonely
    for state in op.states:
        flow = op.flow(state)
        assert [p.name for p in lonely if flow.moves(p)] == [] or state.sort == "filling"


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_what_enters_an_opening_leaves_it_and_what_enters_a_tee_leaves_it(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    for state in (*op.states, *op.source_states):
        flow = op.flow(state)
        gain = dict.fromkeys([OUT, *network.ports()], 0.0)
        for p in network.pipes:
            gain[p.start] -= flow.amount(p)
            gain[p.end] += flow.amount(p)
        for part in network.parts.values():
            ports = [PortId(part.tag, n) for n in part.kind.ports]
            if is_joint(part.kind):
                assert sum(gain[port] for port in ports) == pytest.approx(0, abs=1e-6)
                continue
            for a, b in {(p.a, p.b) for p in part.kind.passages}:
                amount = flow.amount(Inside(part.tag, a, b))
                for name, sign in ((a, -1), (b, 1)):
                    if name != OUTSIDE:
                        gain[PortId(part.tag, name)] += sign * amount
            if state.sort != "filling":
                assert [gain[p] for p in ports] == pytest.approx([0] * len(ports), abs=1e-6), (state.name, part.tag)


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_no_one_way_part_ever_runs_backwards_and_nothing_shut_runs_at_all(seed, size):
    network, _ = system(seed, size)
    op = operate(network)
    for state in op.states:
        flow = op.flow(state)
        for part in network.parts.values():
            here = {(p.a, p.b) for p in part.kind.passages}
            for a, b in here:
                alike = [p for p in part.kind.passages if (p.a, p.b) == (a, b)]
                position = state.positions.get(part.tag)
                is_open = [p for p in alike if not p.positions or position is None or position in p.positions]
                if not is_open:
                    assert not flow.moves(Inside(part.tag, a, b)), (state.name, part.tag)
                elif all(p.sort == "one-way" for p in is_open):
                    assert flow.direction(Inside(part.tag, a, b)) >= 0, (state.name, part.tag)


# against brute force


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_branches_give_the_flows_that_the_whole_network_gives(seed, size):
    """The links as they are, dead ends and all, solved at once, against the reduced network that is solved in parts."""
    network, _ = system(seed, size)
    solver = Solver(network)
    circuit = solver.circuit
    links = circuit.links
    a, b = (np.array([getattr(link, end) for link in links]) for end in "ab")
    carried = [solver.carried[n] if n >= 0 else 1.0 for n in circuit.branch]
    resistance = np.array([link.resistance for link in links]) / np.square(carried)
    for state in operate(network).of_sort("call", "all-calls", "tap-open"):
        is_open, head, forward, backward = _link_by_link(circuit, state)
        flow = solver.flow(state)
        if flow.open_bypasses:
            continue
        whole = np.array(balance(a, b, circuit.count, resistance, head, is_open, forward, backward).flow)
        parts = np.array([flow.amount(_edge(network, link)) for link in links])
        for body in circuit.bodies:
            mine = np.isin(circuit.branch, body.branches)
            unit = np.abs(whole[mine]).max()
            most = np.abs(parts[mine]).max()
            if unit < 1e-9:
                assert most == 0
            else:
                assert parts[mine] / most == pytest.approx(whole[mine] / unit, abs=1e-6), state.name


def _edge(network, link):
    if link.pipe >= 0:
        return network.pipes[link.pipe]
    return Inside(link.tag, link.passages[0].a, link.passages[0].b)


def _link_by_link(circuit: Circuit, state):
    links = circuit.links
    drawn = frozenset(state.outlets_open)
    ways = [circuit.open_passages(link, state, drawn) if link.passages else [None] for link in links]
    is_open = np.array([bool(w) and link.role != "bypass" for w, link in zip(ways, links, strict=True)])
    head = np.array([circuit.head(link, state) if link.tag else 0.0 for link in links])
    one_way = np.array([bool(w) and w[0] is not None and all(p.sort == "one-way" for p in w) for w in ways])
    return is_open, head, np.ones(len(links), bool), ~one_way


@pytest.mark.parametrize("seed", range(40))
def test_one_way_branches_settle_where_trying_every_choice_settles(seed):
    rng = np.random.default_rng(seed)
    points, branches, one_way = 6, 11, 6
    a, b = np.array([rng.choice(points, 2, replace=False) for _ in range(branches)]).T
    resistance = rng.uniform(0.5, 5.0, branches)
    head = np.where(rng.random(branches) < 0.3, rng.uniform(0.5, 1.0, branches), 0.0)
    backward = np.arange(branches) >= one_way
    forward, is_open = np.ones(branches, bool), np.ones(branches, bool)
    found = balance(a, b, points, resistance, head, is_open, forward, backward).flow
    for choice in product((True, False), repeat=one_way):
        now = np.array([*choice, *[True] * (branches - one_way)])
        flow, heads = map(np.array, linear_flow(a, b, points, resistance, head, now))
        push = heads[a] - heads[b] + head
        if (flow[:one_way] >= -1e-9).all() and (push[:one_way][~now[:one_way]] <= 1e-9).all():
            assert found == pytest.approx(np.where(np.abs(flow) < 1e-9, 0, flow), abs=1e-8)
            return
    pytest.fail("no choice of one-way branches fits")


@pytest.mark.parametrize("seed", range(20))
def test_flows_are_those_of_least_squares_on_the_whole_system_of_equations(seed):
    rng = np.random.default_rng(seed)
    points, branches = 12, 20
    a, b = rng.integers(0, points, (2, branches))
    resistance, head = rng.uniform(0.1, 10.0, branches), rng.normal(size=branches)
    flow, _ = linear_flow(a, b, points, resistance, head, np.ones(branches, bool))
    incidence = np.zeros((points, branches))
    np.add.at(incidence, (a, np.arange(branches)), -1.0)
    np.add.at(incidence, (b, np.arange(branches)), 1.0)
    whole = np.block([[np.diag(resistance), incidence.T], [incidence, np.zeros((points, points))]])
    wanted = np.linalg.lstsq(whole, np.concatenate([head, np.zeros(points)]), rcond=None)[0][:branches]
    assert flow == pytest.approx(wanted, abs=1e-9)


# any list


@pytest.mark.parametrize("seed", range(30))
def test_networks_with_pipes_left_out_crossed_and_turned_have_states_and_flows_too(seed):
    network, _ = system(seed, 60)
    rng = np.random.default_rng(seed)
    pipes = list(network.pipes)
    for _ in range(6):
        i, j = rng.choice(len(pipes), 2, replace=False)
        pipes[i], pipes[j] = replace(pipes[i], end=pipes[j].end), replace(pipes[j], end=pipes[i].end)
        turned = int(rng.integers(len(pipes)))
        pipes[turned] = replace(pipes[turned], start=pipes[turned].end, end=pipes[turned].start)
        del pipes[int(rng.integers(len(pipes)))]
    faulty = replace(network, pipes=tuple(replace(p, index=i) for i, p in enumerate(pipes)))
    op = operate(faulty)
    for state in (*op.states, *op.source_states):
        amounts = [op.flow(state).amount(p) for p in faulty.pipes]
        assert np.isfinite(amounts).all()
        assert set(op.flow(state).sides) <= {p.index for p in faulty.pipes if op.flow(state).moves(p)}


# the door


def test_a_state_changed_by_hand_has_a_flow_of_its_own():
    op = operation(TWO_ZONES)
    state = op.state("heating calls: X1 (Hall)")
    shut = replace(state, positions={**state.positions, "Z1": "shut"})
    assert op.flow(state).moves(pipe(op.network, "Z1.out→R1.a"))
    assert not op.flow(shut).moves(pipe(op.network, "Z1.out→R1.a"))


def test_an_unknown_state_is_a_key_error():
    with pytest.raises(KeyError):
        operation(CASCADE).state("holiday")


def test_the_same_list_gives_the_same_flows_to_the_last_bit():
    first, second = (operate(system(4, 90)[0]) for _ in range(2))
    for state in first.states:
        assert [first.flow(state).amount(p) for p in first.network.pipes] == [
            second.flow(state).amount(p) for p in second.network.pipes
        ]


# many alike


def _zones(count):
    """A boiler and as many zones, each with its valve and thermostat, on tees in a row."""
    parts = ["system-boiler B1", *(f"tee T{n}; tee U{n}" for n in range(1, count + 1))]
    pipes = ["B1.flow - T1.a", "U1.a - B1.return"]
    for n in range(1, count + 1):
        parts.append(f"zone-valve Z{n}; heating-zone H{n}; room-thermostat A{n} switches: Z{n}, B1")
        pipes.append(f"T{n}.branch - Z{n}.in; Z{n}.out - H{n}.in; H{n}.out - U{n}.branch")
        pipes.append(f"T{n}.b - T{n + 1}.a; U{n + 1}.a - U{n}.b" if n < count else f"T{n}.b - U{n}.b")
    return built(f"parts: {'; '.join(parts)}\npipes: {'; '.join(pipes)}").network


@pytest.mark.parametrize("merged", (2, 7, 19))
def test_a_state_that_was_merged_moves_water_as_the_one_that_stands_for_it(merged):
    network = _zones(20)
    op = operate(network)
    told = op.state("heating calls: A1")
    positions = {**told.positions, "Z1": "shut", f"Z{merged}": "open"}
    other = op.flow(replace(told, name="other", positions=positions))
    moving = [t for t, p in network.parts.items() if p.kind.name != "tee" and other.part_moves(t)]
    assert sorted(moving) == sorted(["B1", f"Z{merged}", f"H{merged}"])
    assert {t for t, p in network.parts.items() if p.kind.name != "tee" and op.flow(told).part_moves(t)} == {
        "B1", "Z1", "H1",
    }  # fmt: skip
