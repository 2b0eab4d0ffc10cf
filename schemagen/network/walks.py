"""Walks along the water from an opening: against it, with it, and along a run until the water divides."""

from collections.abc import Callable, Mapping, Sequence

from schemagen.network.network import Network, PortId
from schemagen.network.reach import Reach, Way

Passes = Callable[[PortId, Way], bool]
"""Whether a walk that came to this opening goes on inside its part along this way."""


def upstream(reach: Reach, start: PortId, passes: Passes) -> dict[PortId, None]:
    """Openings from which water can come to this one, as they are met; a pump passes water only on."""
    return _walk(reach, reach.backwards, start, passes)


def downstream(reach: Reach, start: PortId, passes: Passes) -> dict[PortId, None]:
    """Openings to which water can go from this one, in the order in which they are met."""
    return _walk(reach, reach.forwards, start, passes)


def _walk(reach: Reach, onward: Mapping[PortId, Sequence[Way]], start: PortId, passes: Passes) -> dict[PortId, None]:
    piped = reach.piped_to
    seen = {start: None}
    todo = [start]
    while todo:
        port = todo.pop()
        for other in piped[port]:
            if other not in seen:
                seen[other] = None
                todo.append(other)
        for way in onward[port]:
            if way.to not in seen and not way.held and passes(port, way):
                seen[way.to] = None
                todo.append(way.to)
    return seen


def run_from(network: Network, reach: Reach, carries: Sequence[bool], start: PortId) -> list[PortId]:
    """Openings along a run away from this one: over pipes that carry water and parts in line.

    It ends where the water divides, at a body (heat source, emitter, store, separator), or where it would run again.
    """
    passed: list[PortId] = []
    seen = {start}
    port = start
    while True:
        pipes = [pipe for pipe in network.pipes_at.get(port, ()) if carries[pipe.index]]
        if len(pipes) != 1:
            return passed
        far = network.far_end(pipes[0], port)
        passed.append(far)
        kind = network.parts[far.tag].kind
        onward = list(dict.fromkeys(way.to for way in reach.ways[far] if _carries(network, carries, way.to)))
        if len(onward) != 1 or onward[0] in seen or kind.giver or kind.taker or kind.store or kind.separates:
            return passed
        passed.append(port := onward[0])
        seen.add(port)


def _carries(network: Network, carries: Sequence[bool], port: PortId) -> bool:
    return any(carries[pipe.index] for pipe in network.pipes_at.get(port, ()))
