"""no-gauge-or-filling-point (warning)

What: a sealed circuit with a heat source has no pressure gauge, or nothing to fill it through.
Why: a pressure that cannot be read cannot be set, and nothing can be topped up through nothing.
Cure: put the gauge next to the filling point.
Source: lists of sealed-system components in makers' sheets and a textbook, seen; BS EN 12828, from memory

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator}
      T3: {kind: tee}
      G1: {kind: pressure-gauge}
      T4: {kind: tee}
      L1: {kind: filling-loop}
      K1: {kind: double-check-valve}
      M1: {kind: cold-main}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, T3.a]
      - [T3.branch, G1.port]
      - [T3.b, T4.a]
      - [M1.out, K1.in]
      - [K1.out, L1.supply-end]
      - [L1.system-end, T4.branch]
      - [T4.b, P1.in]
      - [P1.out, B1.return]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.sealed_and_vented._sections import heated

_FILLS = ("filling-loop", "automatic-fill-unit", "fill-and-flush-valves", "fill-valve", "disconnecting-preventer")


def check(facts):
    told = set()
    for giver, section in heated(facts):
        if section.open or section.number in told:
            continue
        told.add(section.number)
        parts = [facts.network.parts[tag] for tag in section.tags]
        gauge = any(p.kind.name == "pressure-gauge" or "gauge" in p.built_in for p in parts)
        fills = any(p.kind.name in _FILLS or "fill" in (*p.built_in, *p.kind.counts_as) for p in parts)
        if section.elsewhere and not (gauge and fills):
            yield Unknown((giver.tag,), "what stands beyond the off-sheet connector")
            continue
        if not gauge:
            yield _fault(giver.tag, "no pressure gauge", "add a pressure-gauge beside the filling point")
        if not fills:
            yield _fault(giver.tag, "nothing to fill it through", "add a filling-loop behind a double-check-valve, or fill-and-flush-valves")


def _fault(tag: str, lacks: str, cure: str) -> Fault:
    return Fault(f"the sealed circuit of {tag} has {lacks}", cure, parts=(tag,))
