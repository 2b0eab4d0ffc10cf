"""no-heat-leak (error)

What: the heat of a stove or wood boiler that cannot be switched off has no way to get away by itself in a power cut: no
    loop without pump, valve or one-way part through a heat-leak radiator or the coil of a store, rising from the fire.
    Of several that are listed as its heat leak each must be such a loop.
Why: a fire cannot be switched off; in a power cut its heat must get away by itself, with nothing in the way.
Cure: a gravity loop without valves, 28 mm, to a store's coil or a high radiator without valves.
Source: solid fuel installation manuals, seen: valves normally open, an uncontrolled radiator as heat leak; no valve of
    any kind in that loop: trade discussion, seen; 28 mm, from memory
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      Z1: {kind: zone-valve, rest: shut}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, Z1, R1, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, R1, S1.return]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import in_the_way, names
from schemagen.checks.solid_fuel_and_solar._fires import fires, free_loop, is_leak
from schemagen.network.network import PortId
from schemagen.network.rises import falls, heights_along, shortest_way


def check(facts):
    loops = [(fire, free_loop(facts, fire)) for fire in fires(facts)]
    listed = [part for part in facts.takers if is_leak(part)]
    for fire, loop in loops:
        free = [part for tag in sorted(loop.tags) if loop.takes_heat(part := facts.network.parts[tag])]
        shut = [part for part in listed if part not in free and _shares_water(facts, fire, part)]
        shut = [part for part in shut if not any(other.takes_heat(part) for _, other in loops)]
        for part in shut:
            yield _closable(facts, fire, part)
        if not free and not shut:
            yield _nothing(facts, fire)
        elif falling := [part for part in free if _falls(facts, fire, part)]:
            yield Fault(
                f"the heat leak of {fire.tag} falls on its way to {falling[0].tag}",
                f"let the pipe rise all the way from {fire.tag}.flow to {falling[0].tag}",
                parts=(fire.tag, falling[0].tag),
            )


def _nothing(facts, fire) -> Fault | Unknown:
    if any(facts.goes_on_elsewhere(PortId(fire.tag, name)) for name in fire.kind.gives):
        return Unknown((fire.tag,), "what stands beyond the off-sheet connector")
    return Fault(
        f"{fire.tag} has no heat leak: in a power cut its heat has no way out",
        f"join a heat-leak-radiator or the coil of a store (`gravity: yes`) to {fire.tag}, "
        "with no pump, valve or check valve in the loop",
        parts=(fire.tag,),
    )


def _closable(facts, fire, leak) -> Fault:
    between = _between(facts, fire, leak)
    said = f"relies on {names(between)}" if between else "is no loop: both its ends are on one side"
    return Fault(
        f"the heat leak of {fire.tag} through {leak.tag} {said}",
        f"take {names(between)} out of that loop" if between else f"lead {leak.tag} from {fire.tag}.flow to its return",
        parts=(fire.tag, leak.tag, *(part.tag for part in between)),
    )


def _between(facts, fire, leak) -> list:
    body = [PortId(fire.tag, name) for name in fire.kind.gives]
    found = {}
    for name in leak.kind.takes:
        found |= {part.tag: part for part in in_the_way(facts, body, [PortId(leak.tag, name)], easy=False)}
    return [part for part in found.values() if part.tag != leak.tag and not part.kind.takes]


def _shares_water(facts, fire, leak) -> bool:
    return facts.reach.same_water(PortId(fire.tag, fire.kind.gives[0]), PortId(leak.tag, leak.kind.takes[0]))


def _falls(facts, fire, leak) -> bool:
    def passes(here: PortId, to: PortId) -> bool:
        return here.tag != fire.tag and to in facts.reach.fixed(here)

    ends = frozenset(PortId(leak.tag, name) for name in leak.kind.ports)
    starts = (PortId(fire.tag, name) for name in ("flow", "flow-2") if name in fire.kind.ports)
    ways = [way for start in starts if (way := shortest_way(facts.reach, start, ends, passes))]
    return bool(ways) and all(falls(heights_along(facts.network, way)) for way in ways)
