"""solar-coil-too-high (warning)

What: in a store with two coils the sun heats the upper one while another source heats the lower, or both heat the same.
Why: the sun should warm the cold bottom first and the boiler top up the top; the other way round the boiler heats
    everything and leaves the sun nothing to do.
Cure: the sun to the lower coil, the other source to the upper.
Source: common practice, no source

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      C1: {kind: twin-coil-unvented-cylinder, capped: [cold-in, hot-out, relief-tapping, circulation-return]}
    connections:
      - [S1.out, C1.upper-coil-in]
      - [C1.upper-coil-out, P1, K1, S1.in]
      - [B1.flow, C1.lower-coil-in]
      - [C1.lower-coil-out, B1.return]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      C1: {kind: twin-coil-unvented-cylinder, capped: [cold-in, hot-out, relief-tapping, circulation-return]}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1, K1, S1.in]
      - [B1.flow, C1.upper-coil-in]
      - [C1.upper-coil-out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_UPPER, _LOWER = "upper-coil-in", "lower-coil-in"


def check(facts):
    sun: set[int] = set()
    other: set[int] = set()
    for giver in facts.givers:
        waters = sun if giver.kind.name == "solar-collector" else other
        waters |= {facts.reach.wet_number(PortId(giver.tag, name)) for name in giver.kind.gives}
    for store in facts.network.parts.values():
        coils = [PortId(store.tag, name) for name in (_UPPER, _LOWER) if name in store.kind.ports]
        if len(coils) == 2 and all(facts.is_piped(coil) for coil in coils):
            upper, lower = (facts.reach.wet_number(coil) for coil in coils)
            if said := _said(upper, lower, sun, other):
                yield Fault(
                    f"in {store.tag} {said}",
                    f"join the collector to {coils[1]} and the other source to {coils[0]}",
                    parts=(store.tag,),
                    pipes=[facts.pipe_at(coil) for coil in coils],
                )


def _said(upper: int, lower: int, sun: set[int], other: set[int]) -> str:
    if upper in sun and lower in other and upper != lower:
        return "the sun heats the upper coil and another source the lower"
    if any(water in sun and water in other for water in (upper, lower)):
        return "the sun and another source heat one and the same coil"
    return ""
