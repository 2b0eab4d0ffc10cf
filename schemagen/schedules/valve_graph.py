"""The pipework as hand valves see it: pieces that stay joined when all of them are shut, and the valves between.

Check valves, motor valves and reducers part nothing here: they may leak, open by themselves or lose their power.
"""

from collections import deque
from collections.abc import Collection, Iterable, Iterator
from functools import cached_property

from schemagen.checks.facts import Facts
from schemagen.checks.service._regions import shuts_by_hand
from schemagen.network.groups import Groups
from schemagen.network.network import Part, PortId
from schemagen.network.reach import is_wet
from schemagen.operation.states import is_tap
from schemagen.operation.ways import matters
from schemagen.parts.kind import OUTSIDE, Passage
from schemagen.schedules.naming import listed

_PLAIN, _SET, _STOP = 1, 2, 3
_ONE = 1000
"""A valve counts so much, and a little more if shutting it loses a setting, or is a stop and no tight valve."""

_WEIGHTS = {
    "balancing-valve": _SET, "flow-regulator": _SET, "lockshield-valve": _SET, "thermostatic-radiator-valve": _STOP,
}  # fmt: skip


class ValveGraph:
    """Pieces of one network by number, and which hand valves stand between them.

    `usable` are the tags of valves that may be shut: open in normal use, not locked, and with more behind them than a
    relief valve, a vessel, a vent or a discharge pipe. `closed` are hand valves that are shut in normal use.
    """

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.network = facts.network
        parts = self.network.parts.values()
        self.closed = tuple(p.tag for p in parts if not is_tap(p) and not all(passes(p, w) for w in _wet(p)))
        able = [p for p in parts if p.tag not in self.closed and (shuts_by_hand(p) or has_valves_built_in(p))]
        free = [p.tag for p in able if p.value("locked") != "open" and not is_tap(p) and _wet(p)]
        self.usable = tuple(tag for tag in free if not self._guards_safety(tag))

    @cached_property
    def piece(self) -> dict[PortId, int]:
        """The number of the piece in which each opening lies."""
        return self._grouped(self.usable)[0]

    @cached_property
    def members(self) -> list[list[PortId]]:
        """The openings of each piece."""
        return self._grouped(self.usable)[1]

    def pieces_of(self, ports: Iterable[PortId]) -> tuple[int, ...]:
        return tuple(dict.fromkeys(self.piece[port] for port in ports))

    def beside(self, tag: str) -> tuple[int, ...]:
        """The pieces on the sides of a valve."""
        if tag not in self._beside:
            self._beside[tag] = self.pieces_of(_wet_ports(self.network.parts[tag]))
        return self._beside[tag]

    @cached_property
    def _beside(self) -> dict[str, tuple[int, ...]]:
        return {}

    def smallest_cut(
        self, starts: Iterable[PortId], ends: Iterable[PortId], spared: Collection[str] = ()
    ) -> tuple[str, ...] | None:
        """The fewest usable valves that part all starts from all ends, nearest to the starts; None if none do.

        `spared` are valves that are not to be shut. Of sets alike in number, one that loses fewest settings.
        Source: Menger's theorem; minimum cut of a graph whose nodes have capacities, as any textbook has it.
        """
        import networkx as nx
        from networkx.algorithms.flow import edmonds_karp

        graph = nx.DiGraph()
        graph.add_nodes_from(("ends", "starts"))
        graph.add_edges_from(("ends", n) for n in self.pieces_of(ends))
        graph.add_edges_from((n, "starts") for n in self.pieces_of(starts))
        for tag in self.usable:
            weight = {} if tag in spared else {"capacity": _ONE + self._weight(tag)}
            graph.add_edge((tag, 0), (tag, 1), **weight)
            for n in self.beside(tag):
                graph.add_edge(n, (tag, 0))
                graph.add_edge((tag, 1), n)
        try:
            _, (_, near) = nx.minimum_cut(graph, "ends", "starts", flow_func=edmonds_karp)
        except nx.NetworkXUnbounded:
            return None
        return tuple(tag for tag in self.usable if (tag, 1) in near and (tag, 0) not in near)

    def reached(self, starts: Iterable[PortId], shut: Collection[str]) -> frozenset[int]:
        """The pieces joined to the starts when these valves are shut."""
        number, members = self._joined(frozenset(shut))
        wanted = dict.fromkeys(number[n] for n in self.pieces_of(starts))
        return frozenset(n for group in wanted for n in members[group])

    def _joined(self, shut: frozenset[str]) -> tuple[dict[int, int], list[list[int]]]:
        """Groups of pieces that are joined when these valves are shut."""
        if shut not in self._known:
            joined = Groups(range(len(self.members)))
            for tag in self.usable:
                if tag not in shut:
                    first, *rest = self.beside(tag)
                    for n in rest:
                        joined.join(first, n)
            self._known[shut] = joined.numbered()
        return self._known[shut]

    @cached_property
    def _known(self) -> dict[frozenset[str], tuple[dict[int, int], list[list[int]]]]:
        return {}

    def sides(self, tag: str) -> tuple[tuple[str, ...], ...]:
        """For each side of a valve the parts that a reader knows the place by, nearest first, up to other hand valves.

        Where there are none of these, the pipe to the hand valves at which the side ends.
        """
        return tuple(self._near(port) for port in _wet_ports(self.network.parts[tag]))

    def _near(self, start: PortId) -> tuple[str, ...]:
        seen, queue = {start}, deque([start])
        known: dict[str, None] = {}
        safety: dict[str, None] = {}
        valves: dict[str, None] = {}
        while queue:
            port = queue.popleft()
            part = self.network.parts[port.tag]
            shuts = port.tag in (start.tag, *self.usable, *self.closed)
            if port.tag != start.tag and port.tag not in self.closed:
                (valves if shuts and not matters(part) else safety if is_safety(part) else known).setdefault(port.tag)
            for other in (*self.facts.reach.piped_to[port], *self._inside(port, shuts)):
                if other not in seen:
                    seen.add(other)
                    queue.append(other)
        told = [t for t in known if matters(self.network.parts[t]) and not _is_drain(self.network.parts[t])]
        return tuple(told or safety or ([f"the pipe to {listed(valves)}"] if valves else []))

    def _inside(self, port: PortId, shuts: bool) -> Iterator[PortId]:
        return (way.to for way in self.facts.reach.ways[port] if not shuts)

    def _weight(self, tag: str) -> int:
        return _WEIGHTS.get(self.network.parts[tag].kind.name, _PLAIN)

    def _grouped(self, apart: Collection[str]) -> tuple[dict[PortId, int], list[list[PortId]]]:
        return self.network.reach.joined(lambda part, passage: part.tag not in apart and passes(part, passage))

    def _guards_safety(self, tag: str) -> bool:
        """True if on one side of the valve, all other valves open, there is nothing but safety devices."""
        number, members = self._grouped((tag,))
        sides = {number[port] for port in _wet_ports(self.network.parts[tag])}
        for side in sides:
            kinds = {t: self.network.parts[t] for t in dict.fromkeys(p.tag for p in members[side]) if t != tag}
            if any(is_safety(p) for p in kinds.values()) and not any(_in_use(p) for p in kinds.values()):
                return True
        return False


def has_valves_built_in(part: Part) -> bool:
    """True for a part with service valves in its own openings."""
    return "isolating" in part.built_in or part.value("has-valves") is True


def is_safety(part: Part) -> bool:
    """True for relief and discharge valves, vessels, open vents and the ends of discharge pipes."""
    kind = part.kind
    relieves = kind.moved_by == "pressure" and "lifted" in kind.positions or kind.name == "thermal-discharge-valve"
    return (
        relieves or kind.name.endswith("expansion-vessel") or kind.name in ("open-vent-end", "safe-outlet", "tundish")
    )


def _in_use(part: Part) -> bool:
    """True for what people want water or heat of, or what brings either."""
    kind = part.kind
    if is_safety(part) and kind.name != "inlet-control-group":
        return False
    brings = bool(kind.gives or kind.takes or kind.store or kind.separates or kind.driver)
    return brings or is_tap(part) and not _is_drain(part) or any(_is_supply(p) for p in kind.passages)


def _is_drain(part: Part) -> bool:
    return part.kind.shape == "stub" and "drain" in part.kind.counts_as


def _is_supply(passage: Passage) -> bool:
    return passage.b == OUTSIDE and passage.sort == "both" and not passage.positions


def _wet(part: Part) -> list[Passage]:
    return [passage for passage in part.kind.passages if is_wet(part.kind, passage)]


def passes(part: Part, passage: Passage) -> bool:
    """True unless a person has shut this way and keeps it shut in normal use. A tap that works joins no two pipes."""
    if is_tap(part):
        return False
    if part.kind.moved_by != "hand" or not passage.positions:
        return True
    return part.value("locked") != "shut" and normal_position(part) in passage.positions


def normal_position(part: Part) -> str:
    """How a valve stands in normal use, "" if the kind does not say."""
    return str(part.value("normal") or part.kind.normal or part.kind.rest)


def _wet_ports(part: Part) -> list[PortId]:
    used = dict.fromkeys(n for p in part.kind.passages if is_wet(part.kind, p) for n in (p.a, p.b))
    names = used or dict.fromkeys(p.name for p in part.kind.ports.values() if p.need in ("must", "may"))
    return [PortId(part.tag, name) for name in names]
