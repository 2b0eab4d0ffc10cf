"""relief-valve-isolated (error)

What: a heat source of a sealed circuit can be cut off from every relief valve by a valve, a pump, a check valve or a
    filter, even if that stands open in use. Each of several sources needs a relief valve inside its own valves.
Why: a shut valve, a blocked strainer or a stuck check valve must never come between the heat and the relief valve.
Cure: move the relief valve to the source's side, on plain pipe.
Source: fitted on the flow near the source without any isolating valve: BS EN 12828 as quoted by a boiler maker, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      V1: {kind: isolating-valve}
      S1: {kind: relief-valve, setting: 3 bar, at: P1.in}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      R1: {kind: radiator}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, V1, P1, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      V1: {kind: isolating-valve}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      R1: {kind: radiator}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, V1, P1, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import cut_off, heated_circuits, names

FOLDS = ("heat-trapped-between-valves",)


def check(facts):
    for circuit in heated_circuits(facts):
        if circuit.sealed and circuit.reliefs:
            for sources, between in cut_off(facts, circuit.sources, circuit.reliefs):
                yield _fault(facts, sources, between, circuit.reliefs[0].tag)


def _fault(facts, sources, between, relief: str) -> Fault:
    inside = facts.network.parts[relief].kind.name != "relief-valve"
    valve = f"the relief valve in {relief}" if inside else relief
    cure = f"give {names(sources)} a relief-valve" if inside else f"move {relief}, or add a relief-valve,"
    return Fault(
        f"{names(between)} can cut {names(sources)} off from {valve}",
        f"{cure} on plain pipe between {sources[0].tag} and {between[0].tag}",
        parts=(*(part.tag for part in (*sources, *between)), relief),
    )
