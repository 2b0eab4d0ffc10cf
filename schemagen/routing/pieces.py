"""Straight pieces of pipes, and the buckets in which what lies near is found."""

from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from schemagen.base.geometry import Box, Point
from schemagen.routing.pipe_labels import BUCKET


class Piece(NamedTuple):
    """A straight piece of a pipe, as a box without width."""

    pipe: int
    box: Box

    @property
    def level(self) -> bool:
        return self.box.h == 0


def pieces_of(i: int, points: Iterable[Point]) -> list[Piece]:
    """The pieces of pipe `i` along its points."""
    return [Piece(i, Box(min(a.x, b.x), min(a.y, b.y), abs(a.x - b.x), abs(a.y - b.y))) for a, b in pairwise(points)]


def cells_of(b: Box) -> list[tuple[int, int]]:
    """The buckets that a box lies in."""
    return [
        (i, j)
        for i in range(b.x // BUCKET, b.right // BUCKET + 1)
        for j in range(b.y // BUCKET, b.bottom // BUCKET + 1)
    ]
