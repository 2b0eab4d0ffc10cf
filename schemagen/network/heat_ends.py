"""The openings at which heat enters or leaves a circuit: of givers, of takers, and of separators between circuits."""

from schemagen.network.groups import Groups, bridges
from schemagen.network.network import Network, Part, PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import PartKind

_HOT_ENDS = ("top", "buffer-top")


class HeatEnds:
    """The openings of every part at which heat enters or leaves a circuit, by sort."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self._across = self._buffers_across()
        self._sorts = {tag: self._waterways(part) for tag, part in network.parts.items()}

    def stops(self, part: Part, port: str) -> bool:
        """True where a way along a circuit ends: at a part entered by such an opening."""
        return port in self._sorts[part.tag]

    def sort(self, port: PortId) -> str:
        """The sort of an opening; "" where heat neither enters nor leaves."""
        return self._sorts[port.tag].get(port.port, "")

    def takes(self, port: PortId) -> str:
        """The sort of taker whose cooled water leaves by this opening."""
        return "" if port.port in _HOT_ENDS else self.sort(port)

    def gives(self, port: PortId, zone: int, sources: set[int]) -> bool:
        """True where heat comes into a circuit: a giver's outlet, a separator's load side, an exchanger's far side."""
        sort = self.sort(port)
        if sort in ("giver", "solar", "load"):
            return True
        if sort != "store":
            return False
        separates = self.network.parts[port.tag].kind.separates
        return port.port in _HOT_ENDS if separates else zone not in sources

    def _waterways(self, part: Part) -> dict[str, str]:
        """Openings at which heat enters or leaves a circuit, by sort.

        giver and solar give heat; store (coils, exchangers, the source side of separators) and emitter take it; load is
        the load side of separators.
        """
        kind = part.kind
        if kind.name == "buffer-two-pipe" and part.tag not in self._across:
            return {}
        giver = "solar" if kind.name == "solar-collector" else "giver"
        sorts = dict.fromkeys(kind.gives, giver)
        taker = "store" if kind.store or not kind.plain and _links_heat(kind) else "emitter"
        sorts |= dict.fromkeys(kind.takes, taker)
        if kind.separates:
            heating = [n for n, p in kind.ports.items() if p.role != "dead" and p.media == "H" and n not in sorts]
            sorts |= {n: "load" if n.startswith(("secondary", "load")) else "store" for n in heating}
        return sorts

    def _buffers_across(self) -> set[str]:
        """Two-pipe buffers hung across flow and return: without them every circuit through them is still closed."""
        network = self.network
        buffers = [tag for tag, part in network.parts.items() if part.kind.name == "buffer-two-pipe"]
        if not buffers:
            return set()
        number = {port: n for n, port in enumerate(network.ports())}
        edges: list[tuple[int, int]] = [(number[p.start], number[p.end]) for p in network.pipes]
        heat: dict[int, str] = {}
        for part in network.parts.values():
            for p in part.kind.passages:
                if is_wet(part.kind, p) and part.tag not in buffers:
                    if part.kind.gives or part.kind.takes:
                        heat[len(edges)] = part.tag
                    edges.append((number[PortId(part.tag, p.a)], number[PortId(part.tag, p.b)]))
        still = bridges(len(number), edges)
        joined: Groups[int] = Groups(range(len(number)))
        for a, b in edges:
            joined.join(a, b)
        group = joined.numbered()[0]
        alive = {group[edges[e][0]] for e in heat if not still[e]}
        ports = {tag: (group[number[PortId(tag, "top")]], group[number[PortId(tag, "bottom")]]) for tag in buffers}
        return {tag for tag, (top, bottom) in ports.items() if top == bottom and top in alive}


def _links_heat(kind: PartKind) -> bool:
    return any(p.sort == "heat" for p in kind.passages)
