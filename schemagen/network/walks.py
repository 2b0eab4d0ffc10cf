"""Walks along the water from an opening: against it, with it, and along a run until the water divides."""

from collections.abc import Callable, Sequence

from schemagen.network.network import Network, PortId
from schemagen.network.reach import Reach, Way

Passes = Callable[[PortId, Way], bool]
"""Whether a walk that came to this opening goes on inside its part along this way."""


def upstream(reach: Reach, start: PortId, passes: Passes) -> dict[PortId, None]:
    """Openings from which water can come to this one, as they are met; a pump passes water only on."""
    return _walk(reach, start, passes, lambda way: way.both or not way.forward)


def downstream(reach: Reach, start: PortId, passes: Passes) -> dict[PortId, None]:
    """Openings to which water can go from this one, in the order in which they are met."""
    return _walk(reach, start, passes, lambda way: way.forward)


def _walk(reach: Reach, start: PortId, passes: Passes, may_go: Callable[[Way], bool]) -> dict[PortId, None]:
    parts = reach.network.parts
    seen = {start: None}
    todo = [start]
    while todo:
        port = todo.pop()
        pump = parts[port.tag].kind.driver == "pump"
        inside = (
            way.to
            for way in reach.ways[port]
            if may_go(way) and not (pump and way.positions == ("off",)) and passes(port, way)
        )
        for other in (*reach.piped_to[port], *inside):
            if other not in seen:
                seen[other] = None
                todo.append(other)
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
