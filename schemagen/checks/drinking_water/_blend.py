"""How far hot water gets before it is blended, and how far blended water runs to a tap."""

from collections.abc import Iterable

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import mixes
from schemagen.network.network import PortId

BLENDING_VALVE = "thermostatic-mixing-valve"


def unblended(facts: Facts, starts: Iterable[PortId]) -> dict[PortId, None]:
    """Openings to which water of these gets without passing a mixing valve, a tap, another store or a heater.

    In the order in which the water meets them.
    """
    parts = facts.network.parts
    came = dict.fromkeys(starts)
    queue = list(came)
    for port in queue:
        part = parts[port.tag]
        inside = not (mixes(part) or part.kind.store or part.kind.giver)
        onward = [way.to for way in facts.reach.ways[port] if way.forward and inside]
        for other in (*facts.reach.piped_to[port], *onward):
            if other not in came:
                came[other] = None
                queue.append(other)
    return came


def distance_m(facts: Facts, valve: str) -> dict[PortId, float | None]:
    """Length [m] of pipe from a mixing valve's outlet to each opening behind it; None where a length is not stated.

    Not through taps and other mixing valves.
    """
    start = PortId(valve, "mixed")
    far: dict[PortId, float | None] = {start: 0.0}
    queue = list(far)
    for port in queue:
        passed = not mixes(facts.network.parts[port.tag])
        onward = [way.to for way in facts.reach.ways[port] if way.forward and passed]
        steps = [(other, 0.0) for other in onward]
        pipes = facts.network.pipes_at.get(port, ())
        steps += [(facts.network.far_end(pipe, port), pipe.values.get("length")) for pipe in pipes]
        for other, step in steps:
            if other not in far:
                far[other] = None if None in (step, far[port]) else far[port] + step
                queue.append(other)
    return far
