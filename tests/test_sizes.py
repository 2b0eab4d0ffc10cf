"""What the figures of a list promise: hand-worked values, flows and heat that balance, gaps that are named."""

import csv
import io
import json
import math
import re
import subprocess
import sys
from dataclasses import replace
from functools import cache
from pathlib import Path

import networkx as nx
import numpy as np
import pytest
from fragments import built
from hypothesis import given, settings
from hypothesis import strategies as st
from systems import system

from schemagen.network.waters import find_waters
from schemagen.operation.operate import operate
from schemagen.pipeline import read
from schemagen.sheets import sizes_text
from schemagen.sizing.carry import carry, total
from schemagen.sizing.design import Design
from schemagen.sizing.figure import SHOWN_AS, Figure
from schemagen.sizing.flow import flow_for_heat
from schemagen.sizing.known import Known, attempt, work
from schemagen.sizing.of_flows import states
from schemagen.sizing.plant import Plant
from schemagen.sizing.size import size
from schemagen.sizing.sizes import TOPICS
from schemagen.sizing.warm import Stream, warm
from schemagen.sizing.water import water
from schemagen.sizing.ways import is_emitter

ROOT = Path(__file__).resolve().parent.parent
EXAMPLES = sorted((ROOT / "examples").glob("[0-9]*"))


def plant_of(network):
    return Plant(network, find_waters(network), operate(network))


@cache
def sizes(text):
    network = built(text).network
    return size(network, find_waters(network), operate(network))


@cache
def example(path):
    return read(path)


def figure(text, topic, subject, name, state=None):
    found = list(sizes(text).of(topic, subject, name, state))
    assert found, [(s.topic, s.subject, s.figure.name, s.state) for s in sizes(text).sizes]
    return found[0].figure


# a heat pump of 8 kW with a zone of 4 kW and one of 2 kW: 45 °C to 40 °C, mean 42.5 °C

TWO_ZONES = """
parts: air-heat-pump H1 output: 8 kW flow-temperature: 45 °C temperature-difference: 5 K
    min-flow: 12 L/min max-flow: 60 °C;
    tee T1; tee T2; zone-valve Z1; zone-valve Z2; heating-zone A1 output: 4 kW; heating-zone A2 output: 2 kW;
    room-thermostat RT1 switches: Z1, H1; room-thermostat RT2 switches: Z2, H1
pipes: H1.flow - T1.a 28 mm; T1.b - Z1.in 22 mm; Z1.out - A1.in 22 mm; A1.out - T2.a 22 mm; T1.branch - Z2.in 15 mm;
    Z2.out - A2.in 15 mm; A2.out - T2.branch 15 mm; T2.b - H1.return 28 mm
"""
HEAT = 991.278 * 4179.56
"""Density times heat of water at 42.5 °C, kg/m³ · J/(kg·K), from IAPWS-95."""


def test_the_flow_of_a_zone_carries_its_heat():
    # 4000 W / (991.278 · 4179.56 · 5 K) = 1.9309e-4 m³/s = 11.585 l/min
    assert figure(TWO_ZONES, "flow", "A1", "flow that carries the heat").value == pytest.approx(
        4000 / (HEAT * 5), rel=1e-5
    )
    assert figure(TWO_ZONES, "flow", "A1", "flow that carries the heat").shown() == pytest.approx(11.585, abs=2e-3)


def test_the_common_pipe_carries_what_both_zones_want():
    # 6000 W / (HEAT · 5 K) = 17.378 l/min, and in the state of one zone that zone's alone
    both = figure(TWO_ZONES, "flow", "H1.flow→T1.a", "carried flow", "all calls")
    assert both.shown() == pytest.approx(6e4 * 6000 / (HEAT * 5), rel=1e-5)
    assert both.formula == "A1 + A2"
    one = figure(TWO_ZONES, "flow", "H1.flow→T1.a", "carried flow", "heating calls: RT2")
    assert one.shown() == pytest.approx(6e4 * 2000 / (HEAT * 5), rel=1e-5)


def test_velocity_is_reckoned_with_the_bore_and_the_copper_is_an_assumption():
    # 28 × 0.9 copper: bore 26.2 mm, area π/4·0.0262² = 5.3913e-4 m²; 2.8963e-4 m³/s over that: 0.5372 m/s
    velocity = figure(TWO_ZONES, "pipe", "H1.flow→T1.a", "velocity")
    assert velocity.value == pytest.approx(6000 / (HEAT * 5) / (math.pi / 4 * 0.0262**2), rel=1e-5)
    assert any("28 mm is copper pipe, bore 26.2 mm" in text for text in velocity.assumptions)


def test_loss_per_metre_agrees_with_an_independent_library():
    fluids = pytest.importorskip("fluids")
    loss = figure(TWO_ZONES, "pipe", "H1.flow→T1.a", "pressure loss per metre")
    q, fluid = 6000 / (HEAT * 5), water(42.5)
    oracle = fluids.one_phase_dP(q * fluid.density_kgm3, fluid.density_kgm3, fluid.viscosity_pas, 0.0262, 1.5e-6, L=1.0)
    assert loss.value == pytest.approx(oracle, rel=1e-3)


def test_too_much_water_in_a_thin_pipe_is_flagged():
    thin = TWO_ZONES.replace("H1.flow - T1.a 28 mm", "H1.flow - T1.a 15 mm")
    # 2.8963e-4 m³/s in a bore of 13.6 mm: 1.994 m/s, above 1 m/s
    velocity = figure(thin, "pipe", "H1.flow→T1.a", "velocity")
    assert velocity.value == pytest.approx(1.9938, rel=1e-3)
    assert any("above 1 m/s" in flag for flag in velocity.flags)


def test_least_source_flow_is_held_against_every_combination_of_zones():
    # both zones 17.38 l/min, A1 alone 11.59 (short of 12 by 3.5 %), A2 alone 5.79
    shown = {
        s.state: s.figure
        for s in sizes(TWO_ZONES).of("source", "H1", "least source flow")
        if s.state.startswith("open")
    }
    assert [f"{f.shown():.2f}" for f in shown.values()] == ["17.38", "11.59", "5.79"]
    assert not shown["open: Z1, Z2"].flags
    assert "short of the source's least flow by 3.5 %" in shown["open: Z1"].flags[0]


def test_the_bypass_must_pass_all_of_the_least_flow_where_every_zone_can_close():
    assert figure(TWO_ZONES, "source", "H1", "bypass flow").shown() == pytest.approx(12.0)


def test_a_source_whose_least_flow_is_not_listed_makes_a_figure_that_needs_it():
    unknown = TWO_ZONES.replace("min-flow: 12 L/min ", "")
    assert figure(unknown, "source", "H1", "least source flow").text == "not available, needs min-flow of H1"


def test_the_source_gives_what_the_zones_take():
    assert figure(TWO_ZONES, "source", "H1", "heat that the flow carries", "all calls").value == pytest.approx(
        6000, rel=1e-9
    )
    assert figure(TWO_ZONES, "temperature", "H1.return", "temperature", "all calls").value == pytest.approx(40.0)


def test_a_zone_without_output_leaves_its_flow_open_and_names_what_is_missing():
    gap = TWO_ZONES.replace("heating-zone A2 output: 2 kW", "heating-zone A2")
    assert figure(gap, "flow", "A2", "flow that carries the heat").text == "not available, needs output of A2"
    common = figure(gap, "flow", "H1.flow→T1.a", "carried flow", "all calls")
    assert common.value is None and common.needs == ("output of A2",)
    branch = figure(gap, "flow", "T1.b→A1.in", "carried flow", "all calls")
    assert branch.shown() == pytest.approx(6e4 * 4000 / (HEAT * 5), rel=1e-5)


def test_every_figure_with_a_default_says_what_was_assumed():
    bare = TWO_ZONES.replace("temperature-difference: 5 K", "")
    flow = figure(bare, "flow", "A1", "flow that carries the heat")
    assert "difference of 5 K at H1, a heat pump (common practice, no source)" in flow.assumptions
    assert set(flow.assumptions) <= set(sizes(bare).assumptions)


# a buffer between: primary by the source, secondary by the loads

BUFFER = """
parts: air-heat-pump H1 output: 6 kW flow-temperature: 45 °C temperature-difference: 5 K
    min-output: 2.5 kW defrost-heat: 0.5;
    buffer-four-pipe B1 volume: 50 L; pump P1; heating-zone A1 output: 2.8 kW; room-thermostat RT1 switches: P1, H1
pipes: H1.flow - B1.primary-flow 28 mm; B1.primary-return - H1.return 28 mm; B1.secondary-flow - P1.in 22 mm;
    P1.out - A1.in 22 mm; A1.out - B1.secondary-return 22 mm
"""


def test_behind_a_buffer_the_source_runs_at_its_own_flow_and_the_return_is_mixed():
    # primary 6 kW at 5 K, secondary 2.8 kW at 5 K with 40 °C back: return (2.8·40 + 3.2·45)/6 = 42.6667 °C
    state = "heating calls"
    assert figure(BUFFER, "flow", "H1.flow→B1.primary-flow", "carried flow", state).shown() == pytest.approx(
        6e4 * 6000 / (HEAT * 5), rel=1e-5
    )
    assert figure(BUFFER, "temperature", "H1.return", "temperature", state).value == pytest.approx(42.66667, abs=1e-4)
    assert figure(BUFFER, "temperature", "B1", "return to the source", state).value == pytest.approx(42.66667, abs=1e-4)
    assert figure(BUFFER, "source", "H1", "heat that the flow carries", state).value == pytest.approx(2800, rel=1e-9)


def test_a_secondary_flow_above_the_primary_degrades_the_supply():
    fast = BUFFER.replace("output: 6 kW", "output: 3 kW").replace("output: 2.8 kW", "output: 4 kW")
    supply = figure(fast, "temperature", "B1", "supply from the header", "heating calls")
    assert supply.value < 45 and "supply degraded" in supply.flags[0]


def test_run_time_and_defrost_ask_for_a_buffer():
    # 2500 W · 360 s / (HEAT · 5 K) = 43.45 l; 0.5 kWh = 1.8 MJ over 8 K: 54.31 l, more than the 50 l listed
    assert figure(BUFFER, "buffer", "H1", "volume for run time").shown() == pytest.approx(
        1e3 * 2500 * 360 / (HEAT * 5), rel=1e-5
    )
    needed = figure(BUFFER, "buffer", "H1", "needed buffer")
    assert needed.shown() == pytest.approx(1e3 * 1.8e6 / (HEAT * 8), rel=1e-5)
    assert figure(BUFFER, "buffer", "B1", "buffer").flags == ("smaller than the 54.3 L needed",)


# content and vessel, all lengths known

SEALED = """
parts: system-boiler K1 output: 12 kW flow-temperature: 70 °C volume: 3 L relief-setting: 3 bar;
    heating-zone A1 output: 8 kW volume: 40 L; tee T1; expansion-vessel E1 volume: 12 L pre-charge: 1 bar
pipes: K1.flow - A1.in 22 mm; A1.out - T1.a 22 mm; T1.b - K1.return 22 mm; T1.branch - E1.port 15 mm
"""


def with_lengths(text, metres):
    """The fragment's network with that length for every pipe."""
    network = built(text).network
    pipes = tuple(replace(p, values={**p.values, "length": metres}) for p in network.pipes)
    return replace(network, pipes=pipes)


def sized(network):
    return size(network, find_waters(network), operate(network))


def test_content_and_vessel_by_hand():
    # three pipes of 10 m 22×0.9: 3·3.2047 l = 9.614 l; with 3 l and 40 l: 52.614 l; the vessel's own pipe stands still
    found = sized(with_lengths(SEALED, 10.0))
    content = next(found.of("content", "", "system content")).figure
    assert content.shown() == pytest.approx(52.614, abs=2e-3)
    # 10 to 90 °C: 999.75/965.35 − 1 = 3.563 %: 1.8748 l; reserve 3 l; (1.8748 + 3)·3.5/(2.5 − 1.0) = 11.37 l
    vessel = next(found.of("expansion", "E1", "heating expansion vessel")).figure
    assert vessel.shown() == pytest.approx(11.37, abs=0.02)
    assert not vessel.flags
    # filled to 12·2/(12 − 3) − 1 = 1.6667 bar; hot 12·2/(12 − 3 − 1.8748) − 1 = 2.3684 bar, below 2.5
    assert next(found.of("expansion", "E1", "least fill pressure")).figure.shown() == pytest.approx(1.66667, abs=1e-4)
    assert next(found.of("expansion", "E1", "hot pressure")).figure.shown() == pytest.approx(2.3684, abs=3e-3)


def test_a_vessel_that_is_too_small_is_flagged():
    found = sized(with_lengths(SEALED.replace("volume: 12 L", "volume: 8 L"), 10.0))
    assert "smaller than" in next(found.of("expansion", "E1", "heating expansion vessel")).figure.flags[0]


def test_without_lengths_the_content_is_not_guessed_but_estimated_in_plain_sight():
    content = figure(SEALED, "content", "heating water at K1", "system content")
    assert content.value is None and content.needs[0] == "length of K1.flow→A1.in"
    rough = figure(SEALED, "content", "heating water at K1", "system content, estimated")
    assert rough.shown() == pytest.approx(88.0) and rough.flags  # 8 kW · 11 l/kW
    assert (
        "system content estimated from the load"
        in figure(SEALED, "expansion", "E1", "heating expansion vessel").assumptions
    )


def test_the_relief_valve_carries_off_all_that_the_boiler_gives():
    # 12 kW at 3 bar gauge: 12·1.6874 kg/h = 20.25 kg/h
    assert figure(SEALED, "relief", "heating water at K1", "steam to be relieved").shown() == pytest.approx(
        20.25, abs=0.02
    )


# pump duty on the index circuit and balancing, by hand

INDEX = """
parts: heat-only-boiler K1 output: 10 kW flow-temperature: 70 °C temperature-difference: 20 K kv: 4;
    pump P1; tee T1; tee T2;
    heating-zone A1 output: 6 kW kv: 0.5; heating-zone A2 output: 3 kW kv: 2; balancing-valve V1; balancing-valve V2
pipes: K1.flow - P1.in 22 mm; P1.out - T1.a 22 mm; T1.b - A1.in 22 mm; A1.out - V1.a 22 mm; V1.b - T2.a 22 mm;
    T1.branch - A2.in 15 mm; A2.out - V2.a 15 mm; V2.b - T2.branch 15 mm; T2.b - K1.return 22 mm
"""


def test_pump_duty_is_the_loss_of_the_index_circuit_and_balancing_takes_up_the_rest():
    found = sized(with_lengths(INDEX, 5.0))
    duty = next(found.of("pump", "P1", "pump duty, pressure")).figure
    assert duty.notes == ("index circuit: A1",)
    q1, q2 = (next(found.of("flow", tag, "flow that carries the heat")).figure.value for tag in ("A1", "A2"))
    # valves: 100 kPa·(3600 q/Kv)² of water of 1000 kg/m³, here of 983.2 kg/m³
    valves = 1e5 * water(60).density_kgm3 / 1000 * ((3600 * q1 / 0.5) ** 2 + (3600 * (q1 + q2) / 4) ** 2)
    pipes = sum(given for given in _pipe_losses(q1, q1 + q2))
    assert duty.value == pytest.approx(valves + pipes, rel=2e-3)
    valve = next(found.of("balancing", "V2", "balancing valve")).figure
    index, branch = (dict((g.symbol, g.value) for g in valve.inputs)[s] for s in ("Δpi", "Δpb"))
    assert index == pytest.approx(duty.value)
    assert valve.value == pytest.approx(
        3600 * q2 * math.sqrt(water(60).density_kgm3 / 1000 * 1e5 / (index - branch)), rel=1e-9
    )


def _pipe_losses(q1, q):
    """The pipes on the way of A1, 5 m each: friction by an independent library; tees K 0.4 where the run enters."""
    fluids = pytest.importorskip("fluids")
    fluid = water(60)
    for flow, k in ((q, 0), (q, 0.4), (q1, 0), (q1, 0), (q1, 0.4), (q, 0)):
        v = flow / (math.pi / 4 * 0.0202**2)
        friction = fluids.one_phase_dP(
            flow * fluid.density_kgm3, fluid.density_kgm3, fluid.viscosity_pas, 0.0202, 1.5e-6, L=5
        )
        yield friction + k * fluid.density_kgm3 * v**2 / 2


def test_without_lengths_the_pump_duty_names_them():
    duty = figure(INDEX, "pump", "P1", "pump duty, pressure")
    assert duty.value is None and duty.needs[0] == "length of K1.flow→P1.in"


# hot water

STORE = """
parts: air-heat-pump H1 output: 6.5 kW flow-temperature: 45 °C max-flow: 55 °C flow: 18 L/min;
    indirect-unvented-cylinder C1 volume: 210 L setting: 50 °C coil-conductance: 900;
    immersion-heater I1 on C1 power: 3 kW; hot-outlet O1 draw-off: 6 l/min; cold-main M1;
    cylinder-thermostat CT1 on C1 setting: 50 °C switches: H1
pipes: H1.flow - C1.coil-in 28 mm; C1.coil-out - H1.return 28 mm; M1.out - C1.cold-in 22 mm; C1.hot-out - O1.in 15 mm
"""


def test_the_coil_passes_what_the_heat_pumps_highest_flow_allows():
    # mean of 45 and 40 °C: 0.3 l/s · HEAT = C; ε = 1 − exp(−900/C); Q = ε·C·(55 − 50)
    capacity = 0.3e-3 * HEAT
    expected = (1 - math.exp(-900 / capacity)) * capacity * 5
    coil = figure(STORE, "hot-water", "C1", "heat through the coil")
    assert coil.value == pytest.approx(expected, rel=1e-4)
    assert "less than 15 K over the store" in coil.flags[0]


def test_reheat_and_usable_hot_water_by_hand():
    # immersion: ρ·cp at 30 °C = 4.1616e6 J/(m³K): 0.21 m³ · 40 K / 3 kW = 11652 s = 194.2 min
    assert figure(STORE, "hot-water", "C1", "reheat time, constant power").shown() == pytest.approx(194.2, abs=0.1)
    # V·(50 − 10)/(40 − 10) = 280 l
    assert figure(STORE, "hot-water", "C1", "usable hot water, ideal").shown() == pytest.approx(280.0)


def test_a_dead_leg_of_nine_metres_of_15_mm_by_hand():
    # π/4·0.0136²·9 = 1.3074 l; at 6 l/min 13.07 s, and 18 % more for the copper: 15.43 s
    found = sized(with_lengths(STORE, 9.0))
    assert next(found.of("hot-water", "O1", "dead leg")).figure.shown() == pytest.approx(1.3074, abs=1e-4)
    assert next(found.of("hot-water", "O1", "wait for hot water")).figure.value == pytest.approx(15.43, abs=0.01)


def test_a_store_at_50_degrees_is_flagged_and_cold_water_of_unknown_temperature_is_not_called_cold():
    store = figure(STORE, "hygiene", "C1", "store")
    assert "below 60 °C" in store.flags[0]
    cold = figure(STORE, "hygiene", "M1", "cold")
    assert cold.value is None and cold.needs == ("cold temperature",)


def test_a_store_hotter_than_its_source_can_make_it_says_so():
    hot = STORE.replace("setting: 50 °C coil", "setting: 60 °C coil")
    reheat = figure(hot, "hot-water", "C1", "reheat time by coil")
    assert reheat.value is None and "never reached with a flow of 55 °C" in reheat.flags[0]


# continuity and heat in any system


@pytest.mark.parametrize("seed", range(12))
def test_flows_balance_at_every_point_and_heat_over_every_source_of_a_seeded_system(seed):
    network, _ = system(seed, 10 + 6 * seed)
    _balances(Design(plant_of(network)))


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_flows_balance_at_every_tee_of_an_example(path):
    job = example(path)
    _balances(Design(Plant(job.network, job.waters, job.operation)))


def _balances(design):
    for state in states(design):
        left: dict[int, float | None] = {}
        for w, way in enumerate(state.ways):
            flow = state.flow(w)
            for point, sign in ((way.start, -1), (way.end, 1)):
                known = left.get(point, 0.0)
                left[point] = None if flow is None or known is None else known + sign * flow
        for point, rest in left.items():
            if rest is not None and point != design.graph.point["outside"]:
                assert rest == pytest.approx(0.0, abs=1e-12), (state.state.name, point)
        _heat_balances(design, state)


def _heat_balances(design, state):
    """Where every pipe of a body has flow and temperature, what sources give is what takers take."""
    gain: dict[int, float | None] = {}
    for w, way in enumerate(state.ways):
        part = design.network.parts.get(way.tag)
        if part is None or way.body is None or not (is_emitter(part) or way.tag in state.state.sources_on):
            continue
        ends = [state.temperature_c.get(p) for p in (way.start, way.end)]
        flow = state.flow(w)
        known = gain.get(way.body, 0.0)
        gain[way.body] = None if None in (*ends, flow, known) else known + flow * (ends[1] - ends[0])
    stores = any(
        p.kind.store or p.kind.name in ("mixing-set", "low-loss-header") for p in design.network.parts.values()
    )
    for body, rest in gain.items():
        running = {s.tag for s in design.plant.sources(body)} & set(state.state.sources_on)
        if rest is not None and running and not stores:
            assert rest == pytest.approx(0.0, abs=1e-9)


# carrying flows, against brute force


@settings(deadline=None)
@given(st.integers(3, 8), st.randoms(use_true_random=False))
def test_continuity_settles_exactly_the_flows_that_linear_algebra_settles(points, rng):
    ways = [tuple(rng.sample(range(points), 2)) for _ in range(rng.randint(points - 1, points + 3))]
    g = nx.MultiGraph(ways)
    true = {w: 0.0 for w in range(len(ways))}
    for cycle in nx.cycle_basis(nx.Graph(g)):
        amount = rng.randint(1, 9)
        for a, b in zip(cycle, [*cycle[1:], cycle[0]], strict=True):
            w = next(i for i, way in enumerate(ways) if set(way) == {a, b})
            true[w] += amount if ways[w] == (a, b) else -amount
    known = {w: true[w] for w in range(len(ways)) if rng.random() < 0.4}
    carried = carry(points, ways, known)
    unknown = [w for w in range(len(ways)) if w not in known]
    matrix = np.zeros((points, len(unknown)))
    for column, w in enumerate(unknown):
        matrix[ways[w][0], column] -= 1
        matrix[ways[w][1], column] += 1
    free = np.diag(np.eye(len(unknown)) - np.linalg.pinv(matrix) @ matrix)
    assert {w for w in unknown if w in carried.shares} == {w for w, f in zip(unknown, free, strict=True) if f < 1e-9}
    for w, shares in carried.shares.items():
        assert total(shares, known) == pytest.approx(true[w], abs=1e-9)


def test_loads_in_series_that_want_different_flows_are_left_open():
    # 0 →(1.0) 1 → 2 →(2.0) 0: the pipe from 1 to 2 cannot carry both
    carried = carry(3, [(0, 1), (1, 2), (2, 0)], {0: 1.0, 2: 2.0})
    assert carried.open == {1: "the flows wanted along it do not agree"}


def test_temperatures_mix_by_flow_and_water_from_nowhere_has_none():
    # 1 part of 60 °C and 3 parts of 20 °C: 30 °C; behind a drop of 5 K: 25 °C
    at = warm([Stream(0, 2, 1.0), Stream(1, 2, 3.0), Stream(2, 3, None, 5.0), Stream(9, 4, 1.0)], {0: 60.0, 1: 20.0})
    assert at[2] == pytest.approx(30.0) and at[3] == pytest.approx(25.0) and 4 not in at


# values, needs and units


def test_missing_and_useless_inputs_become_needs():
    missing = work(flow_for_heat, Known(needs=("output of R1",)), 5.0, water(40))
    assert missing.text == "not available, needs output of R1"
    useless = work(flow_for_heat, 1000.0, 0.0, water(40))
    assert useless.value is None and useless.flags == ("temperature difference must be above zero, not 0",)
    assert attempt(water, 200.0).needs == ("temperature must lie within 0 and 110 °C for water, not 200 °C",)


@settings(deadline=None)
@given(st.floats(1e-9, 1e6))
def test_units_that_are_shown_come_back_to_the_same_value(value):
    for unit, others in SHOWN_AS.items():
        for shown, factor in others.items():
            assert Figure("x", value, unit, shown).shown() / factor == pytest.approx(value, rel=1e-12)


# the examples, and what is printed


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_every_example_gives_figures_with_units_sources_and_assumptions(path):
    found = example(path).sizes
    assert {s.topic for s in found.sizes} <= set(TOPICS)
    known = [s.figure for s in found.sizes if s.figure.value is not None]
    assert len(known) > 10 and found.assumptions
    for s in found.sizes:
        assert s.figure.name and s.subject
        assert (s.figure.value is None) == bool(s.figure.needs), s
        assert s.figure.value is None or math.isfinite(s.figure.value)
    text = sizes_text.as_text(found)
    assert all(assumption.split()[0] in text for assumption in found.assumptions)


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_what_is_read_has_three_figures_a_capital_litre_and_one_unit_of_power_by_its_size(path):
    texts = [t for s in example(path).sizes.sizes for t in (s.figure.text, *s.figure.flags, *s.figure.notes)]
    for text in texts:
        assert not re.search(r"\bl(/|\b)", text), text
        for number, unit in re.findall(r"(?<![\w.])(\d+(?:\.\d+)?) (L|L/min|kW|W|°C|K|bar|kPa|Pa/m|m/s|m|mm)\b", text):
            assert len(number.replace(".", "").strip("0")) <= 3, text
            assert unit != "W" or float(number) < 1000, text
            assert unit != "kW" or float(number) >= 1, text


@pytest.mark.parametrize("path", EXAMPLES, ids=lambda p: p.name)
def test_all_forms_hold_the_same_figures(path):
    job = example(path)
    document = json.loads(json.dumps(sizes_text.as_json(path.name, job.network, job.sizes)))
    rows = list(csv.DictReader(io.StringIO(sizes_text.as_csv(job.sizes))))
    assert len(rows) == len(document["sizes"]) == len(job.sizes.sizes)
    for row, said in zip(rows, document["sizes"], strict=True):
        assert (row["figure"], row["unit"]) == (said["figure"], said["unit"])
        assert (float(row["value"]) if row["value"] else None) == said["value"]


def command(*arguments):
    return subprocess.run(
        [sys.executable, "-m", "schemagen", *arguments], cwd=ROOT, capture_output=True, text=True, timeout=120
    )


def test_why_prints_formula_numbers_assumptions_and_source():
    result = command("sizes", "examples/03_heat_pump_buffer_cylinder.yaml", "--why", "EV1")
    assert result.returncode == 0
    assert "(Ve + Vr)·(pe + 100000)/(pe − p0) = (" in result.stdout
    assert "assumed: system content estimated from the load" in result.stdout
    assert "source: EN 12828" in result.stdout


def test_why_about_nothing_is_refused_with_a_hint():
    result = command("sizes", "examples/01_one_radiator_circuit.yaml", "--why", "XX9")
    assert result.returncode == 2 and "no figure for 'XX9'" in result.stderr


def test_drawing_and_checking_do_not_work_out_figures():
    code = "import sys, schemagen.pipeline; print('schemagen.sizing.size' in sys.modules)"
    result = subprocess.run([sys.executable, "-c", code], cwd=ROOT, capture_output=True, text=True, check=True)
    assert result.stdout.strip() == "False"


def test_the_verb_shows_an_example():
    assert "Example: schemagen sizes" in " ".join(command("sizes", "--help").stdout.split())
