"""Heights along a way through pipes that say theirs."""

from collections import deque
from collections.abc import Callable, Collection, Sequence

from schemagen.network.network import Network, PortId
from schemagen.network.reach import Reach


def shortest_way(
    reach: Reach, start: PortId, ends: Collection[PortId], passes: Callable[[PortId, PortId], bool]
) -> list[PortId]:
    """Ports on a shortest way from start to one of the ends, both included, or [].

    `passes` says whether the way may go inside a part from one opening to another.
    """
    came: dict[PortId, PortId | None] = {start: None}
    queue = deque(came)
    while queue:
        port = queue.popleft()
        if port in ends:
            way = [port]
            while (before := came[way[-1]]) is not None:
                way.append(before)
            return way[::-1]
        inside = (w.to for w in reach.ways[port] if passes(port, w.to))
        for other in (*reach.piped_to[port], *inside):
            if other not in came:
                came[other] = port
                queue.append(other)
    return []


def heights_along(network: Network, way: Sequence[PortId]) -> list[float]:
    """Heights [m] in the order in which the way meets them; pipes without heights add none."""
    out: list[float] = []
    for a, b in zip(way, way[1:], strict=False):
        pipe = next((p for p in network.pipes_at.get(a, ()) if network.far_end(p, a) == b), None)
        if pipe is not None:
            heights = list(pipe.values.get("heights", ()))
            out += heights if pipe.start == a else heights[::-1]
    return out


def falls(heights: Sequence[float]) -> bool:
    """True if a way that should rise goes down anywhere."""
    return any(after < before for before, after in zip(heights, heights[1:], strict=False))
