"""A drawing while its shapes move closer together: where they stand by now, and the wires between them."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from functools import cached_property

from schemagen.base.geometry import Box, Point
from schemagen.layout.facing import Facing, Things, facing
from schemagen.layout.settle import Pull
from schemagen.layout.shapes import Shape


@dataclass(frozen=True)
class Wire:
    """A pipe between two shapes (numbers; -1 for none), as points from the first to the second."""

    pipe: int
    a: int
    b: int
    points: tuple[Point, ...]
    weight: int = 2


Span = tuple[Sequence[int], Sequence[int]]
"""Where each of some boxes begins along an axis, and where it ends."""


class Measured:
    """What counts of shapes as they move: their rectangles, each of a sort, and their bounds, along "x" and "y"."""

    def __init__(self, shapes: Sequence[Shape]) -> None:
        self.shapes = shapes
        found = [(n, sort, box) for n, shape in enumerate(shapes) for sort, box in _rectangles(shape)]
        self.shape, self.sort = [n for n, _, _ in found], [sort for _, sort, _ in found]
        self.spans = _spans([box for _, _, box in found])
        self.bounds = _spans([shape.bounds() for shape in shapes])


def _rectangles(shape: Shape) -> list[tuple[str, Box]]:
    if shape.places:
        return [("place", p.box) for p in shape.places]
    lines = [
        Box(min(a.x, b.x), min(a.y, b.y), abs(a.x - b.x), abs(a.y - b.y))
        for points in (*shape.routes.values(), *shape.stubs.values())
        for a, b in zip(points, points[1:], strict=False)
    ]
    return [
        *(("part", p.box) for p in shape.parts), *(("label", t.box) for t in shape.labels),
        *(("pipe", line) for line in lines),
    ]  # fmt: skip


def _spans(boxes: Sequence[Box]) -> Mapping[str, Span]:
    return {
        "x": ([b.x for b in boxes], [b.right for b in boxes]),
        "y": ([b.y for b in boxes], [b.bottom for b in boxes]),
    }


def _shifted(span: Span, by: Sequence[int]) -> Span:
    return [a + d for a, d in zip(span[0], by, strict=True)], [b + d for b, d in zip(span[1], by, strict=True)]


class Draft:
    """Shapes, each moved by `shift` along each axis since they were measured, and wires as they are by now."""

    def __init__(self, measured: Measured, shift: Mapping[str, Sequence[int]], wires: Sequence[Wire]) -> None:
        self.measured, self.shift, self.wires = measured, shift, wires
        self._along: dict[str, Along] = {}

    @staticmethod
    def of(shapes: Sequence[Shape], wires: Sequence[Wire]) -> "Draft":
        return Draft(Measured(shapes), {axis: [0] * len(shapes) for axis in "xy"}, wires)

    def along(self, axis: str) -> "Along":
        if axis not in self._along:
            self._along[axis] = Along(self, axis)
        return self._along[axis]

    def shapes(self) -> list[Shape]:
        """The shapes where they stand now."""
        return [s.moved(*by) for s, *by in zip(self.measured.shapes, self.shift["x"], self.shift["y"], strict=True)]

    def bounds(self, axis: str) -> Span:
        """Of each shape where it begins and ends."""
        return _shifted(self.measured.bounds[axis], self.shift[axis])

    def heart(self, n: int) -> int:
        """How far right the first part of a shape begins."""
        return self.measured.shapes[n].parts[0].box.x + self.shift["x"][n]

    def opening(self, n: int) -> int:
        """How far right the first opening of a shape is."""
        return next(iter(self.measured.shapes[n].open.values())).at.x + self.shift["x"][n]

    def rectangles(self, axis: str) -> Span:
        by = self.shift[axis]
        return _shifted(self.measured.spans[axis], [by[n] for n in self.measured.shape])

    @cached_property
    def extent(self) -> Box:
        """The box round it all."""
        (left, right), (top, bottom) = self.bounds("x"), self.bounds("y")
        xs, ys = [p.x for w in self.wires for p in w.points], [p.y for w in self.wires for p in w.points]
        x, y = min(left + xs), min(top + ys)
        return Box(x, y, max(right + xs) - x, max(bottom + ys) - y)


class Along:
    """A draft seen along one axis: points that can move, and the things that move with them.

    The first points, all at 0, are those of the shapes. Each piece of a wire that lies across the axis has one where
    it is; the first and the last piece of a wire may be tied to their shapes.
    """

    def __init__(self, draft: Draft, axis: str) -> None:
        self.draft, self.axis = draft, axis
        measured = draft.measured
        self.start = [0] * len(measured.shapes)
        low, high = draft.rectangles(axis)
        near, far = draft.rectangles("y" if axis == "x" else "x")
        self.things = Things([*measured.sort], [*measured.shape], low, high, near, far)
        self.runs: list[list[int]] = []
        """For each wire the points of its pieces, -1 for a piece along the axis."""
        self.ties: list[tuple[int, int, int]] = []
        self.pulls: list[Pull] = []
        self.steps: list[tuple[int, int, int]] = []
        """(point, point, weight) of pieces of one wire that could lie in one line."""
        for wire in draft.wires:
            self._add(wire)

    @cached_property
    def facing(self) -> Facing:
        return facing(self.things)

    def rules(self) -> dict[tuple[int, int], int]:
        """For points that face each other: how far apart they have to stay."""
        start = self.start
        return {(a, b): start[b] - start[a] - room for (a, b), room in self.facing.room.items()}

    def _add(self, wire: Wire) -> None:
        n = "xy".index(self.axis)
        x, y = [p[n] for p in wire.points], [p[1 - n] for p in wire.points]
        run = []
        for a, b, top, bottom in zip(x, x[1:], y, y[1:], strict=False):
            run.append(self._piece(a, min(top, bottom), max(top, bottom)) if a == b else -1)
        self.runs.append(run)
        for shape, point, at in ((wire.a, run[0], x[0]), (wire.b, run[-1], x[-1])):
            if shape >= 0 and point >= 0:
                self.ties.append((shape, point, at))
        points, last = [wire.a, *run, wire.b], len(run) - 1
        for i, point in enumerate(run):
            left, right = points[i], points[i + 2]
            if point >= 0 or left < 0 or right < 0:
                continue
            rest = (0 if i else x[0]) - (x[-1] if i == last else 0)
            self.pulls.append(Pull(left, right, rest, wire.weight))
            if 0 < i < last and (y[i] - y[i - 1]) * (y[i + 2] - y[i + 1]) >= 0:
                self.steps.append((left, right, wire.weight))

    def _piece(self, at: int, near: int, far: int) -> int:
        """Adds a point with a piece of a wire that lies across the axis."""
        point = len(self.start)
        self.start.append(at)
        for values, value in zip(self.things, ("pipe", point, at, at, near, far), strict=True):
            values.append(value)
        return point
