"""The network solve against published networks, an independent engine and its own promises."""

import csv
import math
import random
from dataclasses import replace
from pathlib import Path

import networks
import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from networks import BORES_M, DENSITY, VISCOSITY, head_pump, random_pairs, rough_network, tube

from schemagen.base.bad_input import BadInput
from schemagen.operation.friction import factor_and_slope
from schemagen.operation.hydraulics import solve
from schemagen.operation.linear import connected, solve_nodes
from schemagen.operation.links import Link, Pump, Resistance, Tube, resistance_from_kv
from schemagen.operation.pump_curves import (
    ConstantPressure,
    Duty,
    ProportionalPressure,
    QuadraticCurve,
    TableCurve,
)
from schemagen.sizing.water import GRAVITY_MS2

WORKED = Path(__file__).parent / "worked"
PER_M = DENSITY * GRAVITY_MS2
NETWORKS = {
    "ring": networks.ring,
    "emitters": networks.emitters,
    "header": networks.header,
    "header zone 1 only": lambda: networks.header(zone_2_open=False),
}


def rows(name):
    with (WORKED / name).open(encoding="utf-8", newline="") as file:
        return list(csv.DictReader(file, delimiter=";"))


def imbalance(links, solution, drawn=None):
    """Most that any node gains or loses [m³/s], nodes of fixed pressure included unless something is drawn."""
    left = {n: -q for n, q in (drawn or {}).items()}
    for link in links:
        left[link.start] = left.get(link.start, 0.0) - solution.flow_m3s[link.name]
        left[link.end] = left.get(link.end, 0.0) + solution.flow_m3s[link.name]
    return max(map(abs, left.values()))


@pytest.mark.parametrize("row", rows("network_flows.csv"), ids=lambda r: f"{r['network']} {r['link']} {r['source']}")
def test_a_reference_network_has_the_flows_of_other_engines(row):
    links, fixed, drawn = (*NETWORKS[row["network"]](), {})[:3]
    flow_ls = 1e3 * solve(links, fixed, drawn).flow_m3s[row["link"]]
    # the reference prints five decimals, so half of the last one is allowed beside its tolerance
    assert flow_ls == pytest.approx(float(row["flow_ls"]), rel=float(row["tolerance"].rstrip(" %")) / 100, abs=6e-6)


@pytest.mark.parametrize("row", rows("network_heads.csv"), ids=lambda r: f"{r['network']} {r['node']}")
def test_a_reference_network_has_the_heads_of_other_engines(row):
    head_m = solve(*NETWORKS[row["network"]]()).pressure_pa[row["node"]] / PER_M
    assert head_m == pytest.approx(float(row["head_m"]), abs=float(row["tolerance_m"]))


def test_a_network_of_nearly_shut_valves_still_settles():
    links, fixed, _ = networks.emitters((1e-4, 1e-4, 1e-4))
    assert 1e3 * solve(links, fixed).flow_m3s["PU"] == pytest.approx(5.22e-5, rel=1e-3)


def test_closing_a_zone_behind_a_header_hardly_changes_the_primary_flow():
    both, one = (solve(*networks.header(open_)).flow_m3s for open_ in (True, False))
    assert one["HPX"] / both["HPX"] == pytest.approx(1, abs=5e-5)
    assert one["LLH"] / both["LLH"] == pytest.approx(1.51, abs=0.01)


# an independent engine


THIN = VISCOSITY / 100
"""Viscosity of a liquid so thin that its flow is turbulent nearly everywhere: there, two engines' rules for friction
agree, and what is compared is how they spread the water."""


def closed_network(seed, viscosity_pas=VISCOSITY):
    """A closed network of pipes and one pump, up to 300 links."""
    r = random.Random(seed)
    nodes = r.choice((6, 12, 30, 80, 150, 200))
    pairs = random_pairs(r, nodes, r.randrange(1, min(nodes // 2, 100)))
    pipes = [tube(r.uniform(1, 20), 1e3 * r.choice(BORES_M[2:]), r.choice((0, 2, 5))) for _ in pairs]
    links = [
        Link(f"l{i}", a, b, replace(pipe, viscosity_pas=viscosity_pas))
        for i, ((a, b), pipe) in enumerate(zip(pairs, pipes, strict=True))
    ]
    links.append(Link("pump", f"n{nodes - 1}", "n0", head_pump(r.uniform(8, 20), r.uniform(1, 5))))
    return links


def other_engine_flows(links, folder):
    """Flows [m³/s] by EPANET; g there is 32.2 ft/s², the viscosity relative to 1.1e-5 ft²/s."""
    epanet = pytest.importorskip("epanet.toolkit")
    nodes = list(dict.fromkeys(n for link in links for n in (link.start, link.end)))
    pipes = [
        f"{k.name} {k.start} {k.end} {k.element.length_m:.9g} {1e3 * k.element.bore_m:.9g} 0.0015 "
        f"{k.element.loss_coefficient} Open"
        for k in links
        if isinstance(k.element, Tube)
    ]
    pump = links[-1]
    shutoff, fall = pump.element.setting.shutoff_pa / PER_M, pump.element.setting.fall / PER_M / 1e6
    q1 = math.sqrt(shutoff / 4 / fall)  # a one-point curve has its shutoff at 4/3 of the point's head
    text = "\n".join(
        ["[JUNCTIONS]", *(f"{n} 0 0" for n in nodes), "[RESERVOIRS]", "X 15", "[PIPES]", *pipes,
         "TIE X n0 1 13.6 0.0015 0 Open", "[PUMPS]", f"pump {pump.start} {pump.end} HEAD c", "[CURVES]",
         f"c {q1:.9g} {0.75 * shutoff:.9g}", "[OPTIONS]", "UNITS LPS", "HEADLOSS D-W",
         f"VISCOSITY {THIN / DENSITY / 1.02193e-6:.9g}", "TRIALS 500", "ACCURACY 1e-9", "[TIMES]", "DURATION 0",
         "[END]"]
    )  # fmt: skip
    path = folder / "net.inp"
    path.write_text(text, encoding="utf-8")
    project = epanet.createproject()
    epanet.open(project, str(path), str(folder / "net.rpt"), "")
    epanet.solveH(project)
    flows = {
        link.name: epanet.getlinkvalue(project, epanet.getlinkindex(project, link.name), epanet.FLOW) / 1e3
        for link in links
    }
    epanet.close(project)
    epanet.deleteproject(project)
    return flows


@pytest.mark.parametrize("seed", range(100))
def test_a_closed_network_agrees_with_an_independent_engine(seed, tmp_path):
    links = closed_network(seed, THIN)
    theirs = other_engine_flows(links, tmp_path)
    ours = solve(links, {"n0": 15 * PER_M}).flow_m3s
    most = max(abs(q) for q in theirs.values())
    assert len(links) <= 301
    for link in links:
        # a link that bridges two branches carries their small difference, so it is also measured on the greatest flow
        assert ours[link.name] == pytest.approx(theirs[link.name], rel=0.005, abs=0.0005 * most), link.name


# promises


@pytest.mark.parametrize("block", range(4))  # tests/bench/solve.py runs a thousand
def test_rough_networks_settle_and_balance(block):
    for seed in range(50 * block, 50 * block + 50):
        links = rough_network(seed)
        solution = solve(links, {"b0n0": 1e5})
        assert imbalance(links, solution) < 1e-11, seed
        for link in links:
            flow = solution.flow_m3s[link.name]
            if link.closed:
                assert flow == 0, (seed, link.name)
            if link.one_way or link.opening_pa:
                assert flow >= 0, (seed, link.name)
            assert flow <= link.limit_m3s * (1 + 1e-6) + 1e-10, (seed, link.name)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_loop_heads_close_and_nodes_balance(seed):
    links = closed_network(seed)
    solution = solve(links, {"n0": 1e5})
    assert imbalance(links, solution) < 1e-12
    for link in links[:-1]:
        pipe, q = link.element, solution.flow_m3s[link.name]
        speed = abs(q) / (math.pi / 4 * pipe.bore_m**2)
        if speed == 0:
            continue
        factor, _ = factor_and_slope(DENSITY * speed * pipe.bore_m / VISCOSITY, pipe.roughness_m / pipe.bore_m)
        loss = (float(factor) * pipe.length_m / pipe.bore_m + pipe.loss_coefficient) * DENSITY * speed**2 / 2
        assert -solution.rise_pa(link) == pytest.approx(math.copysign(loss, q), rel=1e-6, abs=1e-4), link.name


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6), st.integers(0, 1000))
def test_a_link_listed_the_other_way_round_only_changes_its_sign(seed, which):
    links = closed_network(seed)
    turned = which % (len(links) - 1)
    other = [replace(k, start=k.end, end=k.start) if i == turned else k for i, k in enumerate(links)]
    before, after = solve(links, {"n0": 1e5}).flow_m3s, solve(other, {"n0": 1e5}).flow_m3s
    for i, link in enumerate(links):
        assert after[link.name] == pytest.approx((-1 if i == turned else 1) * before[link.name], rel=1e-6, abs=1e-11)


@settings(max_examples=25, deadline=None)
@given(st.integers(0, 10**6))
def test_four_times_the_resistance_gives_half_the_flow(seed):
    r = random.Random(seed)
    pairs = random_pairs(r, 12, 6)
    kvs = [10 ** r.uniform(-0.5, 1) for _ in pairs]

    def flows(times):
        links = [
            Link(f"l{i}", a, b, Resistance(times * resistance_from_kv(kv).factor))
            for i, ((a, b), kv) in enumerate(zip(pairs, kvs, strict=True))
        ]
        return solve([*links, Link("pump", "n11", "n0", Pump(ConstantPressure(2e4)))], {"n0": 1e5}).flow_m3s

    once, four = flows(1), flows(4)
    for name, q in once.items():
        assert four[name] == pytest.approx(q / 2, rel=1e-5, abs=1e-10)


@settings(max_examples=60, deadline=None)
@given(st.floats(0.001, 2.0), st.floats(1.001, 2), st.sampled_from(BORES_M), st.floats(0, 10))
def test_more_pressure_gives_more_flow_through_every_regime(head_kpa, more, bore_m, k):
    def flow(rise_pa):
        links = [
            Link("pump", "a", "b", Pump(ConstantPressure(rise_pa))),
            Link("pipe", "b", "a", tube(10, 1e3 * bore_m, k)),
        ]
        return solve(links, {"a": 1e5}).flow_m3s["pipe"]

    assert flow(1e3 * head_kpa * more) > flow(1e3 * head_kpa) > 0


# elements, each against a hand calculation


def circuit(element, *others, **options):
    """One pump link "pump" from a to b and a valve of Kv 1 back, with other links beside it."""
    return [Link("pump", "a", "b", element, **options), Link("valve", "b", "a", resistance_from_kv(1.0)), *others]


KV1 = resistance_from_kv(1.0).factor


@pytest.mark.parametrize(
    ("setting", "flow_m3s"),
    [
        (ConstantPressure(2e4), math.sqrt(2e4 / KV1)),
        (QuadraticCurve(4e4, 1e11), math.sqrt(4e4 / (KV1 + 1e11))),
        (QuadraticCurve(4e4, 1e11, speed=0.5), math.sqrt(1e4 / (KV1 + 1e11))),
        (ConstantPressure(2e4, QuadraticCurve(1e4, 1e11)), math.sqrt(1e4 / (KV1 + 1e11))),
        (Duty(2e-4), 2e-4),
        # rise = 0.5·20 kPa·(1 + q/qd) = KV1·q²  with qd = 1e-4
        (ProportionalPressure(2e4, 1e-3), (1e7 + math.sqrt(1e14 + 4e4 * KV1)) / (2 * KV1)),
        (ProportionalPressure(2e4, 1e-5), math.sqrt(2e4 / KV1)),
        (TableCurve((0.0, 1e-3), (3e4, 1e4), straight=True), (-2e7 + math.sqrt(4e14 + 12e4 * KV1)) / (2 * KV1)),
    ],
)
def test_a_pump_gives_what_its_setting_says(setting, flow_m3s):
    solution = solve(circuit(Pump(setting)), {"a": 1e5})
    assert solution.flow_m3s["valve"] == pytest.approx(flow_m3s, rel=1e-6)
    assert solution.pressure_pa["b"] - 1e5 == pytest.approx(KV1 * flow_m3s**2, rel=1e-5)


def test_a_check_valve_passes_one_way_and_is_shut_the_other_way():
    check = Link("check", "b", "a", Resistance(1e12), one_way=True)
    against = solve(circuit(Pump(ConstantPressure(1e4)), replace(check, start="a", end="b")), {"a": 1e5})
    along = solve(circuit(Pump(ConstantPressure(1e4)), check), {"a": 1e5})
    assert against.flow_m3s["check"] == 0
    assert along.flow_m3s["check"] == pytest.approx(math.sqrt(1e4 / 1e12), rel=1e-6)


def test_a_bypass_valve_opens_only_above_its_setting():
    def flow(rise_pa):
        bypass = Link("bypass", "b", "a", Resistance(1e11), opening_pa=1.5e4)
        return solve(circuit(Pump(ConstantPressure(rise_pa)), bypass), {"a": 1e5}).flow_m3s["bypass"]

    assert flow(1.4e4) == 0
    assert flow(2.0e4) == pytest.approx(math.sqrt(5e3 / 1e11), rel=1e-6)


def test_a_flow_limiter_passes_no_more_than_its_setting_and_less_if_there_is_less_pressure():
    def flow(limit):
        limiter = Link("limiter", "b", "a", Resistance(1e11), limit_m3s=limit)
        return solve(circuit(Pump(ConstantPressure(1e4)), limiter), {"a": 1e5}).flow_m3s["limiter"]

    assert flow(1e-4) == pytest.approx(1e-4, rel=1e-6)
    assert flow(1e-3) == pytest.approx(math.sqrt(1e4 / 1e11), rel=1e-6)


def test_bodies_of_water_do_not_touch_each_other_and_one_without_a_pump_stands_still():
    two = circuit(Pump(ConstantPressure(2e4)))
    still = [Link("s1", "x", "y", tube(3, 20.2)), Link("s2", "y", "x", tube(4, 20.2))]
    alone, together = solve(two, {"a": 1e5}), solve([*two, *still], {"a": 1e5, "x": 3e5})
    assert together.flow_m3s["valve"] == pytest.approx(alone.flow_m3s["valve"], rel=1e-12)
    assert together.flow_m3s["s1"] == together.flow_m3s["s2"] == 0
    assert together.pressure_pa["y"] == pytest.approx(3e5)


def test_a_body_without_fixed_pressure_is_solved_and_named():
    solution = solve(circuit(Pump(ConstantPressure(2e4))))
    assert solution.without_level == ("a",)
    assert solution.flow_m3s["valve"] == pytest.approx(math.sqrt(2e4 / KV1), rel=1e-6)
    assert solve(circuit(Pump(ConstantPressure(2e4))), {"a": 1e5}).without_level == ()


def test_a_stronger_pump_beside_a_weaker_one_is_told():
    weak = Link("weak", "a", "b", Pump(QuadraticCurve(5e3, 1e11)))
    solution = solve(circuit(Pump(QuadraticCurve(5e4, 1e10)), weak), {"a": 1e5})
    assert solution.flow_m3s["weak"] < 0
    assert solution.notes == ("weak: pump overpowered, water goes through it backwards",)


def test_a_pump_against_closed_valves_is_told_and_gives_its_shutoff_pressure():
    links = circuit(Pump(QuadraticCurve(5e4, 1e10)))
    solution = solve([links[0], replace(links[1], closed=True)], {"a": 1e5})
    assert solution.flow_m3s["pump"] == 0
    assert solution.pressure_pa["b"] == pytest.approx(1.5e5)
    assert "moves no water" in solution.notes[0]


@pytest.mark.parametrize(
    ("links", "fixed", "drawn", "component", "hint"),
    [
        ([Link("p", "a", "b", tube(1, 20)), Link("p", "b", "a", tube(1, 20))], {}, {}, "p", "twice"),
        ([Link("p", "a", "a", tube(1, 20))], {}, {}, "p", "itself"),
        ([Link("p", "a", "b", tube(0, 20))], {}, {}, "p", "both zero"),
        ([Link("p", "a", "b", tube(-1, 20))], {}, {}, "p", "negative"),
        ([Link("p", "a", "b", tube(1, math.nan))], {}, {}, "p", "bore"),
        ([Link("v", "a", "b", Resistance(0.0))], {}, {}, "v", "above zero"),
        ([Link("p", "a", "b", tube(1, 20))], {"c": 1e5}, {}, "c", "no link"),
        ([Link("p", "a", "b", tube(1, 20))], {}, {"b": 1e-4}, "a", "no way"),
        ([Link("p", "a", "b", tube(1, 20), closed=True)], {"a": 1e5}, {"b": 1e-4}, "b", "no way"),
        ([Link("p", "a", "b", tube(1, 20), one_way=True)], {"b": 1e5}, {"a": 1e-4}, "a", "no way"),
        (
            [Link("d", "a", "b", Pump(Duty(1e-4))), Link("v", "b", "a", Resistance(1e9), closed=True)],
            {}, {}, "a", "no way",
        ),
        (
            [Link("c1", "a", "b", Pump(ConstantPressure(1e4))), Link("c2", "b", "a", Pump(ConstantPressure(1e4)))],
            {}, {}, "c2", "no resistance",
        ),
    ],
)  # fmt: skip
def test_data_that_cannot_be_solved_is_refused_at_its_place(links, fixed, drawn, component, hint):
    with pytest.raises(BadInput) as raised:
        solve(links, fixed, drawn)
    assert raised.value.component == component
    assert hint in str(raised.value)


def test_friction_slope_is_the_derivative_of_the_factor():
    for re in (500.0, 1999.0, 2500.0, 3900.0, 5000.0, 1e5, 1e7):
        factor, slope = factor_and_slope(re, 1e-4)
        ahead, behind = (float(factor_and_slope(re * (1 + s * 1e-6), 1e-4)[0]) for s in (1, -1))
        assert float(slope) == pytest.approx((ahead - behind) / (2e-6 * re), rel=1e-3)


def test_sparse_elimination_gives_the_dense_answer():
    r = random.Random(7)
    for nodes, extra in ((260, 5), (300, 80), (400, 700)):
        pairs = [(int(a[1:]), int(b[1:])) for a, b in random_pairs(r, nodes, extra)]
        starts, ends = zip(*pairs, strict=True)
        conductance = [10 ** r.uniform(-9, -5) for _ in pairs]
        right = [0.0, *(r.uniform(-1e-3, 1e-3) for _ in range(nodes - 1))]
        full = np.zeros((nodes, nodes))
        for a, b, c in zip(starts, ends, conductance, strict=True):
            full[a, a] += c
            full[b, b] += c
            full[a, b] -= c
            full[b, a] -= c
        dense = np.linalg.solve(full[1:, 1:], right[1:])
        sparse = solve_nodes([i == 0 for i in range(nodes)], starts, ends, conductance, right)[1:]
        assert sparse == pytest.approx(dense, rel=1e-6, abs=1e-6 * np.abs(dense).max())


def test_connected_nodes_share_the_number_of_their_lowest():
    assert connected(6, [4, 2], [1, 3]) == [0, 1, 2, 2, 1, 5]


def test_a_large_network_settles():
    r = random.Random(5)
    pairs = random_pairs(r, 1400, 599)
    links = [Link(f"l{i}", a, b, tube(r.uniform(1, 20), 20.2, 2)) for i, (a, b) in enumerate(pairs)]
    links.append(Link("pump", "n1399", "n0", head_pump(6, 10)))
    solution = solve(links, {"n0": 1e5})
    assert len(links) >= 1999
    assert imbalance(links, solution) < 1e-11
