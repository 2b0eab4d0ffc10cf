"""Seeded closed networks of pipes, valves and pumps for the solver's tests."""

import math
import random

from schemagen.operation.hydraulics import Link, Pump, Resistance, Tube, resistance_from_kv
from schemagen.operation.pump_curves import ConstantPressure, ProportionalPressure, QuadraticCurve, TableCurve

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
                element = Tube(10 ** r.uniform(-2, 2), r.choice(BORES_M), 1.5e-6, DENSITY, VISCOSITY, r.choice((0, 0, 2, 10)))
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
                    ConstantPressure(r.uniform(5e3, 5e4), QuadraticCurve(6e4, 1e11)),
                    ConstantPressure(r.uniform(5e3, 5e4), None if i == 0 else QuadraticCurve(6e4, 1e11)),
                    ProportionalPressure(r.uniform(5e3, 5e4), 10 ** r.uniform(-5, -3), QuadraticCurve(6e4, 1e11)),
                )
            )
            links.append(Link(f"b{body}p{i}", f"b{body}n{a}", f"b{body}n{b}", Pump(pump), one_way=r.random() < 0.3))
    return links
