"""vessel-isolated (error)

What: what stands between a heat source of a sealed circuit and every expansion vessel can close by itself, or be
    blocked. A warning if it is only a hand valve that is not locked open and the source stops when told.
Why: cut off from its vessel, the boiler has nowhere to put the swelling water.
Cure: join the vessel inside the source's service valves, or use a lockable service valve (`locked: open`).
Source: the line between boiler, vessel and safety valve must not be able to be shut, a secured valve is acceptable:
    boiler maker citing older German rules, seen; BS EN 12828, from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: system-boiler, built-in: [pump, relief, gauge], capped: [condensate]}
      O1: {kind: safe-outlet}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
      E1: {kind: expansion-vessel, at: R1.a}
      K1: {kind: check-valve}
    connections:
      - [B1.flow, Z1, R1, K1, B1.return]
      - [B1.relief-outlet, O1.in]

Right:
    parts:
      B1: {kind: system-boiler, built-in: [pump, relief, gauge], capped: [condensate]}
      O1: {kind: safe-outlet}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, Z1, R1, B1.return]
      - [B1.relief-outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import cut_off, heated_circuits, names

FOLDS = ("heat-trapped-between-valves",)


def check(facts):
    for circuit in heated_circuits(facts):
        if circuit.sealed and circuit.vessels:
            for sources, between in cut_off(facts, circuit.sources, circuit.vessels, easy=True):
                yield _fault(sources, between, circuit.vessels[0].tag)


def _fault(sources, between, vessel: str) -> Fault:
    by_hand = all(part.kind.moved_by == "hand" for part in between)
    return Fault(
        f"{names(between)} can cut {names(sources)} off from {vessel}",
        f"join {vessel} on the side of {sources[0].tag}" + ", or write `locked: open` at its service valve" * by_hand,
        parts=(*(part.tag for part in (*sources, *between)), vessel),
        severity="warning" if by_hand and not any(source.uncontrolled for source in sources) else None,
    )
