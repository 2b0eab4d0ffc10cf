"""The states in which everything calls and only some of the heat sources run: for finding idle ones."""

from collections.abc import Iterator, Sequence
from itertools import combinations

from schemagen.network.network import Network, PortId
from schemagen.operation.standing import Standing
from schemagen.operation.states import State

MOST_SUBSETS = 5
"""Of more heat sources than this, only each alone and all but each are told."""


def states_of_sources(standing: Standing) -> Iterator[State]:
    """Each choice of the heat sources on one water, at least one and not all; none where there is one source only."""
    calls = standing.together(standing.calls)
    running = standing.calling(calls, "", "sources").sources_on
    together: dict[int, list[str]] = {}
    for tag in running:
        for name in standing.parts[tag].kind.gives[:1]:
            together.setdefault(standing.network.reach.wet_number(PortId(tag, name)), []).append(tag)
    for sources in together.values():
        for some in _choices(sources):
            off = [t for t in sources if t not in some]
            name = f"only {', '.join(some)} on" if len(some) <= len(off) else f"{', '.join(off)} off"
            yield standing.calling(calls, name, "sources", without=[*off, *_own_pumps(standing.network, off)])


def _own_pumps(network: Network, sources: Sequence[str]) -> list[str]:
    """Pumps in the run of a source, before any branch: they stop with it."""
    return [tag for source in sources for tag in _in_run(network, source)]


def _in_run(network: Network, source: str) -> Iterator[str]:
    for name in network.parts[source].kind.gives:
        port, last = PortId(source, name), None
        while port is not None and port != last:
            beyond = network.reach.piped_to[port]
            if len(beyond) != 1 or beyond[0].tag == source:
                break
            ways = network.reach.ways[beyond[0]]
            if network.parts[beyond[0].tag].kind.driver == "pump":
                yield beyond[0].tag
            onward = {way.to for way in ways}
            last, port = port, onward.pop() if len(onward) == 1 else None


def _choices(sources: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Some of the sources, at least one and not all."""
    count = len(sources)
    sizes = range(1, count) if count <= MOST_SUBSETS else (1, count - 1)
    return (some for size in sizes for some in combinations(sources, size))
