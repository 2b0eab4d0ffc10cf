"""The temperature at every opening: mixing, stores, exchangers and coils, by hand and by other libraries."""

import math

import numpy as np
import pytest
from fragments import built
from hypothesis import given, settings
from hypothesis import strategies as st

from schemagen.network.waters import find_waters
from schemagen.operation.operate import operate
from schemagen.sizing.size import size
from schemagen.sizing.warm import Stream, warm
from schemagen.sizing.water import water


def sizes(text):
    network = built(text).network
    return size(network, find_waters(network), operate(network))


def at(found, opening, state=None):
    return next(found.of("temperature", opening, "temperature", state)).figure.value


def flow(found, run, state=None):
    return next(found.of("flow", run, "carried flow", state)).figure


# the linear algebra


@settings(deadline=None)
@given(st.integers(2, 12), st.randoms(use_true_random=False))
def test_mixing_gives_what_a_dense_solve_of_the_heat_balances_gives(points, rng):
    """Circulations through all points, from a hot one: every point's inflow, weighted, is its temperature."""
    flows: dict[tuple[int, int], float] = {}
    for _ in range(rng.randint(1, 6)):
        ring = rng.sample(range(points), rng.randint(2, points))
        if 0 not in ring:
            ring.append(0)
        amount = rng.uniform(0.1, 5)
        for a, b in zip(ring, [*ring[1:], ring[0]], strict=True):
            flows[a, b] = flows.get((a, b), 0.0) + amount
    drops = {pair: rng.choice((0.0, rng.uniform(0, 3))) for pair in flows}
    found = warm([Stream(a, b, q, drops[a, b]) for (a, b), q in flows.items()], {0: 60.0})
    left, right = np.eye(points), np.zeros(points)
    right[0] = 60.0
    touched = sorted({p for pair in flows for p in pair})
    for p in touched:
        into = {a: q for (a, b), q in flows.items() if b == p}
        if p:
            for a, q in into.items():
                left[p, a] -= q / sum(into.values())
                right[p] -= q / sum(into.values()) * drops[a, p]
    dense = np.linalg.solve(left, right)
    assert sorted(found) == touched
    assert [found[p] for p in touched] == pytest.approx([dense[p] for p in touched], abs=1e-8)


# taps

TAP = """
parts: cold-main M1; tee T1; indirect-unvented-cylinder C1 volume: 200 L setting: 60 °C;
    mixer-outlet O1 draw-off: 12 l/min
pipes: M1.out - T1.a 22 mm; T1.b - C1.cold-in 22 mm; C1.hot-out - O1.hot-in 15 mm; T1.branch - O1.cold-in 15 mm
"""


def test_a_mixer_tap_draws_hot_and_cold_so_that_the_water_is_as_it_is_used():
    # 12 l/min at 40 °C from 60 °C and 10 °C: 0.6 of it hot
    found = sizes(TAP)
    assert flow(found, "C1.hot-out→O1.hot-in").shown() == pytest.approx(7.2)
    assert flow(found, "T1.branch→O1.cold-in").shown() == pytest.approx(4.8)
    assert flow(found, "M1.out→T1.a").shown() == pytest.approx(12.0)
    assert "water is drawn at 40 °C from O1 (common practice, no source)" in flow(found, "M1.out→T1.a").assumptions


def test_a_store_below_the_drawn_temperature_gives_all_of_it():
    found = sizes(TAP.replace("60 °C", "38 °C"))
    assert flow(found, "C1.hot-out→O1.hot-in").shown() == pytest.approx(12.0)
    assert flow(found, "T1.branch→O1.cold-in").shown() == pytest.approx(0.0)


def test_a_mixer_tap_without_a_draw_off_leaves_both_flows_open_and_names_it():
    found = sizes(TAP.replace(" draw-off: 12 l/min", ""))
    assert flow(found, "C1.hot-out→O1.hot-in").needs == ("draw-off of O1",)


def test_behind_a_mixing_valve_hot_water_is_mixed_twice():
    # the bath draws 40 °C of 46 °C and 10 °C: 5/6 · 12 = 10 l/min, the valve takes (46 − 10)/50 of that hot: 7.2 l/min
    found = sizes(
        "parts: cold-main M1; tee T1; tee T2; indirect-unvented-cylinder C1 setting: 60 °C; "
        "thermostatic-mixing-valve V1 setting: 46 °C; bath-outlet O1 draw-off: 12 l/min\n"
        "pipes: M1.out - T1.a; T1.b - C1.cold-in; C1.hot-out - V1.hot; T1.branch - T2.a; T2.b - V1.cold; "
        "V1.mixed - O1.hot-in; T2.branch - O1.cold-in"
    )
    assert flow(found, "V1.mixed→O1.hot-in").shown() == pytest.approx(10.0)
    assert flow(found, "C1.hot-out→V1.hot").shown() == pytest.approx(7.2)
    assert flow(found, "T2.branch→O1.cold-in").shown() == pytest.approx(2.0)


# stores of heating water

HEAT = water(42.5).heat_per_volume
BUFFER = """
parts: air-heat-pump H1 output: 6 kW flow: 20 l/min flow-temperature: 45 °C temperature-difference: 5 K;
    buffer-four-pipe B1 volume: 50 L; pump P1; heating-zone A1 output: 2 kW;
    room-thermostat RT1 switches: P1; temperature-sensor TS1 on B1 switches: H1
pipes: H1.flow - B1.primary-flow 28 mm; B1.primary-return - H1.return 28 mm; B1.secondary-flow - P1.in 22 mm;
    P1.out - A1.in 22 mm; A1.out - B1.secondary-return 22 mm
"""


def test_a_buffer_that_nothing_charges_gives_water_at_the_temperature_of_its_source():
    found = sizes(BUFFER)
    assert at(found, "A1.in", "heating calls") == pytest.approx(45.0)
    assert at(found, "A1.out", "heating calls") == pytest.approx(40.0)


def test_a_buffer_that_is_only_charged_takes_what_its_source_gives():
    # 6 kW into 20 l/min
    assert at(sizes(BUFFER), "H1.return", "buffer calls") == pytest.approx(45 - 6000 / (20 / 6e4 * HEAT), abs=1e-6)


def test_a_three_pipe_buffer_mixes_the_return_of_the_load():
    # source 20 l/min at 45 °C, load 2 kW at 5 K: 5.79 l/min back at 40 °C; the rest comes down through the buffer
    found = sizes(
        "parts: air-heat-pump H1 output: 6 kW flow: 20 l/min flow-temperature: 45 °C temperature-difference: 5 K; "
        "buffer-three-pipe B1 volume: 50 L; tee T1; pump P1; heating-zone A1 output: 2 kW; "
        "room-thermostat RT1 switches: P1, H1\n"
        "pipes: H1.flow - T1.a; T1.branch - B1.top; T1.b - P1.in; P1.out - A1.in; A1.out - B1.load-return; "
        "B1.source-return - H1.return"
    )
    load = 2000 / (5 * HEAT) * 6e4
    assert at(found, "A1.in", "heating calls") == pytest.approx(45.0)
    assert at(found, "H1.return", "heating calls") == pytest.approx((load * 40 + (20 - load) * 45) / 20, abs=1e-6)


def test_a_two_pipe_buffer_across_flow_and_return_mixes_what_the_load_leaves():
    found = sizes(
        "parts: air-heat-pump H1 output: 6 kW flow: 20 l/min flow-temperature: 45 °C temperature-difference: 5 K; "
        "buffer-two-pipe B1 volume: 50 L; tee T1; tee T2; pump P1; heating-zone A1 output: 2 kW; "
        "room-thermostat RT1 switches: P1, H1\n"
        "pipes: H1.flow - T1.a; T1.branch - B1.top; T1.b - P1.in; P1.out - A1.in; A1.out - T2.a; "
        "B1.bottom - T2.branch; T2.b - H1.return"
    )
    load = 2000 / (5 * HEAT) * 6e4
    assert at(found, "H1.return", "heating calls") == pytest.approx((load * 40 + (20 - load) * 45) / 20, abs=1e-6)


# coils and exchangers

COIL = """
parts: system-boiler K1 output: 20 kW flow-temperature: 70 °C temperature-difference: 20 K;
    tee T1; tee T2; zone-valve Z1; zone-valve Z2; heating-zone A1 output: 8 kW;
    vented-cylinder C1 setting: 60 °C coil-output: 12 kW;
    cylinder-thermostat CT1 on C1 switches: Z2, K1; room-thermostat RT1 switches: Z1, K1
pipes: K1.flow - T1.a; T1.b - Z1.in; Z1.out - A1.in; A1.out - T2.a; T1.branch - Z2.in; Z2.out - C1.coil-in;
    C1.coil-out - T2.branch; T2.b - K1.return
"""


def test_a_coil_beside_a_zone_takes_its_rating_and_returns_as_cool_as_the_boiler_wants():
    found = sizes(COIL)
    heat = water(60).heat_per_volume
    assert flow(found, "T1.branch→C1.coil-in", "all calls").value == pytest.approx(
        12000 / (20 * heat)
    )
    assert at(found, "C1.coil-out", "all calls") == pytest.approx(50.0)
    assert at(found, "K1.return", "all calls") == pytest.approx(50.0)


def test_a_coil_of_unknown_rating_leaves_the_boilers_flow_open_and_names_it():
    found = sizes(COIL.replace(" coil-output: 12 kW", ""))
    assert flow(found, "K1.flow→T1.a", "all calls").needs == ("heat taken by the coil of C1",)


def test_an_interface_unit_takes_from_its_network_what_its_flat_wants():
    found = sizes(
        "parts: system-boiler K1 output: 20 kW flow-temperature: 75 °C temperature-difference: 20 K; "
        "heat-interface-unit U1; heating-zone A1 output: 5 kW; room-thermostat RT1 switches: U1, K1; cold-main M1; "
        "hot-outlet O1\n"
        "pipes: K1.flow - U1.network-flow; U1.network-return - K1.return; U1.flow - A1.in; A1.out - U1.return; "
        "M1.out - U1.cold-in; U1.hot-out - O1.in"
    )
    assert flow(found, "K1.flow→U1.network-flow", "heating calls").value == pytest.approx(
        5000 / (20 * water(65).heat_per_volume)
    )
    assert at(found, "K1.return", "heating calls") == pytest.approx(55.0)


def test_an_exchanger_warms_the_other_water_as_its_conductance_says():
    found = sizes(
        "parts: system-boiler K1 output: 10 kW flow-temperature: 70 °C temperature-difference: 20 K; "
        "plate-heat-exchanger X1 conductance: 1200; pump P1; "
        "heating-zone A1 output: 8 kW temperature-difference: 10 K; room-thermostat RT1 switches: P1, K1\n"
        "pipes: K1.flow - X1.left-top; X1.left-bottom - K1.return; X1.right-top - P1.in; P1.out - A1.in; "
        "A1.out - X1.right-bottom"
    )
    # counterflow, 8 kW: hot side 70 to 50 °C; both sides' temperature differences at the ends give the log mean
    hot, back = at(found, "A1.in"), at(found, "A1.out")
    assert hot - back == pytest.approx(10.0, abs=0.05)
    one, other = 70 - hot, 50 - back
    assert 1200 * (one - other) / math.log(one / other) == pytest.approx(8000, rel=5e-3)
    assert at(found, "K1.return") == pytest.approx(50.0)


def test_a_stove_with_two_pairs_of_pipes_does_not_give_its_whole_flow_to_each():
    found = sizes(
        "parts: solid-fuel-stove S1 output: 12 kW flow-temperature: 70 °C temperature-difference: 20 K; "
        "heating-zone A1; heating-zone A2; pump P1; pump P2\n"
        "pipes: S1.flow - P1.in; P1.out - A1.in; A1.out - S1.return; S1.flow-2 - P2.in; P2.out - A2.in; "
        "A2.out - S1.return-2"
    )
    carried = [s.figure for s in found.of("flow", "", "carried flow")]
    assert carried and all(figure.value is None for figure in carried)
