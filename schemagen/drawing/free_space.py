"""What is taken on the drawing, and whether a box is still free."""

from collections.abc import Iterable, Iterator
from functools import cache
from typing import NamedTuple

from schemagen.base.geometry import Point

CELL = 80


class Area(NamedTuple):
    """An upright rectangle by its edges, in units."""

    left: float
    top: float
    right: float
    bottom: float

    def grown(self, by: float) -> "Area":
        return Area(self.left - by, self.top - by, self.right + by, self.bottom + by)

    def meets(self, other: "Area") -> bool:
        return (
            self.left < other.right and other.left < self.right and self.top < other.bottom and other.top < self.bottom
        )


class Taken:
    """Areas that are taken, in buckets, so that a question costs the same on a large drawing."""

    def __init__(self, areas: Iterable[Area] = ()) -> None:
        self._cells: dict[tuple[int, int], list[tuple[Area, int]]] = {}
        for area in areas:
            self.add(area)

    def add(self, area: Area, owner: int = -1) -> None:
        for cell in _cells(area):
            self._cells.setdefault(cell, []).append((area, owner))

    def free(self, area: Area, owner: int = -2) -> bool:
        """True if nothing taken meets the area, what belongs to `owner` left aside."""
        left, top, right, bottom = area
        for cell in _cells(area):
            for (x, y, right_of, below), whose in self._cells.get(cell, ()):
                if left < right_of and x < right and top < below and y < bottom and whose != owner:
                    return False
        return True


GRID = 5
"""Units between the spots that are tried round a place."""


def around(place: Point, farthest: int) -> Iterator[Point]:
    """The spots of a grid round a place up to so many units off on each axis: nearest first, right and up first."""
    for dx, dy in _steps(farthest):
        yield Point(place.x + dx, place.y + dy)


@cache
def _steps(farthest: int) -> tuple[tuple[int, int], ...]:
    reach = range(-farthest, farthest + 1, GRID)
    steps = ((dx, dy) for dx in reach for dy in reach)
    return tuple(sorted(steps, key=lambda d: (d[0] ** 2 + d[1] ** 2, -d[0], d[1])))


def _cells(area: Area):
    for i in range(int(area.left // CELL), int(area.right // CELL) + 1):
        for j in range(int(area.top // CELL), int(area.bottom // CELL) + 1):
            yield i, j
