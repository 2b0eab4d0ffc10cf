"""Seeded closed networks of pipes, valves and pumps for the solver's tests."""

import math
import random

from schemagen.operation.links import Link, Pump, Resistance, Tube, resistance_from_kv, resistance_from_point
from schemagen.operation.pump_curves import ConstantPressure, ProportionalPressure, QuadraticCurve, TableCurve
from schemagen.sizing.water import GRAVITY_MS2

DENSITY, VISCOSITY = 992.26, 0.6578e-6 * 992.26
BORES_M = (0.0088, 0.0120, 0.0136, 0.0160, 0.0202, 0.0262, 0.0326)


def tube(length_m: float, bore_mm: float, loss_coefficient: float = 0.0) -> Tube:
    return Tube(length_m, bore_mm / 1e3, 1.5e-6, DENSITY, VISCOSITY, loss_coefficient)


def random_pairs(random_: random.Random, nodes: int, extra: int) -> list[tuple[str, str]]:
    """A tree over n0… with `extra` chords; no two links join the same pair."""
    pairs = [(f"n{random_.randrange(max(0, i - 6), i)}", f"n{i}") for i in range(1, nodes)]
    known = {frozenset(p) for p in pairs}
    while extra and len(known) < nodes * (nodes - 1) // 2:
        a, b = random_.sample(range(nodes), 2)
        pair = frozenset((f"n{a}", f"n{b}"))
        if pair not in known:
            known.add(pair)
            pairs.append((f"n{a}", f"n{b}"))
            extra -= 1
    return pairs


def rough_network(seed: int) -> list[Link]:
    """A network that a solver may choke on: shut and nearly shut valves, tiny loops, resistances of all sizes,
    check and bypass valves, flow limiters, pumps of every sort, several bodies."""
    r = random.Random(seed)
    links: list[Link] = []
    for body in range(r.choice((1, 1, 2, 3))):
        count = r.choice((4, 6, 10, 20, 40))
        for i, (a, b) in enumerate(random_pairs(r, count, r.randrange(1, count))):
            a, b = (a, b) if r.random() < 0.5 else (b, a)
            sort = r.random()
            if sort < 0.4:
                element = tube(10 ** r.uniform(-2, 2), 1e3 * r.choice(BORES_M), r.choice((0, 0, 2, 10)))
            elif sort < 0.9:
                element = resistance_from_kv(10 ** r.uniform(-4, 2), DENSITY)
            else:
                element = Resistance(10 ** r.uniform(4, 20))
            links.append(
                Link(
                    f"b{body}l{i}", f"b{body}{a}", f"b{body}{b}", element,
                    closed=r.random() < 0.08,
                    one_way=r.random() < 0.12,
                    opening_pa=r.choice((5e3, 2e4)) if r.random() < 0.05 else 0.0,
                    limit_m3s=10 ** r.uniform(-6, -3.5) if r.random() < 0.05 else math.inf,
                )
            )  # fmt: skip
        for i in range(r.randrange(3)):
            a, b = r.sample(range(count), 2)
            pump = r.choice(
                (
                    QuadraticCurve(r.uniform(1e4, 8e4), 10 ** r.uniform(10, 12)),
                    TableCurve((0.0, 2e-4, 4e-4), (5e4, 4.5e4, 2e4)),
                    TableCurve((0.0, 1e-4, 2e-4, 4e-4), (4.5e4, 5e4, 4.5e4, 2e4)),
                    ConstantPressure(r.uniform(5e3, 5e4), QuadraticCurve(6e4, 1e11)),
                    ConstantPressure(r.uniform(5e3, 5e4), None if i == 0 else QuadraticCurve(6e4, 1e11)),
                    ProportionalPressure(r.uniform(5e3, 5e4), 10 ** r.uniform(-5, -3), QuadraticCurve(6e4, 1e11)),
                )
            )
            links.append(Link(f"b{body}p{i}", f"b{body}n{a}", f"b{body}n{b}", Pump(pump), one_way=r.random() < 0.3))
    return links


def head_pump(shutoff_m: float, fall: float, density: float = DENSITY) -> Pump:
    """A pump whose head [m] is shutoff − fall·q², q in l/s."""
    per_m = density * GRAVITY_MS2
    return Pump(QuadraticCurve(shutoff_m * per_m, fall * 1e6 * per_m))


def valve(kv: float) -> Resistance:
    """A valve by its Kv on a pump curve in metres: Δh = (3600 q/Kv)²·1e5/(1000 g)."""
    return resistance_from_kv(kv, DENSITY)


def ring():
    """Ring with a bridge, fed from a node of fixed head."""
    links = [
        Link("p1", "R", "A", tube(5, 26.2)), Link("p2", "A", "B", tube(8, 20.2)), Link("p3", "A", "C", tube(12, 20.2)),
        Link("p4", "B", "C", tube(4, 13.6)), Link("p5", "B", "D", tube(10, 13.6)), Link("p6", "C", "D", tube(6, 20.2)),
    ]  # fmt: skip
    return links, {"R": 10 * DENSITY * GRAVITY_MS2}, {"B": 0.10e-3, "C": 0.05e-3, "D": 0.25e-3}


def emitters(kvs=(0.35, 0.45, 0.60)):
    """Closed two-pipe heating loop with one pump and three emitters."""
    links = [
        Link("PU", "P1", "P2", head_pump(4.0, 11.1111)), Link("F1", "P2", "a", tube(6, 20.2)),
        Link("F2", "a", "b", tube(5, 20.2)), Link("F3", "b", "c", tube(5, 13.6)), Link("E1", "a", "d", valve(kvs[0])),
        Link("E2", "b", "e", valve(kvs[1])), Link("E3", "c", "f", valve(kvs[2])), Link("R3", "f", "e", tube(5, 13.6)),
        Link("R2", "e", "d", tube(5, 20.2)), Link("R1", "d", "P1", tube(6, 20.2)),
    ]  # fmt: skip
    return links, {"P1": 15 * DENSITY * GRAVITY_MS2}, {}


def header(zone_2_open: bool = True):
    """Low-loss header between two pumps, two zones."""
    links = [
        Link("HPX", "PS", "PT", valve(2.2)), Link("PUP", "PT", "PD", head_pump(6.0, 12.2449)),
        Link("A1", "PD", "H1", tube(8, 26.2, 8)), Link("LLH", "H1", "H2", tube(0.4, 51.6, 1.5)),
        Link("A2", "H2", "PS", tube(8, 26.2, 8)), Link("PUS", "H1", "SD", head_pump(4.0, 16.0)),
        Link("B1", "SD", "m", tube(10, 20.2, 4)), Link("Z1", "m", "n", valve(0.9)),
        Link("Z2", "m", "n", valve(0.7), closed=not zone_2_open), Link("B2", "n", "H2", tube(10, 20.2, 4)),
    ]  # fmt: skip
    return links, {"PS": 15 * DENSITY * GRAVITY_MS2}, {}


def house_network():
    """The worked house: heat pump, buffer as header, underfloor zone 1 with its balancing valve, radiator zone 2.

    All radiators are one Kv that loses what the index radiator's pipe and valve lose at the flow of the zone.
    """
    density, viscosity = 992.3, 0.6530e-3

    def pipe(length_m, bore_mm, k):
        return Tube(length_m, bore_mm / 1e3, 1.5e-6, density, viscosity, k)

    def kv(value):
        return resistance_from_kv(value, density)

    links = [
        Link("P1", "s", "t", head_pump(4.68553, 30, density)), Link("A", "t", "u", pipe(20, 26.2, 10.2)),
        Link("HP", "u", "v", resistance_from_point(20e3, 20e-3 / 60)), Link("DV", "v", "w", kv(10)),
        Link("ST", "w", "top", kv(12)), Link("LLH", "top", "s", pipe(0.4, 51.6, 1.5)),
        Link("P2", "top", "z", head_pump(1.66909, 10, density)),
        Link("Z1", "z", "z1a", pipe(10, 20.2, 5.4)), Link("MV", "z1a", "z1b", kv(2.5)),
        Link("BV", "z1b", "s", kv(0.6932)),
        Link("Z2", "z", "z2a", pipe(16, 20.2, 7.2)), Link("RAD", "z2a", "s", kv(1.5536)),
    ]  # fmt: skip
    return links, {"s": 1.5e5}
