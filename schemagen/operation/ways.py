"""The ways that water takes in one state, told by the parts that matter: in a row, or side by side.

Each closed loop is told once. Where loops meet only in one part (a buffer, a mixing set), they are told apart; water
that is mixed in again is told from the stop that it leaves to the stop that it comes back to.
Source: blocks and series-parallel reduction as in any account of networks; which parts matter is common practice.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass
from itertools import combinations, pairwise
from typing import NamedTuple

import networkx as nx

from schemagen.network.groups import Groups
from schemagen.network.network import Network, Part, PortId
from schemagen.operation.circuit import is_joint
from schemagen.operation.moves import Flow, Inside
from schemagen.operation.states import is_tap
from schemagen.parts.kind import OUTSIDE

MOST_NAMED = 8
"""Of more parts side by side than this, only the first three and the last are named."""

_TELLING = ("bypass-valve", "inlet-control-group", "plate-heat-exchanger", "pressure-reducer", "underfloor-manifold")
_DULL = ("antifreeze-valve", "inline-antifreeze-valve", "thermostatic-radiator-valve")

_START, _END = -1, -2


class Stop(NamedTuple):
    """A part on the way, and what it is called there: its tag, and which of its waterways if it has several."""

    tag: str
    words: str


@dataclass(frozen=True)
class Branches:
    """Ways side by side. `past`: there is also a way past them with nothing in it."""

    ways: "tuple[Way, ...]"
    past: bool = False


Way = tuple[Stop | Branches, ...]


def ways_of(flow: Flow) -> tuple[Way, ...]:
    """The loops of the moving water, each from the part that begins it to the same part, or from outside to outside.

    Behind the ways of a loop stand those of water mixed in again, with only their ends told before.
    """
    return tuple(way for way in _Ways(flow).all() if way)


def in_words(way: Way) -> str:
    """For example "HP1 → DV1 → ST1 coil → HP1"."""
    return " → ".join(_item(item) for item in way)


def tags_on(ways: Iterable[Way]) -> Iterator[str]:
    """Tags of all parts on some ways."""
    for way in ways:
        for item in way:
            if isinstance(item, Stop):
                yield item.tag
            else:
                yield from tags_on(item.ways)


def _item(item: Stop | Branches) -> str:
    if isinstance(item, Stop):
        return item.words
    texts = [in_words(way) for way in item.ways]
    past = f" (and past {'it' if len(texts) == 1 else 'them'})" if item.past else ""
    if len(texts) == 1:
        return texts[0] + past
    if any(len(way) > 1 for way in item.ways):
        return f"[{' | '.join(texts)}]{past}"
    if len(texts) > MOST_NAMED:
        return f"{', '.join(texts[:3])} … {texts[-1]} ({len(texts)} side by side){past}"
    return f"{', '.join(texts[:-1])} and {texts[-1]}{past}"


def matters(part: Part) -> bool:
    """True for what a reader follows water by: not tees, hand valves, fittings and instruments."""
    kind = part.kind
    if kind.name in _DULL:
        return False
    return bool(
        kind.gives or kind.takes or kind.store or kind.separates or kind.driver or is_tap(part)
        or kind.moved_by in ("motor", "thermostat") or {"filter", "fill"} & set(kind.counts_as) or kind.name in _TELLING
    )  # fmt: skip


@dataclass(frozen=True)
class _Node:
    """Openings of one part between which water moves."""

    tag: str
    ports: tuple[str, ...]
    from_outside: bool
    to_outside: bool


class _Ways:
    def __init__(self, flow: Flow) -> None:
        self.flow = flow
        self.network: Network = flow.network
        self.rank = {tag: n for n, tag in enumerate(self.network.parts)}
        self.nodes = [node for part in self.network.parts.values() for node in self._nodes(part)]
        self.at = {PortId(node.tag, name): n for n, node in enumerate(self.nodes) for name in node.ports}
        self.outside = len(self.nodes)
        self.edges = list(self._edges())

    def _nodes(self, part: Part) -> Iterator[_Node]:
        names = [name for name in part.kind.ports if self._is_moving(PortId(part.tag, name))]
        out = {name: self.flow.direction(Inside(part.tag, name, OUTSIDE)) for name in names}
        groups: Groups[str] = Groups(names)
        for a, b in combinations(names, 2):
            if is_joint(part.kind) or self.flow.moves(Inside(part.tag, a, b)):
                groups.join(a, b)
        passing = 1 in out.values() and -1 in out.values()
        for group in (names,) if passing else groups.numbered()[1]:
            ends = {out[name] for name in group}
            yield _Node(part.tag, tuple(group), -1 in ends and not passing, 1 in ends and not passing)

    def _is_moving(self, port: PortId) -> bool:
        return any(self.flow.moves(pipe) for pipe in self.network.pipes_at.get(port, ()))

    def _edges(self) -> Iterator[tuple[int, int]]:
        for pipe in self.network.pipes:
            if way := self.flow.direction(pipe):
                yield (self.at[pipe.start], self.at[pipe.end])[::way]
        for n, node in enumerate(self.nodes):
            if node.from_outside:
                yield self.outside, n
            if node.to_outside:
                yield n, self.outside

    # loops

    def all(self) -> list[Way]:
        graph = nx.Graph()
        graph.add_edges_from(self.edges)
        blocks = sorted(sorted(block) for block in nx.biconnected_components(graph))
        begun = [(self._starts(block), set(block)) for block in blocks]
        begun.sort(key=lambda pair: self._order(pair[0][0]))
        return [way for starts, block in begun for way in self._told(block, starts)]

    def _order(self, start: int) -> tuple[int, int]:
        """Loops that a source of its own heat feeds come first, those that draw on others last."""
        if not self._gives(start):
            return 1, start
        return (2 if self.network.parts[self.nodes[start].tag].kind.takes else 0), start

    def _gives(self, n: int) -> bool:
        if n == self.outside:
            return False
        node = self.nodes[n]
        gives = self.network.parts[node.tag].kind.gives
        state = self.flow.state
        return node.tag in (*state.sources_on, *state.pumps_on) and any(name in gives for name in node.ports)

    def _starts(self, block: list[int]) -> list[int]:
        """Where a loop begins: outside, at the source, else at the store or separator, else at the pump."""
        if self.outside in block:
            return [self.outside]
        if givers := [n for n in block if self._gives(n)]:
            return givers if len(givers) > 1 and self._has_loop(set(block), givers[0]) else givers[:1]
        kinds = [(n, self.network.parts[self.nodes[n].tag].kind) for n in block]
        bodies = [n for n, kind in kinds if kind.separates or (kind.store and not self._is_coil(n))]
        pumps = [n for n, kind in kinds if kind.driver and self.nodes[n].tag in self.flow.state.pumps_on]
        return (bodies or pumps or [n for n in block if self._stop(n)] or block)[:1]

    def _is_coil(self, n: int) -> bool:
        node = self.nodes[n]
        return any(name in self.network.parts[node.tag].kind.takes for name in node.ports)

    def _has_loop(self, block: set[int], without: int) -> bool:
        rest = nx.DiGraph((u, v) for u, v in self.edges if {u, v} <= block and without not in (u, v))
        return not nx.is_directed_acyclic_graph(rest)

    def _told(self, block: set[int], starts: list[int]) -> list[Way]:
        stops = {n: self._stop(n) for n in block}
        reduced = _Reduced(self.rank)
        for n in sorted(block.difference(starts)):
            if stop := stops[n]:
                reduced.add(2 * n, 2 * n + 1, (stop,))
        several = len(starts) > 1
        for u, v in self.edges:
            if {u, v} <= block and u != v:
                a = _START if u in starts else 2 * u + bool(stops[u])
                b = _END if v in starts else 2 * v
                reduced.add(a, b, (stops[u],) if several and u in starts and stops[u] else ())
        first = None if several else stops[starts[0]]
        through, back = reduced.ways()
        return [*((first, *way, first) if first else way for way in through), *back]

    def _stop(self, n: int) -> Stop | None:
        if n == self.outside:
            return None
        node = self.nodes[n]
        part = self.network.parts[node.tag]
        return Stop(node.tag, " ".join(filter(None, (node.tag, _side(part, node.ports))))) if matters(part) else None


def _side(part: Part, ports: tuple[str, ...]) -> str:
    """Which waterway of a part these openings belong to, "" where it need not be said."""
    kind, common = part.kind, _common_words(ports)
    if {"cold-in", "hot-out"} <= set(ports) and kind.gives:
        return "hot water"
    if not kind.separates or common.endswith("coil"):
        return common
    return "buffer" if kind.takes and all(kind.ports[name].media == "H" for name in ports) else ""


def _common_words(ports: tuple[str, ...]) -> str:
    """ "upper coil" of upper-coil-in and upper-coil-out; "" if the names begin with different words."""
    split = [name.split("-") for name in ports]
    words = []
    for column in zip(*split, strict=False):
        if len(set(column)) > 1 or len(ports) < 2:
            break
        words.append(column[0])
    return " ".join(words)


class _Reduced:
    """Branches from _START to _END, those in a row and those side by side made into one again and again."""

    def __init__(self, rank: Mapping[str, int]) -> None:
        self.rank = rank
        self.after: dict[int, dict[int, list[Way]]] = {}
        self.before: dict[int, dict[int, None]] = {}

    def add(self, a: int, b: int, way: Way) -> None:
        if a == b:
            return
        self.after.setdefault(a, {}).setdefault(b, []).append(way)
        self.before.setdefault(b, {})[a] = None

    def ways(self) -> tuple[list[Way], list[Way]]:
        """Ways through, and ways back from a later stop to an earlier one; they pass every stop.

        There is one way through, if all can be told in a row and side by side.
        """
        todo = list(dict.fromkeys((*self.after, *self.before)))
        while todo:
            node = todo.pop()
            before, after = self.before.get(node, {}), self.after.get(node, {})
            if node in (_START, _END) or len(before) != 1 or len(after) != 1:
                continue
            (a,), (b,) = before, after
            self.add(a, b, self._merged(self._take(a, node)) + self._merged(self._take(node, b)))
            todo += [a, b]
        graph = nx.DiGraph()
        for a, far in self.after.items():
            for b, ways in far.items():
                graph.add_edge(a, b, way=self._merged(ways))
        there = nx.single_source_shortest_path(graph, _START) if _START in graph else {}
        back = nx.single_source_shortest_path(graph.reverse(copy=False), _END) if _END in graph else {}
        tries = [(there[a], back[b][::-1]) for a, b in graph.edges if a in there and b in back]
        through = [self._along(graph, [*to, *on]) for to, on in tries if set(to).isdisjoint(on)]
        return list(self._covering(through)), list(self._returning(graph, tries))

    def _covering(self, ways: Iterable[Way]) -> Iterator[Way]:
        """The longest, and of the others those with stops not told yet."""
        passed: set[str] = set()
        for way in sorted(ways, key=lambda way: (-len(way), self._order(way))):
            tags = set(tags_on((way,)))
            if not tags <= passed:
                passed |= tags
                yield way

    def _returning(self, graph: nx.DiGraph, tries: Iterable[tuple[list[int], list[int]]]) -> Iterator[Way]:
        """Of steps that lead back to a way already gone: from the last stop before them to the first one after."""
        told: set[tuple[int, int]] = set()
        for to, on in tries:
            met = next((n for n, node in enumerate(on) if node in to), len(on))
            steps = [to[-1], *on[: met + 1]]
            if met < len(on) and not told.issuperset(pairwise(steps)):
                told.update(pairwise(steps))
                gone, new = self._along(graph, to[to.index(on[met]) :]), self._along(graph, steps)
                yield (*gone[-1:], *new, *(gone or new)[:1])

    @staticmethod
    def _along(graph: nx.DiGraph, nodes: list[int]) -> Way:
        return tuple(item for a, b in pairwise(nodes) for item in graph.edges[a, b]["way"])

    def _take(self, a: int, b: int) -> list[Way]:
        del self.before[b][a]
        return self.after[a].pop(b)

    def _merged(self, ways: list[Way]) -> Way:
        if len(ways) == 1:
            return ways[0]
        flat: list[Way] = []
        past = False
        for way in ways:
            if len(way) == 1 and isinstance(way[0], Branches):
                flat += way[0].ways
                past = past or way[0].past
            else:
                flat += [way] if way else []
                past = past or not way
        return (Branches(tuple(sorted(flat, key=self._order)), past),) if flat else ()

    def _order(self, way: Way) -> list[int]:
        return [self.rank[tag] for tag in tags_on((way,))]
