"""heat-pump-coil-too-small (warning)

What: the coils that a heat pump heats together have less than 0.25 m² per kW of its output,
    or their rating at its highest flow temperature is below that output.
Why: a small coil cannot take the heat, the flow gets hot, and the heat pump stops before the store is warm.
Cure: a store made for heat pumps, or a plate exchanger with a pump of its own.
Source: 0.25 m² per kW: installer standard for heat pumps, from memory;
    a coil two to three times the usual: trade pages, seen

Wrong:
    parts:
      H1: {kind: air-heat-pump, output: 10 kW, capped: [relief-outlet]}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, cold-in, hot-out],
        coil-area: 1 m²}
      F1: {kind: strainer}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, output: 10 kW, capped: [relief-outlet]}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, cold-in, hot-out],
        coil-area: 3 m²}
      F1: {kind: strainer}
    connections:
      - [H1.flow, C1.coil-in]
      - [C1.coil-out, F1.in]
      - [F1.out, H1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heat_pumps._units import heat_pumps
from schemagen.network.network import PortId

LEAST_M2_PER_W = 0.25 / 1000


def check(facts):
    for unit in heat_pumps(facts):
        output = unit.value("output")
        stop = bodies(facts) | {part.tag for part in facts.takers}
        reached = facts.reach.downstream_of_all(facts.outlet_ports(unit), without=stop)
        coils = [
            p
            for p in facts.takers
            if p.kind.store == "wholesome" and any(PortId(p.tag, n) in reached for n in p.kind.takes)
        ]
        if not coils:
            continue
        areas, ratings = ([p.value(key) for p in coils] for key in ("coil-area", "coil-rating"))
        if output is None or (None in areas and None in ratings):
            yield Unknown(
                (unit.tag, *(p.tag for p in coils)), f"add `output` to {unit.tag} and `coil-area` to {coils[0].tag}"
            )
            continue
        if None not in ratings:
            short, said = sum(ratings) < output, f"take {quantity(sum(ratings), 'kW')}"
        else:
            short, said = sum(areas) < output * LEAST_M2_PER_W, f"have {quantity(sum(areas), 'm²')}"
        if short:
            yield Fault(
                f"the coils of {', '.join(p.tag for p in coils)} {said}, too little for the "
                f"{quantity(output, 'kW')} of {unit.tag}",
                f"use a coil of at least {quantity(output * LEAST_M2_PER_W, 'm²')}",
                parts=(coils[0].tag, unit.tag),
            )
