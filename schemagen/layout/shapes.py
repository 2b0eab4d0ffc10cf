"""Rigid pieces of a drawing: parts that keep their places relative to each other, with open ends for pipes."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass, field, replace
from functools import cached_property
from typing import NamedTuple

from schemagen.base.geometry import Box, Point, turned_point, turned_side, turned_size
from schemagen.layout.placement import Label, PlaceBox, Placed, PlacedPort
from schemagen.network.network import Network, Part, Pipe, PortId

GAP = 10
"""Least length of a pipe between two symbols, and least distance of a symbol from what is not its own."""

REACH = 400
"""How far the way straight out from an opening is kept free."""


class End(NamedTuple):
    """One end of a pipe: its index, and 0 at its start or 1 at its end."""

    pipe: int
    end: int

    @property
    def other(self) -> "End":
        return End(self.pipe, 1 - self.end)


Ways = Mapping[End, tuple[str, int]]
"""For pipes that leave a place: the side, and how far down it."""


class Opening(NamedTuple):
    """Where a pipe leaves a shape: the point, and the side it leaves by."""

    at: Point
    side: str


@dataclass(frozen=True)
class Shape:
    """Placed parts, the pipes between them, texts and outlines, as one rigid piece.

    `open` are the ends yet to be joined; `stubs` have, for some of them, the way from the port to the opening.
    `crossings` of pipes are within the shape.
    """

    parts: tuple[Placed, ...] = ()
    routes: Mapping[int, tuple[Point, ...]] = field(default_factory=dict)
    labels: tuple[Label, ...] = ()
    places: tuple[PlaceBox, ...] = ()
    open: Mapping[End, Opening] = field(default_factory=dict)
    stubs: Mapping[End, tuple[Point, ...]] = field(default_factory=dict)
    crossings: int = 0

    def moved(self, dx: int, dy: int) -> "Shape":
        if not (dx or dy):
            return self
        return Shape(
            tuple(moved_part(p, dx, dy) for p in self.parts),
            {i: tuple(Point(x + dx, y + dy) for x, y in points) for i, points in self.routes.items()},
            tuple(
                replace(t, box=t.box.moved(dx, dy), leader=tuple(Point(x + dx, y + dy) for x, y in t.leader))
                for t in self.labels
            ),
            tuple(PlaceBox(p.name, p.box.moved(dx, dy), p.label.moved(dx, dy)) for p in self.places),
            {end: Opening(Point(o.at.x + dx, o.at.y + dy), o.side) for end, o in self.open.items()},
            {end: tuple(Point(x + dx, y + dy) for x, y in points) for end, points in self.stubs.items()},
            self.crossings,
        )

    def solids(self) -> list[Box]:
        """Boxes that nothing else may enter; inside an outline only the outline counts."""
        if self.places:
            return [p.box for p in self.places]
        return [p.box for p in self.parts] + [t.box for t in self.labels]

    def bounds(self) -> Box:
        return self._bounds

    @cached_property
    def _bounds(self) -> Box:
        return bounds_of(
            [p.box for p in self.parts]
            + [t.box for t in self.labels]
            + [p.box for p in self.places]
            + [Box(x, y, 0, 0) for points in self.routes.values() for x, y in points]
            + [Box(*o.at, 0, 0) for o in self.open.values()]
            + [Box(x, y, 0, 0) for points in self.stubs.values() for x, y in points]
        )


def port_of(network: Network, end: End) -> PortId:
    """The port at which a pipe's end is."""
    pipe = network.pipes[end.pipe]
    return pipe.end if end.end else pipe.start


def pipes_at(network: Network, tags: Iterable[str]) -> list[Pipe]:
    """The pipes that begin or end at any of the parts, in the order of the list."""
    found = {
        pipe.index: pipe
        for tag in tags
        for port in network.parts[tag].kind.ports
        for pipe in network.pipes_at.get(PortId(tag, port), ())
    }
    return [found[i] for i in sorted(found)]


def joined(shapes: Iterable[Shape]) -> Shape:
    """All shapes as one; they stand where they stand."""
    shapes = list(shapes)
    routes: dict[int, tuple[Point, ...]] = {}
    ends: dict[End, Opening] = {}
    stubs: dict[End, tuple[Point, ...]] = {}
    for s in shapes:
        routes.update(s.routes)
        ends.update(s.open)
        stubs.update(s.stubs)
    return Shape(
        tuple(p for s in shapes for p in s.parts),
        routes,
        tuple(t for s in shapes for t in s.labels),
        tuple(p for s in shapes for p in s.places),
        ends,
        stubs,
        sum(s.crossings for s in shapes),
    )


def closed(shape: Shape, end: End) -> Shape:
    """The shape without one of its openings."""
    return Shape(
        shape.parts, shape.routes, shape.labels, shape.places, {e: o for e, o in shape.open.items() if e != end}
    )


def directed(first: End, points: tuple[Point, ...]) -> tuple[Point, ...]:
    """Points that begin at `first`, in the direction of the pipe."""
    return points if first.end == 0 else points[::-1]


def lines_of(shape: Shape) -> list[Box]:
    """The strips round all pipes within a shape, one for each straight piece."""
    return [
        Box(min(a.x, b.x) - 4, min(a.y, b.y) - 4, abs(a.x - b.x) + 8, abs(a.y - b.y) + 8)
        for points in shape.routes.values()
        for a, b in zip(points, points[1:], strict=False)
    ]


def corridor(o: Opening) -> Box:
    """The strip straight out from an opening."""
    x, y = o.at
    return {
        "L": Box(x - REACH, y - 5, REACH, 10), "R": Box(x, y - 5, REACH, 10),
        "T": Box(x - 5, y - REACH, 10, REACH), "B": Box(x - 5, y, 10, REACH),
    }[o.side]  # fmt: skip


def bounds_of(boxes: Iterable[Box]) -> Box:
    """The box round them all; an empty one at the origin if there are none."""
    boxes = list(boxes) or [Box(0, 0, 0, 0)]
    x, y = min(b.x for b in boxes), min(b.y for b in boxes)
    return Box(x, y, max(b.right for b in boxes) - x, max(b.bottom for b in boxes) - y)


def moved_part(p: Placed, dx: int, dy: int) -> Placed:
    """The placed part moved, ports and all."""
    ports = {n: PlacedPort(Point(q.at.x + dx, q.at.y + dy), q.side) for n, q in p.ports.items()}
    return Placed(p.tag, p.box.moved(dx, dy), p.turn, p.mirror, ports)


def placed(part: Part, turn: int, mirror: bool, x: int = 0, y: int = 0) -> Placed:
    """The part's symbol with its turned box's top left corner at x, y."""
    s = part.kind.symbol
    w, h = turned_size(s.w, s.h, turn)
    ports = {}
    for name, port in part.kind.ports.items():
        at = turned_point(port.at, s.w, s.h, turn, mirror)
        ports[name] = PlacedPort(Point(x + at.x, y + at.y), turned_side(port.side, turn, mirror))
    return Placed(part.tag, Box(x, y, w, h), turn, mirror, ports)


def positions(part: Part) -> list[tuple[int, bool]]:
    """The turns and mirror images that a symbol may take, the plainest first."""
    s = part.kind.symbol
    turns = sorted(s.turns, key=lambda t: (0, 90, 270, 180).index(t))
    return [(t, m) for t in turns for m in ((False, True) if s.mirror else (False,))]


def placed_at(part: Part, port: str, at: Point, side: str, sides: Mapping[str, str] | None = None) -> Placed | None:
    """The part with `port` at a point and on a side, and other ports on given sides; None if no turn does that."""
    for turn, mirror in positions(part):
        p = placed(part, turn, mirror)
        wanted = {port: side} | dict(sides or {})
        if all(p.ports[n].side == s for n, s in wanted.items()):
            q = p.ports[port].at
            return moved_part(p, at.x - q.x, at.y - q.y)
    return None


def tee_placed(part: Part, centre: Point, sides: Mapping[str, str]) -> Placed:
    """A tee round a point, its openings on the sides given; a spare opening takes a side that is left."""
    s = part.kind.symbol
    left, top = centre.x - s.w // 2, centre.y - s.h // 2
    at = {
        "L": Point(left, centre.y), "R": Point(left + s.w, centre.y),
        "T": Point(centre.x, top), "B": Point(centre.x, top + s.h),
    }  # fmt: skip
    free = [x for x in "LRBT" if x not in sides.values()]
    given = {name: sides.get(name) or free.pop(0) for name in part.kind.ports}
    missing = next((x for x in "TRBL" if x not in given.values()), "T")
    turn = {"T": 0, "R": 90, "B": 180, "L": 270}[missing]
    return Placed(part.tag, Box(left, top, s.w, s.h), turn, False, {n: PlacedPort(at[x], x) for n, x in given.items()})
