"""Pipes down stream and up stream of others, by the directions of the list."""

from collections import deque
from collections.abc import Callable, Iterable

from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import PartKind


def flood(
    starts: Iterable[Pipe],
    network: Network,
    among: set[int],
    forward: bool,
    stops: Callable[[Part, str], bool],
) -> dict[int, int | None]:
    """Pipes that follow these (or come before them), passing parts from opening to opening in the listed direction.

    Each with the pipe from which it was reached, None for a start. `stops(part, opening)` ends the way at a part that
    is entered by that opening.
    """
    seen: dict[int, int | None] = {p.index: None for p in starts}
    queue = deque(network.pipes[i] for i in seen)
    while queue:
        pipe = queue.popleft()
        port = pipe.end if forward else pipe.start
        part = network.parts[port.tag]
        if stops(part, port.port):
            continue
        for name in inside(part.kind, port.port, forward):
            for other in network.pipes_at.get(PortId(port.tag, name), ()):
                on = other.start if forward else other.end
                if other.index in among and other.index not in seen and on == PortId(port.tag, name):
                    seen[other.index] = pipe.index
                    queue.append(other)
    return seen


def inside(kind: PartKind, port: str, forward: bool) -> list[str]:
    """Openings by which water that enters a part here can leave (or, backward, by which it can have entered)."""
    reached = [port]
    for at in reached:
        for p in kind.passages:
            if not is_wet(kind, p):
                continue
            for a, b, allowed in ((p.a, p.b, forward or p.sort == "both"), (p.b, p.a, not forward or p.sort == "both")):
                if a == at and allowed and b not in reached:
                    reached.append(b)
    return reached
