"""no-heat-leak (error)

What: a stove or wood boiler that cannot be switched off has no way by which its heat gets away by itself in a power cut: a loop without pump, valve or one-way part through a heat-leak radiator or a gravity coil.
Why: a fire cannot be switched off; in a power cut its heat must get away by itself, with nothing in the way.
Cure: a gravity loop without valves, 28 mm, to a store's coil or a high radiator without valves.
Source: solid fuel installation notes, seen: valves normally open, an uncontrolled radiator as heat leak; trade discussion, seen; 28 mm from memory
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      Z1: {kind: zone-valve, rest: shut}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, Z1.in]
      - [Z1.out, R1.a]
      - [R1.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import fires, leaks, way_through
from schemagen.network.network import PortId


def check(facts):
    for fire in fires(facts):
        found = list(leaks(facts))
        free = [taker for taker in found if way_through(facts, fire, taker)]
        closable = [taker for taker in found if taker not in free and _same_water(facts, fire, taker)]
        if not free:
            named = f"the heat leak of {fire.tag} relies on {_blocker(facts, fire, closable[0])}" if closable else f"{fire.tag} has no heat leak"
            yield Fault(
                named,
                f"join a heat-leak-radiator or a gravity coil to {fire.tag} with no pump, valve or check valve in the loop",
                parts=(fire.tag, *(taker.tag for taker in closable)),
            )
        else:
            for taker in closable:
                yield Fault(
                    f"{taker.tag} is listed as the heat leak of {fire.tag}, but {_blocker(facts, fire, taker)} can shut it off",
                    f"take {_blocker(facts, fire, taker)} out of the loop of {taker.tag}",
                    parts=(fire.tag, taker.tag),
                )


def _same_water(facts, fire, taker) -> bool:
    return facts.reach.same_water(PortId(fire.tag, fire.kind.gives[0]), PortId(taker.tag, taker.kind.takes[0]))


def _blocker(facts, fire, taker) -> str:
    from_fire = facts.reach.fixed_of(fire.tag)
    for name in taker.kind.takes:
        port = PortId(taker.tag, name)
        if port in from_fire:
            continue
        for here in sorted(facts.reach.fixed(port)):
            kind = facts.network.parts[here.tag].kind
            if here.tag != taker.tag and (kind.moved_by or kind.driver == "pump" or kind.name.endswith("check-valve")):
                return here.tag
    return "a part that can shut"
