"""Flow side and return side of closed circuits, sorted into primary, heating, solar, brine and pool.

Both follow the directions of the list: from each heat giver's outlet to the first taker is flow, from there on return.
A pipe that gets both (behind a mixing valve, a bypass) is flow if a taker still lies ahead.
"""

from collections import deque
from collections.abc import Callable

from schemagen.network.groups import Groups, bridges
from schemagen.network.heat_ends import HeatEnds
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.reach import is_wet
from schemagen.network.streams import flood
from schemagen.parts.kind import OUTSIDE

_SIDED = {
    "heating-water": "heating",
    "antifreeze-mix": "heating",
    "ground-brine": "brine",
    "pool-water": "pool",
    "": "heating",
}


class Sides:
    """Sorts pipes of closed circuits into flow and return, and into primary, heating, solar, brine and pool."""

    def __init__(self, network: Network, medium: tuple[str, ...]) -> None:
        self.network, self.medium = network, medium
        self.among = {i for i, m in enumerate(medium) if m in _SIDED}
        self.ends = HeatEnds(network)

    def sections(self) -> dict[int, str]:
        """The section of each pipe that may lie in a closed circuit, by index."""
        pipes = [self.network.pipes[i] for i in sorted(self.among)]
        zone = self._zones()
        storing = {zone[p.index] for p in pipes if "store" in (self.ends.sort(p.start), self.ends.sort(p.end))}
        sources = {
            zone[p.index]
            for p in pipes
            if self.ends.sort(p.start) in ("giver", "solar") or self.ends.sort(p.end) in ("giver", "solar")
        }
        solar = {zone[p.index] for p in pipes if "solar" in (self.ends.sort(p.start), self.ends.sort(p.end))}
        flow = self.after(pipes, lambda p: self.ends.gives(p.start, zone[p.index], sources))
        back = {
            sort: self.after(pipes, lambda p, s=sort: self.ends.takes(p.start) == s) for sort in ("store", "emitter")
        }
        ahead = {
            sort: self.before(pipes, lambda p, s=sort: self.ends.sort(p.end) == s) for sort in ("store", "emitter")
        }
        result = {}
        for p in pipes:
            i = p.index
            takers_ahead = i in ahead["store"] or i in ahead["emitter"]
            returned = i in back["store"] or i in back["emitter"]
            is_flow = takers_ahead if (i in flow) == returned else i in flow
            side = ahead if is_flow else back
            to_store = i in side["store"] or i not in side["emitter"] and zone[i] in storing
            name = _SIDED[self.medium[i]]
            if name == "heating" and zone[i] in solar:
                name = "solar"
            elif name == "heating" and zone[i] in sources and to_store:
                name = "primary"
            result[i] = f"{name}-{'flow' if is_flow else 'return'}"
        return self._stubs_follow(result)

    def after(self, pipes: list[Pipe], starts: Callable[[Pipe], bool]) -> dict[int, int | None]:
        """The pipes down stream of those that start there, up to where heat is taken or given; see flood."""
        return flood(filter(starts, pipes), self.network, self.among, True, self.ends.stops)

    def before(self, pipes: list[Pipe], starts: Callable[[Pipe], bool]) -> dict[int, int | None]:
        """The same up stream."""
        return flood(filter(starts, pipes), self.network, self.among, False, self.ends.stops)

    def _zones(self) -> dict[int, int]:
        """Circuits cut at separators and stores: pipes that share water without passing one."""
        groups: Groups[object] = Groups([*range(len(self.network.pipes)), *self.network.ports()])
        for pipe in self.network.pipes:
            for end in (pipe.start, pipe.end):
                groups.join(end, pipe.index)
        for part in self.network.parts.values():
            for p in part.kind.passages:
                if is_wet(part.kind, p) and not (part.kind.separates and (part.kind.name != "buffer-two-pipe")):
                    groups.join(PortId(part.tag, p.a), PortId(part.tag, p.b))
            if part.kind.separates:
                self._keep_sides(groups, part)
        number = groups.numbered()[0]
        return {p.index: number[p.index] for p in self.network.pipes}

    @staticmethod
    def _keep_sides(groups: Groups[object], part: Part) -> None:
        """The two openings of one side of a separator belong to one circuit."""
        for side in ("primary-", "source-", "secondary-", "load-", "load-2-", "coil-"):
            names = [n for n in part.kind.ports if n.startswith(side) and (side != "load-" or "2" not in n)]
            for name in names[1:]:
                groups.join(PortId(part.tag, names[0]), PortId(part.tag, name))

    def _stubs_follow(self, section: dict[int, str]) -> dict[int, str]:
        """Pipes in which nothing moves (to vessels, gauges, drains) belong to the section that they hang on."""
        network = self.network
        number = {port: n for n, port in enumerate(network.ports())}
        edges = [(number[p.start], number[p.end]) for p in network.pipes]
        for part in network.parts.values():
            edges += [
                (number[PortId(part.tag, p.a)], number[PortId(part.tag, p.b)])
                for p in part.kind.passages
                if is_wet(part.kind, p)
            ]
        still = bridges(len(number), edges)
        known = {i for i in section if not still[i]}
        queue = deque(sorted(known))
        while queue:
            i = queue.popleft()
            for end in (network.pipes[i].start, network.pipes[i].end):
                for name in self._beside(end):
                    for other in network.pipes_at.get(PortId(end.tag, name), ()):
                        if other.index in section and other.index not in known:
                            known.add(other.index)
                            section[other.index] = section[i]
                            queue.append(other.index)
        return section

    def _beside(self, port: PortId) -> list[str]:
        """Openings of a part on the same section as this one: at a body only its vent or drain next to it."""
        kind = self.network.parts[port.tag].kind
        if not self.ends.sort(port):
            return list(kind.ports)
        pairs = [(p.a, p.b) for p in kind.passages] + [(p.b, p.a) for p in kind.passages]
        return [b for a, b in pairs if a == port.port and b != OUTSIDE and kind.ports[b].role == "dead"]
