"""vessel-isolated (error)

What: what stands between a heat source and every expansion vessel can close by itself. A warning if it is only a hand valve that is not locked open.
Why: cut off from its vessel, the boiler has nowhere to put the swelling water.
Cure: join the vessel inside the source's service valves, or use a lockable service valve (`locked: open`).
Source: the line between boiler, vessel and safety valve must not be able to be shut; a secured valve is acceptable (boiler maker citing older German rules, seen); BS EN 12828, from memory
Caution: pressure

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
      V1: {kind: isolating-valve}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, V1.a]
      - [V1.b, E1.port]
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
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import heated, in_between, vessel_ports
from schemagen.network.network import PortId

FOLDS = ("heat-trapped-between-valves",)


def check(facts):
    for giver, section in heated(facts):
        vessels = vessel_ports(facts, section)
        if section.open or not vessels or facts.reach.fixed_of(giver.tag, takers=True, pumps=True) & set(vessels):
            continue
        between = in_between(facts, [PortId(giver.tag, n) for n in giver.kind.gives], vessels)
        between = [tag for tag in between if facts.network.parts[tag].kind.driver != "pump" and not facts.network.parts[tag].kind.takes]
        by_hand = all(facts.network.parts[tag].kind.moved_by == "hand" for tag in between)
        yield Fault(
            f"{', '.join(between) or 'a part'} can cut {giver.tag} off from {vessels[0].tag}",
            f"join {vessels[0].tag} on the side of {giver.tag}, or write `locked: open` at its service valve",
            parts=(giver.tag, *between, vessels[0].tag),
            severity="warning" if by_hand and giver.kind.giver == "controlled" else None,
        )
