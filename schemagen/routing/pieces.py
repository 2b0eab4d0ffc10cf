"""Straight pieces of pipes and other things drawn, and the buckets in which what lies near is found."""

from collections.abc import Iterable
from itertools import pairwise
from typing import NamedTuple

from schemagen.base.geometry import Box, Point
from schemagen.routing.pipe_labels import BUCKET


class Piece(NamedTuple):
    """A straight piece of pipe `of`, without width; or the box of a part, text or outline, `of` its tag or name."""

    of: int | str
    x: int
    y: int
    right: int
    bottom: int

    @property
    def level(self) -> bool:
        return self.y == self.bottom

    def meets(self, other: "Piece", within: int) -> bool:
        """True if the other runs through the inside of this, grown by `within`."""
        return (
            other.x < self.right + within
            and other.right > self.x - within
            and other.y < self.bottom + within
            and other.bottom > self.y - within
        )


def pieces_of(i: int, points: Iterable[Point]) -> list[Piece]:
    """The pieces of pipe `i` along its points."""
    return [
        Piece(i, ax if ax < bx else bx, ay if ay < by else by, bx if ax < bx else ax, by if ay < by else ay)
        for (ax, ay), (bx, by) in pairwise(points)
    ]


def piece_of(name: str, box: Box) -> Piece:
    return Piece(name, box.x, box.y, box.right, box.bottom)


def cells_of(b: Piece, within: int = 0) -> list[tuple[int, int]]:
    """The buckets that a piece lies in, or is within so many units of."""
    columns = range((b.x - within) // BUCKET, (b.right + within) // BUCKET + 1)
    rows = range((b.y - within) // BUCKET, (b.bottom + within) // BUCKET + 1)
    return [(i, j) for i in columns for j in rows]
