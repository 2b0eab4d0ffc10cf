"""The ways that water takes between points of a network: which move in a state, and which share their water."""

from collections.abc import Iterator, Sequence
from functools import cached_property
from typing import TYPE_CHECKING, NamedTuple

from schemagen.network.groups import Groups
from schemagen.network.network import Part, PortId
from schemagen.operation.circuit import is_joint
from schemagen.operation.moves import Edge, Inside
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.known import once
from schemagen.sizing.plant import Plant, taking
from schemagen.sizing.separator import heart, in_heart, is_bottom, is_top, through_heart
from schemagen.sizing.warm import Stream

if TYPE_CHECKING:
    from schemagen.sizing.solved import Solved

CISTERN = "cold-water-cistern"
"""What it gives comes in again through its float valve."""


class Way(NamedTuple):
    """A pipe, or the way inside a part from opening `a` to `b`, between two points; `sign` +1: moves as listed."""

    start: int
    end: int
    sign: int
    pipe: int = -1
    tag: str = ""
    a: str = ""
    b: str = ""
    body: int | None = None

    @property
    def upstream(self) -> int:
        """The point from which its water comes."""
        return self.start if self.sign > 0 else self.end


class WayGraph:
    """The points of a network, and the ways between them in any state."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.network = plant, plant.network
        self.ways = once(lambda state: tuple(self.moving(state)), "name")
        self._parted: tuple[Sequence[Way], dict[int, int], list[list[int]]] = (), {}, []

    @cached_property
    def point(self) -> dict[PortId | str, int]:
        """The point of each opening: joints and cold cisterns are one point, separators a hot one above and a cool one
        below."""
        groups: Groups[PortId | str] = Groups([OUTSIDE, *self.network.ports()])
        for part in self.network.parts.values():
            names = [n for n in part.kind.ports if part.kind.ports[n].role != "dead"]
            if is_joint(part.kind):
                self._join(groups, part, names)
            elif part.kind.name == CISTERN:
                self._join(groups, part, [n for n in names if n != "overflow"])
            elif part.kind.separates:
                self._join(groups, part, [n for n in names if is_top(part, n)])
                self._join(groups, part, [n for n in names if is_bottom(part, n)])
        return groups.numbered()[0]

    @staticmethod
    def _join(groups, part: Part, names: list[str]) -> None:
        for a, b in zip(names, names[1:], strict=False):
            groups.join(PortId(part.tag, a), PortId(part.tag, b))

    def at(self, tag: str, name: str) -> int:
        """The point of an opening of a part, or of the outside."""
        return self.point[OUTSIDE if name == OUTSIDE else PortId(tag, name)]

    def moving(self, state: State, network: "Solved | None" = None) -> Iterator[Way]:
        """The ways that move in a state by its positions, or as its solved network has them."""
        flow = self.plant.operation.flow(state)

        def direction(edge: Edge) -> int:
            return network.direction(edge, flow.direction(edge)) if network else flow.direction(edge)

        for way, edges in self._as_listed:
            for edge in edges:
                if sign := direction(edge):
                    yield way if sign > 0 or self.is_heart(way) else way._replace(sign=sign)
                    break

    @cached_property
    def _as_listed(self) -> list[tuple[Way, Sequence[Edge]]]:
        """Every way as it would move if it moved as listed, and the edges of which one has to move for it."""
        point, bodies = self.point, self.plant.waters.body
        found: list[tuple[Way, Sequence[Edge]]] = [
            (Way(point[pipe.start], point[pipe.end], 1, pipe=pipe.index, body=bodies[pipe.index]), (pipe,))
            for pipe in self.network.pipes
        ]
        for part in self.network.parts.values():
            if not is_joint(part.kind) and part.kind.name != CISTERN:
                found += self._ways_in(part)
        return found

    def _ways_in(self, part: Part) -> Iterator[tuple[Way, Sequence[Edge]]]:
        """The ways inside a part between two points; that between the ends of a separator moves when its pipes do."""
        tag = part.tag
        for a, b in dict.fromkeys((p.a, p.b) for p in part.kind.passages if p.sort in ("both", "one-way")):
            start, end = self.at(tag, a), self.at(tag, b)
            if not through_heart(part, a, b) and start != end:
                yield Way(start, end, 1, tag=tag, a=a, b=b, body=self.plant.body_at(tag, a, b)), (Inside(tag, a, b),)
        own = [n for n in part.kind.ports if in_heart(part, n)] if part.kind.separates else []
        if pipes := [p for n in own for p in self.network.pipes_at.get(PortId(tag, n), ())]:
            top, bottom = heart(part)
            body = self.plant.body_at(tag, top, bottom)
            yield Way(self.at(tag, top), self.at(tag, bottom), 1, tag=tag, a=top, b=bottom, body=body), pipes

    def beside(self, ways: Sequence[Way], source: int) -> list[int]:
        """Ways that water of a source reaches without passing the body of a separator or the outside."""
        if self._parted[0] is not ways:
            self._parted = ways, *self._parts_of(ways)
        _, number, members = self._parted
        return members[number[source]]

    def _parts_of(self, ways: Sequence[Way]) -> tuple[dict[int, int], list[list[int]]]:
        """Ways in groups that share water short of a separator or the outside: the group of each, and all of them."""
        groups = Groups(range(len(ways)))
        first: dict[int, int] = {}
        for w, way in enumerate(ways):
            for point in (way.start, way.end):
                if point not in self._stops:
                    groups.join(first.setdefault(point, w), w)
        return groups.numbered()

    @cached_property
    def _stops(self) -> set[int]:
        apart = (p for p in self.network.parts.values() if p.kind.separates)
        return {self.point[OUTSIDE], *(self.at(p.tag, n) for p in apart for n in heart(p))}

    def is_emitter_way(self, way: Way) -> bool:
        """True for the way by which an emitter takes its heat."""
        part = self.network.parts.get(way.tag)
        return bool(part) and is_emitter(part) and self.takes(way)

    def takes(self, way: Way) -> bool:
        """True for a way between openings by which a part takes heat."""
        part = self.network.parts.get(way.tag)
        return bool(part) and way.a in part.kind.takes and way.b in part.kind.takes

    def is_heart(self, way: Way) -> bool:
        """True for the way through the body of a separator."""
        return way.tag in self.network.parts and through_heart(self.network.parts[way.tag], way.a, way.b)


def is_emitter(part: Part) -> bool:
    """True for what gives heat to a room, but not for a heat leak, which draws by itself."""
    return (
        part.kind.taker
        and part.kind.family == "emitters"
        and part.kind.name != "heat-leak-radiator"
        and any(taking(part))
    )


def stream_of(way: Way, flow: float | None, drop: float | None) -> Stream:
    """A way as moving water: by its flow, or as it is listed where that is not known."""
    forward = way.sign > 0 if flow is None else flow >= 0
    start, end = (way.start, way.end) if forward else (way.end, way.start)
    return Stream(start, end, None if flow is None else abs(flow), drop)
