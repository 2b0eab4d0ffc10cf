"""At each crossing the less important pipe hops over the other."""

from collections.abc import Iterable, Iterator, Mapping

from schemagen.base.geometry import Point
from schemagen.network.waters import Waters
from schemagen.routing.pieces import Piece, cells_of, pieces_of

_YIELDS = (
    "refrigerant", "vent", "condensate", "discharge", "filling", "cold-feed", "circulation", "cold", "tempered", "hot",
    "pool-return", "pool-flow", "brine-return", "brine-flow", "solar-return", "heating-return", "primary-return",
    "solar-flow", "heating-flow", "primary-flow",
)  # fmt: skip
"""Sections from the one that hops over all others to the one that hops over none."""


def hops(waters: Waters, routes: Mapping[int, tuple[Point, ...]]) -> dict[int, tuple[Point, ...]]:
    """Where each pipe hops, by pipe index. After: each crossing is hopped over by exactly one of its two pipes."""
    out: dict[int, list[Point]] = {}
    for level, upright, at in _crossings(routes):
        a, b = (_YIELDS.index(waters.section[i]) if waters.section[i] in _YIELDS else 0 for i in (level, upright))
        out.setdefault(upright if b < a else level, []).append(at)
    return {i: tuple(points) for i, points in out.items()}


def _crossings(routes: Mapping[int, tuple[Point, ...]]) -> Iterator[tuple[int, int, Point]]:
    """(level pipe, upright pipe, point) for every crossing, in the order of the pipes."""
    pieces = [piece for i, points in routes.items() for piece in pieces_of(i, points)]
    cells: dict[tuple[int, int], list[Piece]] = {}
    for piece in pieces:
        for other in _near(cells, piece):
            h, v = (piece, other) if piece.level else (other, piece)
            if piece.level != other.level and h.x < v.x < h.right and v.y < h.y < v.bottom:
                yield h.of, v.of, Point(v.x, h.y)
        for cell in cells_of(piece):
            cells.setdefault(cell, []).append(piece)


def _near(cells: Mapping[tuple[int, int], list[Piece]], piece: Piece) -> Iterable[Piece]:
    return dict.fromkeys(other for cell in cells_of(piece) for other in cells.get(cell, ()))
