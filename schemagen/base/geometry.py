"""Points, boxes, sides and turns on the drawing grid.

All lengths are whole units; 10 units are one module (M), y grows downwards. Millimetres exist only in output.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Literal, NamedTuple

MODULE = 10

Side = Literal["L", "R", "T", "B"]

_CLOCKWISE = "TRBL"
NORMAL: dict[str, tuple[int, int]] = {"L": (-1, 0), "R": (1, 0), "T": (0, -1), "B": (0, 1)}
OPPOSITE: dict[str, str] = {"L": "R", "R": "L", "T": "B", "B": "T"}


class Point(NamedTuple):
    x: int
    y: int


@dataclass(frozen=True, slots=True)
class Box:
    """An upright rectangle: left, top, width, height."""

    x: int
    y: int
    w: int
    h: int

    @property
    def right(self) -> int:
        return self.x + self.w

    @property
    def bottom(self) -> int:
        return self.y + self.h

    @property
    def centre(self) -> Point:
        return Point(self.x + self.w // 2, self.y + self.h // 2)

    def grown(self, by: int) -> "Box":
        return Box(self.x - by, self.y - by, self.w + 2 * by, self.h + 2 * by)

    def moved(self, dx: int, dy: int) -> "Box":
        return Box(self.x + dx, self.y + dy, self.w, self.h)

    def overlaps(self, other: "Box") -> bool:
        """True if the insides share area; touching edges do not overlap."""
        return self.x < other.right and other.x < self.right and self.y < other.bottom and other.y < self.bottom

    def holds(self, p: Point) -> bool:
        """True if the point lies strictly inside."""
        return self.x < p.x < self.right and self.y < p.y < self.bottom

    def joined(self, other: "Box") -> "Box":
        x, y = min(self.x, other.x), min(self.y, other.y)
        return Box(x, y, max(self.right, other.right) - x, max(self.bottom, other.bottom) - y)


def turned_side(side: str, turn: int, mirror: bool) -> str:
    """Where a side ends up: first mirrored left to right, then turned clockwise."""
    if mirror and side in "LR":
        side = OPPOSITE[side]
    return _CLOCKWISE[(_CLOCKWISE.index(side) + turn // 90) % 4]


def turned_point(p: Point, w: int, h: int, turn: int, mirror: bool) -> Point:
    """Where a point of a w × h box ends up, from the top left corner of the turned box."""
    x, y = (w - p.x, p.y) if mirror else p
    match turn:
        case 90:
            return Point(h - y, x)
        case 180:
            return Point(w - x, h - y)
        case 270:
            return Point(y, w - x)
    return Point(x, y)


def turned_size(w: int, h: int, turn: int) -> tuple[int, int]:
    return (h, w) if turn in (90, 270) else (w, h)


def simplified(points: Sequence[Point]) -> tuple[Point, ...]:
    """The same way without points on straight pieces and without pieces of no length."""
    out: list[Point] = []
    for p in points:
        if out and p == out[-1]:
            continue
        if len(out) > 1 and (out[-2].x == out[-1].x == p.x or out[-2].y == out[-1].y == p.y):
            out[-1] = p
            continue
        out.append(p)
    return tuple(out)
