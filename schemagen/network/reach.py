"""How far water, heat and pressure reach from a port: the questions that the checks ask of a network.

Words: a *wet* passage is one that water can pass in some position. It is not a heat link, not an air gap, not the way
out through a relief valve, and nothing passes through the outside of the system.
"""

from collections import deque
from collections.abc import Callable, Collection, Iterable, Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property
from typing import NamedTuple

from schemagen.network.groups import numbered
from schemagen.network.network import Network, Part, PortId
from schemagen.parts.kind import OUTSIDE, PartKind, Passage

Positions = Mapping[str, str]
"""Position of a moving part by tag. A part that is not named may stand in any position."""

ANY: Positions = {}

BLOCKABLE = ("strainer", "magnetic-filter", "pool-filter")
"""Kinds that dirt can block, so that nothing vital may lie behind them."""


class Way(NamedTuple):
    """A wet passage seen from one of its ports. `forward`: water may go this way; it may go back if `both`.

    `held`: it is open only if its part is said to stand in one of its positions.
    """

    to: PortId
    tag: str
    positions: tuple[str, ...]
    forward: bool
    both: bool
    held: bool = False


@dataclass(frozen=True)
class Section:
    """Pipework under one pressure: ports that reach each other without a part that breaks the pressure.

    open       an open vent or the surface of a cistern is in it; otherwise it is sealed
    supply     a cold main or outlets are in it
    elsewhere  it goes on beyond an off-sheet connector
    """

    number: int
    ports: tuple[PortId, ...]
    tags: tuple[str, ...]
    open: bool
    supply: bool
    elsewhere: bool


def is_discharge(kind: PartKind, passage: Passage) -> bool:
    """True for the way out of a relief or frost valve: from a dead-end inlet, or out of a body, to discharge."""
    if passage.b == OUTSIDE or passage.sort != "one-way":
        return False
    a, b = kind.ports[passage.a], kind.ports[passage.b]
    return b.media == "D" and a.media != "D"


def is_wet(kind: PartKind, passage: Passage) -> bool:
    return (
        passage.sort in ("both", "one-way")
        and OUTSIDE not in (passage.a, passage.b)
        and not is_discharge(kind, passage)
    )


class Reach:
    """The reach functions of one network. Groups are worked out once, when first asked for."""

    def __init__(self, network: Network) -> None:
        self.network = network

    @cached_property
    def ways(self) -> dict[PortId, list[Way]]:
        """The wet passages at each port, both ends."""
        ways: dict[PortId, list[Way]] = {port: [] for port in self.network.ports()}
        for part in self.network.parts.values():
            for passage in part.kind.passages:
                if is_wet(part.kind, passage):
                    a, b = PortId(part.tag, passage.a), PortId(part.tag, passage.b)
                    both = passage.sort == "both"
                    ways[a].append(Way(b, part.tag, passage.positions, True, both))
                    ways[b].append(Way(a, part.tag, passage.positions, both, both))
        return ways

    @cached_property
    def piped_to(self) -> dict[PortId, list[PortId]]:
        """The ports at the other ends of the pipes of each port."""
        to: dict[PortId, list[PortId]] = {port: [] for port in self.network.ports()}
        for pipe in self.network.pipes:
            to[pipe.start].append(pipe.end)
            to[pipe.end].append(pipe.start)
        return to

    # direction ignored

    def wet(self, port: PortId) -> frozenset[PortId]:
        """All ports that share water with this one in some position of the moving parts."""
        return self._sets(self._wet, port)

    def same_water(self, a: PortId, b: PortId) -> bool:
        return self._wet[0][a] == self._wet[0][b]

    def wet_number(self, port: PortId) -> int:
        return self._wet[0][port]

    @cached_property
    def _wet(self) -> "_Partition":
        return self.joined(lambda part, passage: True)

    def joined(self, passes: "Passes", also: Iterable[Sequence[PortId]] = ()) -> "_Partition":
        """The number of each port's group, and the groups: they share water through pipes and wet passages passed.

        `also`: further pairs of ports that are taken as joined.
        """
        numbers = self.grouped(passes, also)
        members: list[list[PortId]] = [[] for _ in range(max(numbers.values(), default=-1) + 1)]
        for port, n in numbers.items():
            members[n].append(port)
        return numbers, members

    def grouped(self, passes: "Passes", also: Iterable[Sequence[PortId]] = ()) -> dict[PortId, int]:
        """The number of each port's group alone, as `joined` gives it."""
        at = self._place
        joints = [(a, b) for part, passage, a, b in self._wet_passages if passes(part, passage)]
        groups = numbered(self._along_pipes, [*joints, *((at[a], at[b]) for a, b in also)])
        return dict(zip(self.network.ports(), groups, strict=True))

    def in_state(self, port: PortId, positions: Positions) -> frozenset[PortId]:
        """All ports that share water with this one while moving parts stand so."""
        return self._walk(port, lambda way: _is_open(way, positions))

    def fixed(self, port: PortId, takers: bool = False, pumps: bool = False) -> frozenset[PortId]:
        """Ports to which pressure gets from here whatever stands shut, stuck or blocked.

        Not through hand valves (unless `locked: open`), moving parts, one-way parts, filters, or pumps and takers
        (unless told).
        """
        key = (takers, pumps)
        if key not in self._fixed:
            self._fixed[key] = self.joined(lambda part, passage: is_fixed(part, passage, takers, pumps))
        return self._sets(self._fixed[key], port)

    @cached_property
    def _fixed(self) -> dict[tuple[bool, bool], "_Partition"]:
        return {}

    def parted(self, shut: Collection[str]) -> dict[PortId, int]:
        """The number of each port's group: they share water while nothing passes the parts with these tags."""
        key = frozenset(shut)
        if key not in self._parted:
            self._parted[key] = self.grouped(lambda part, passage: part.tag not in key)
        return self._parted[key]

    @cached_property
    def _parted(self) -> dict[frozenset[str], dict[PortId, int]]:
        return {}

    def header(self, port: PortId, positions: Positions = ANY, without: Collection[str] = ()) -> frozenset[PortId]:
        """Ports reached through pipes and plain parts alone: no giver, taker, pump, bypass or separator is passed."""
        if not positions and not without:
            return self._sets(self.headers, port)
        parts = self.network.parts
        return self._walk(port, lambda w: parts[w.tag].kind.plain and w.tag not in without and _is_open(w, positions))

    @cached_property
    def headers(self) -> "_Partition":
        """The number of each port's header, and the headers: joined by pipes and plain parts in any position."""
        return self.joined(lambda part, passage: part.kind.plain)

    # direction heeded

    def downstream(self, port: PortId, positions: Positions = ANY, without: Collection[str] = ()) -> frozenset[PortId]:
        """Ports to which water can run from this one: one-way parts and pumps only forwards, unless a pump is off.

        `without`: tags whose inside is not passed.
        """
        return frozenset(self._downstream([port], positions, without))

    def downstream_of_all(
        self, ports: Iterable[PortId], positions: Positions = ANY, without: Collection[str] = ()
    ) -> frozenset[PortId]:
        """Ports to which water can run from any of these."""
        return frozenset(self._downstream(ports, positions, without))

    def upstream_of_all(self, ports: Iterable[PortId], positions: Positions = ANY) -> frozenset[PortId]:
        """Ports from which water can run to any of these."""
        return frozenset(self._downstream(ports, positions, (), back=True))

    def path(
        self, start: PortId, end: PortId, positions: Positions = ANY, without: Collection[str] = ()
    ) -> list[PortId]:
        """A shortest way of the water from start to end as ports, or [] if there is none."""
        came = self._downstream([start], positions, without, until=end)
        if end not in came:
            return []
        path = [end]
        while came[path[-1]] is not None:
            path.append(came[path[-1]])
        return path[::-1]

    def _downstream(
        self,
        starts: Iterable[PortId],
        positions: Positions,
        without: Collection[str],
        back: bool = False,
        until: PortId | None = None,
    ) -> dict[PortId, PortId | None]:
        came: dict[PortId, PortId | None] = dict.fromkeys(starts)
        piped, onward = self.piped_to, self.backwards if back else self.forwards
        queue = deque(came)
        while queue and until not in came:
            port = queue.popleft()
            for other in piped[port]:
                if other not in came:
                    came[other] = port
                    queue.append(other)
            if port.tag not in without:
                for way in onward[port]:
                    if way.to not in came and (not way.positions or _is_open(way, positions)):
                        came[way.to] = port
                        queue.append(way.to)
        return came

    @cached_property
    def forwards(self) -> dict[PortId, list[Way]]:
        """The ways by which water can run on from each port."""
        return self._onward(lambda way: way.forward)

    @cached_property
    def backwards(self) -> dict[PortId, list[Way]]:
        """The ways by which water can have come to each port."""
        return self._onward(lambda way: way.both or not way.forward)

    def _onward(self, leads: Callable[[Way], bool]) -> dict[PortId, list[Way]]:
        """The ways that lead on from each port. Water runs back through a pump only if that is said to be off."""
        pumps = {tag for tag, part in self.network.parts.items() if part.kind.driver == "pump"}

        def unless_held(way: Way) -> Way:
            return way._replace(held=True) if way.positions == ("off",) and way.tag in pumps else way

        def onward(ways: list[Way]) -> list[Way]:
            found = [unless_held(way) for way in ways if leads(way)]
            return ways if found == ways else found

        return {port: onward(ways) for port, ways in self.ways.items()}

    def chain(self, start: PortId, end: PortId, positions: Positions = ANY) -> tuple[str, ...]:
        """Tags of the parts that every way of the water from start to end passes, in order; () if there is no way.

        Source: dominators in a flow graph, T. Lengauer and R. E. Tarjan, ACM TOPLAS 1 (1979).
        """
        import networkx as nx

        region = self._downstream([start], positions, ())
        if end not in region:
            return ()
        flow = nx.DiGraph()
        for port in region:
            flow.add_edges_from((port, other) for other in self.piped_to[port])
            flow.add_edges_from((port, way.to) for way in self.forwards[port] if _is_open(way, positions))
        above = nx.immediate_dominators(flow, start)
        ports = [end]
        while ports[-1] != start:
            ports.append(above[ports[-1]])
        return tuple(dict.fromkeys(port.tag for port in reversed(ports)))

    # pressure

    def section(self, port: PortId) -> Section:
        """The pressure section of a port."""
        return self.sections[self._pressure[0][port]]

    @cached_property
    def sections(self) -> tuple[Section, ...]:
        return tuple(self._section(i, ports) for i, ports in enumerate(self._pressure[1]))

    @cached_property
    def _pressure(self) -> "_Partition":
        return self.joined(_keeps_pressure)

    def _section(self, number: int, ports: list[PortId]) -> Section:
        exits = [(self.network.parts[p.tag].kind, passage) for p in ports for passage in self._exits_at(p)]
        elsewhere = any(kind.name == "off-sheet-connector" for kind, _ in exits)
        supply = any(kind.driver == "main" or _is_tap(kind, passage) for kind, passage in exits)
        surface = any(
            passage.sort == "both" and kind.driver != "main" and kind.name != "off-sheet-connector"
            for kind, passage in exits
        )
        tags = tuple(dict.fromkeys(p.tag for p in ports))
        return Section(number, tuple(ports), tags, surface, supply, elsewhere)

    def _exits_at(self, port: PortId) -> list[Passage]:
        passages = self.network.parts[port.tag].kind.passages
        return [p for p in passages if p.b == OUTSIDE and p.a == port.port and p.sort != "air-gap"]

    # machinery

    @cached_property
    def _place(self) -> dict[PortId, int]:
        return {port: n for n, port in enumerate(self.network.ports())}

    @cached_property
    def _along_pipes(self) -> list[int]:
        """The group of each port, by its place among them all, when every part is shut."""
        at = self._place
        pipes = [(at[pipe.start], at[pipe.end]) for pipe in self.network.pipes]
        return numbered(range(len(at)), pipes)

    @cached_property
    def _wet_passages(self) -> list[tuple[Part, Passage, int, int]]:
        at = self._place
        return [
            (part, p, at[PortId(part.tag, p.a)], at[PortId(part.tag, p.b)])
            for part in self.network.parts.values()
            for p in part.kind.passages
            if is_wet(part.kind, p)
        ]

    def _sets(self, partition: "_Partition", port: PortId) -> frozenset[PortId]:
        number, members = partition
        key = (id(partition), number[port])
        if key not in self._made_sets:
            self._made_sets[key] = frozenset(members[number[port]])
        return self._made_sets[key]

    @cached_property
    def _made_sets(self) -> dict[tuple[int, int], frozenset[PortId]]:
        return {}

    def _walk(self, start: PortId, passes) -> frozenset[PortId]:
        seen = {start}
        todo = [start]
        while todo:
            port = todo.pop()
            for other in (*self.piped_to[port], *(w.to for w in self.ways[port] if passes(w))):
                if other not in seen:
                    seen.add(other)
                    todo.append(other)
        return frozenset(seen)


Passes = Callable[[Part, Passage], bool]
"""Whether a wet passage of a part is passed."""

_Partition = tuple[dict[PortId, int], list[list[PortId]]]


def _is_open(way: Way, positions: Positions) -> bool:
    return not way.positions or (positions[way.tag] in way.positions if way.tag in positions else not way.held)


def _is_tap(kind: PartKind, passage: Passage) -> bool:
    """A way out that somebody opens to draw drinking water."""
    return bool(passage.positions) and set(kind.ports[passage.a].media) <= set("CWT")


def is_fixed(part: Part, passage: Passage, takers: bool, pumps: bool) -> bool:
    """True for a passage through which pressure gets whatever stands shut, stuck or blocked; see `Reach.fixed`."""
    kind = part.kind
    if not is_wet(kind, passage):
        return False
    if kind.driver == "pump":
        return pumps
    if passage.sort != "both" or kind.name in BLOCKABLE:
        return False
    if passage.positions and not (part.value("locked") == "open" and "open" in passage.positions):
        return False
    return takers or not (passage.a in kind.takes and passage.b in kind.takes)


def _keeps_pressure(part: Part, passage: Passage) -> bool:
    """True for a wet passage on both sides of which the pressure is the same."""
    return not part.kind.breaks_pressure or (passage.sort == "both" and not passage.positions)
