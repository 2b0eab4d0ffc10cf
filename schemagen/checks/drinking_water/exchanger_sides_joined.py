"""exchanger-sides-joined (error)

What: two waters that a part keeps apart with a wall (coil and store, the two sides of a plate exchanger, the heating
    and the tap side of a boiler) are joined by pipework outside it, other than through a filling part.
Why: the wall is there to keep the two waters apart; a pipe round it undoes that.
Cure: find the stray pipe. Usually one opening of a cylinder has been taken for another.
Source: common practice, no source; it follows from the Water Supply (Water Fittings) Regulations 1999, schedule 2,
    paragraph 15, seen in the Northern Ireland wording
Caution: drinking-water

Wrong:
    parts:
      B1: {kind: system-boiler}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      T1: {kind: tee}
      T2: {kind: tee}
      W1: {kind: cold-water-cistern, capped: [outlet-2]}
    connections:
      - [B1.flow, C1.coil-in]
      - [C1.coil-out, T1, B1.return]
      - [W1.outlet, T2, C1.cold-in]
      - [T1, T2]

Right:
    parts:
      B1: {kind: system-boiler}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      W1: {kind: cold-water-cistern, capped: [outlet-2]}
    connections:
      - [B1.flow, C1.coil-in]
      - [C1.coil-out, B1.return]
      - [W1.outlet, C1.cold-in]
"""

from schemagen.checks.drinking_water._backflow import joined_without
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"


def check(facts):
    apart = {t for t, p in facts.network.parts.items() if p.kind.protects > 2 or "fill" in p.kind.counts_as}
    number = joined_without(facts, apart)
    for part in facts.network.parts.values():
        for passage in part.kind.passages:
            if passage.sort != "heat" or "outside" in (passage.a, passage.b):
                continue
            a, b = PortId(part.tag, passage.a), PortId(part.tag, passage.b)
            if number[a] == number[b] and b not in facts.waterway(a):
                yield _fault(facts, part, a, b)
                break


def _fault(facts, part, a, b) -> Fault:
    way = _way(facts, a, b)
    steps = set(zip(way, way[1:], strict=False))
    pipes = [p for p in facts.network.pipes if (p.start, p.end) in steps or (p.end, p.start) in steps]
    through = list(dict.fromkeys(port.tag for port in way if port.tag != part.tag))
    by = f" through {', '.join(through[:5])}{', …' if len(through) > 5 else ''}" if through else " by a pipe"
    return Fault(
        f"the two waters that {part.tag} keeps apart, at {a} and {b}, are joined{by}",
        f"take out the pipe that joins them, or check the openings of {part.tag}",
        parts=(part.tag, *through),
        pipes=pipes,
        ports=(a, b),
    )


def _way(facts, a, b) -> list[PortId]:
    """A shortest way from the one water of a part to the other, outside it."""
    goals = set(facts.waterway(b))
    came: dict[PortId, PortId | None] = dict.fromkeys(facts.waterway(a))
    queue = list(came)
    for port in queue:
        if port in goals:
            way = [port]
            while came[way[-1]] is not None:
                way.append(came[way[-1]])
            return way[::-1]
        inside = [way.to for way in facts.reach.ways[port]] if port.tag != a.tag else []
        for other in (*facts.reach.piped_to[port], *inside):
            if other not in came:
                came[other] = port
                queue.append(other)
    return []
