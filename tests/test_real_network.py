"""Lists that say enough are solved as real networks, state by state; others say what is missing."""

import math
from dataclasses import replace
from functools import cache
from pathlib import Path

import pytest

from schemagen.network.waters import find_waters
from schemagen.operation.operate import operate
from schemagen.pipeline import read
from schemagen.sizing.design import Design
from schemagen.sizing.plant import Plant
from schemagen.sizing.size import size
from schemagen.sizing.water import water

WORKED = Path(__file__).parent / "worked"


@cache
def house():
    return read(WORKED / "house.yaml")


def value(sizes, *place):
    found = list(sizes.of(*place))
    assert found, place
    return found[0].figure.value


# the worked house: step 21 of its proof, by pandapipes; step 14 and 19 are its duties in closed form


@pytest.mark.parametrize(
    ("run", "flow_ls"),
    [
        ("HP1.flow→P1.in", 0.28937),
        ("T1.b→HZ1.in", 0.06431),
        ("T1.branch→HZ2.in", 0.13505),
        ("BU1.secondary-flow→T1.a", 0.28937 - 0.09001),
    ],
)
def test_the_worked_house_has_the_flows_of_an_independent_engine(run, flow_ls):
    flow = value(house().sizes, "flow", run, "flow in the network", "all calls")
    assert 1e3 * flow == pytest.approx(flow_ls, rel=1e-3)


def test_its_pumps_give_what_their_circuits_lose_at_design_flow():
    at = [house().sizes, "pump", "", "pump in the network, pressure", "all calls"]
    first, second = (s.figure.shown("kPa") for s in at[0].of(*at[1:]))
    assert first == pytest.approx(21.149, rel=2e-3)
    assert second == pytest.approx(12.375, rel=4e-3)


def test_its_heat_pump_gives_what_its_zones_take_and_the_buffer_mixes_the_return():
    # 6 kW; 17.36 l/min from 42.5 °C over the buffer back at 37.5 °C (secondary 35.24 °C and 42.5 °C through the body)
    sizes = house().sizes
    assert value(sizes, "source", "HP1", "heat that the flow carries", "all calls") == pytest.approx(6000, rel=2e-3)
    assert value(sizes, "temperature", "HP1.return", "temperature", "all calls") == pytest.approx(37.5, abs=0.01)


def test_with_one_zone_shut_the_other_gets_more_and_the_primary_stays():
    flows = {s.state: s.figure.value for s in house().sizes.of("flow", "T1.branch→HZ2.in", "flow in the network")}
    primary = {s.state: s.figure.value for s in house().sizes.of("flow", "HP1.flow→P1.in", "flow in the network")}
    assert flows["heating calls: RT2 (Upstairs)"] > 1.05 * flows["all calls"]
    assert primary["heating calls: RT2 (Upstairs)"] == pytest.approx(primary["all calls"], rel=1e-3)


# a boiler with its own pump, two zones and a bypass that opens on pressure

BYPASS_KPA, BYPASS_KV = 22.0, 2.0
CURVE = "0 L/min: 45 kPa, 10 L/min: 40 kPa, 20 L/min: 28 kPa, 30 L/min: 10 kPa"
BOILER = f"""
parts:
  B1: {{kind: system-boiler, output: 12 kW, flow-temperature: 70 °C, min-flow: 8 L/min, kv: 3,
       capped: [relief-outlet, condensate], pump-curve: {{{CURVE}}}}}
  T1: {{kind: tee}}
  T2: {{kind: tee}}
  T3: {{kind: tee}}
  T4: {{kind: tee}}
  BP1: {{kind: bypass-valve, setting: {BYPASS_KPA} kPa, kv: {BYPASS_KV}}}
  ZV1: {{kind: zone-valve, kv: 4}}
  ZV2: {{kind: zone-valve, kv: 4}}
  HZ1: {{kind: heating-zone, output: 8 kW, kv: 1.2}}
  HZ2: {{kind: heating-zone, output: 3 kW, kv: 0.5}}
  RT1: {{kind: room-thermostat, room: A, switches: [ZV1, B1]}}
  RT2: {{kind: room-thermostat, room: B, switches: [ZV2, B1]}}
connections:
  - {{run: [B1.flow, T1.a], size: 22 mm, length: 2 m}}
  - {{run: [T1.b, T2.a], size: 22 mm, length: 3 m}}
  - {{run: [T2.b, ZV1, HZ1], size: 22 mm, length: 6 m}}
  - {{run: [HZ1, T3.a], size: 22 mm, length: 6 m}}
  - {{run: [T2.branch, ZV2, HZ2], size: 15 mm, length: 5 m}}
  - {{run: [HZ2, T3.branch], size: 15 mm, length: 5 m}}
  - {{run: [T3.b, T4.a], size: 22 mm, length: 3 m}}
  - {{run: [T4.b, B1.return], size: 22 mm, length: 2 m}}
  - {{run: [T1.branch, BP1, T4.branch], size: 22 mm, length: 1 m}}
"""


def listed(text, tmp_path):
    path = tmp_path / "list.yaml"
    path.write_text(text, encoding="utf-8")
    return read(path)


def pipe_loss(flow_m3s, length_m, k):
    """Loss [Pa] of 22×0.9 copper with local losses, by an independent library."""
    fluids = pytest.importorskip("fluids")
    liquid, bore = water(60), 0.0202
    speed = flow_m3s / (math.pi / 4 * bore**2)
    straight = fluids.one_phase_dP(
        flow_m3s * liquid.density_kgm3, liquid.density_kgm3, liquid.viscosity_pas, bore, 1.5e-6, L=length_m
    )
    return straight + k * liquid.density_kgm3 * speed**2 / 2


def test_a_bypass_opens_on_its_pressure_when_only_the_small_zone_calls(tmp_path):
    sizes = listed(BOILER, tmp_path).sizes
    small = "heating calls: RT2 (B)"
    through, zone = (
        value(sizes, "flow", run, "flow in the network", small) for run in ("B1.flow→T1.a", "T2.branch→HZ2.in")
    )
    bypass = value(sizes, "pump", "BP1", "bypass in the network, flow", small)
    assert bypass > 1e-5 and through == pytest.approx(zone + bypass, rel=1e-6)
    # round by the bypass: the boiler, 4 m with a tee, 1 m with two branches, the opening pressure
    rise = value(sizes, "pump", "B1", "pump in the network, pressure", small)
    density = water(60).density_kgm3
    boiler = 1e5 * density / 1000 * (3600 * through / 3) ** 2
    valve = 1e3 * BYPASS_KPA + 1e5 * density / 1000 * (3600 * bypass / BYPASS_KV) ** 2
    pipes = pipe_loss(through, 4, 0.4) + pipe_loss(bypass, 1, 2 * 1.0)
    assert rise == pytest.approx(boiler + valve + pipes, rel=2e-3)


def test_the_pump_stands_on_its_curve(tmp_path):
    sizes = listed(BOILER, tmp_path).sizes
    for s in sizes.of("pump", "B1", "pump in the network, flow"):
        rise = value(sizes, "pump", "B1", "pump in the network, pressure", s.state) / 1e3
        points = [(0, 45), (10, 40), (20, 28), (30, 10)]
        below = max((p for p in points if p[0] <= s.figure.shown()), key=lambda p: p[0])
        above = min((p for p in points if p[0] >= s.figure.shown()), key=lambda p: p[0])
        assert above[1] <= rise <= below[1]


def test_least_flow_is_held_against_the_real_flow_of_every_combination(tmp_path):
    shown = {
        s.state: s.figure for s in listed(BOILER, tmp_path).sizes.of("source", "B1", "least source flow")
        if s.state.startswith("open")
    }  # fmt: skip
    assert set(shown) == {"open: ZV1", "open: ZV2", "open: ZV1, ZV2"}
    assert not any("design flows" in note for f in shown.values() for note in f.notes)
    # the bypass makes up for the small zone, which alone wants 2.2 l/min
    assert shown["open: ZV2"].shown() > 8 and not shown["open: ZV2"].flags


def test_the_bypass_setting_is_the_pumps_rise_at_the_least_flow_less_the_loss_through_the_source(tmp_path):
    found = next(listed(BOILER, tmp_path).sizes.of("source", "BP1", "bypass setting")).figure
    q, density = 8 / 6e4, water(60).density_kgm3
    boiler = 1e5 * density / 1000 * (3600 * q / 3) ** 2
    rise, difference = (dict((g.symbol, g.value) for g in found.inputs)[s] for s in ("H", "Δpd"))
    assert 40e3 < rise < 45e3
    assert found.value == pytest.approx(rise - boiler - pipe_loss(q, 4, 0.4), rel=1e-3)
    # at design flow the larger zone loses most: 8 kW at 20 K through Kv 4 and Kv 1.2, with 18 m of 22 mm
    q1 = 8000 / (water(60).heat_per_volume * 20)
    valves = sum(1e5 * density / 1000 * (3600 * q1 / kv) ** 2 for kv in (4, 1.2))
    assert valves < difference < valves + 18 * 200


def test_one_missing_length_leaves_the_design_flows_and_is_named(tmp_path):
    run = "[T3.b, T4.a], size: 22 mm"
    sizes = listed(BOILER.replace(f"{run}, length: 3 m", run), tmp_path).sizes
    assert not list(sizes.of("flow", "", "flow in the network"))
    missing = next(sizes.of("flow", "", "flows in the real network")).figure
    assert missing.value is None and missing.needs == ("length of T3.b→T4.a",)
    assert value(sizes, "flow", "B1.flow→T1.a", "carried flow", "all calls") > 0


@pytest.mark.parametrize(
    ("before", "after", "need"),
    [
        (", kv: 0.5}", "}", "kv or pressure-drop of HZ2"),
        (f"setting: {BYPASS_KPA} kPa, ", "", "setting of BP1"),
        (f"pump-curve: {{{CURVE}}}", "sealed-only: no", "pump-curve of B1"),
    ],
)
def test_what_the_solve_needs_is_named(tmp_path, before, after, need):
    assert before in BOILER
    sizes = listed(BOILER.replace(before, after), tmp_path).sizes
    assert need in next(sizes.of("flow", "", "flows in the real network")).figure.needs


def test_a_source_that_holds_a_listed_flow_needs_no_curve(tmp_path):
    sizes = listed(BOILER.replace(f"pump-curve: {{{CURVE}}}", "flow: 9 L/min"), tmp_path).sizes
    flows = [s.figure for s in sizes.of("flow", "B1.flow→T1.a", "flow in the network")]
    assert [f.shown() for f in flows] == pytest.approx([9, 9, 9], rel=1e-6)
    assert "B1 holds its listed flow" in flows[0].assumptions


def test_a_pump_that_cannot_meet_the_design_flow_is_flagged(tmp_path):
    sizes = listed(BOILER.replace(CURVE, "0 L/min: 6 kPa, 9 L/min: 1 kPa"), tmp_path).sizes
    flags = [flag for s in sizes.of("pump", "B1", "pump in the network, flow") for flag in s.figure.flags]
    assert any("less than the" in flag for flag in flags)


# promises


def sized(network):
    return size(network, find_waters(network), operate(network))


@pytest.mark.parametrize("which", range(6))
def test_a_pipe_listed_the_other_way_round_only_changes_its_sign(which, tmp_path):
    network = listed(BOILER, tmp_path).network
    index = 2 * which
    pipes = [replace(p, start=p.end, end=p.start) if p.index == index else p for p in network.pipes]
    turned = replace(network, pipes=tuple(pipes))
    before, after = sized(network), sized(turned)
    for name, flows in before.states.items():
        for i, flow in flows.flow_m3s.items():
            expected = -flow if i == index else flow
            assert after.states[name].flow_m3s[i] == pytest.approx(expected, rel=1e-6, abs=1e-12)


def test_water_and_heat_balance_at_every_point_of_the_real_network(tmp_path):
    for job in (house(), listed(BOILER, tmp_path)):
        design = Design(Plant(job.network, job.waters, job.operation))
        for state in job.operation.of_sort("call", "all-calls"):
            real = design.real(state)
            assert real.solved
            gain: dict[int, float] = {}
            heat: dict[int, float] = {}
            for w, way in enumerate(real.ways):
                q = real.flow(w)
                down = way.end if q > 0 else way.start
                for point, sign in ((way.start, -1), (way.end, 1)):
                    gain[point] = gain.get(point, 0.0) + sign * q
                if way.pipe >= 0:
                    # along a pipe nothing cools: what arrives is what left
                    up = way.start if q > 0 else way.end
                    heat[down] = heat.get(down, 0.0) + abs(q) * real.temperature_c[up]
                    heat[up] = heat.get(up, 0.0) - abs(q) * real.temperature_c[up]
            assert max(map(abs, gain.values())) < 1e-11
            joints = {design.graph.at(t, "a") for t, p in job.network.parts.items() if p.kind.name == "tee"}
            for point in joints & heat.keys():
                assert heat[point] == pytest.approx(0.0, abs=1e-9)
