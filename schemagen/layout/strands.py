"""The way of a pipe through the levels as their order sees it: its lines in levels and its chords in channels.

A strand depends on nothing but where the pipe's two blocks stand, their shapes and the sides by which it leaves them.
"""

from collections.abc import Sequence
from typing import NamedTuple

from schemagen.layout.shapes import End, Shape


class Chord(NamedTuple):
    """A piece of pipe in one channel: for each end its node, the side of the channel it is on, and how far down it."""

    pipe: int
    a: int
    side_a: int
    rank_a: float
    b: int
    side_b: int
    rank_b: float


class Far(NamedTuple):
    """A chord seen from one end: the node at the other, how far down it, and whether it is on the same side."""

    node: int
    rank: float
    same: bool
    pipe: int


class Strand(NamedTuple):
    """A pipe as the order sees it: the sides by which it leaves its blocks, and how often that is away from the other.

    Its lines come with their levels and its chords with their channels; `seen` has, for each node it joins, 1 for the
    left or 0 for the right, and the far end there.
    """

    pipe: int
    leaves: Sequence[str]
    turns_back: int
    lines: tuple[tuple[int, int], ...]
    chords: tuple[tuple[int, Chord], ...]
    seen: tuple[tuple[int, int, Far], ...]


def strand(
    pipe: int,
    nodes: Sequence[int],
    levels: Sequence[int],
    channels: Sequence[int | None],
    leaves: Sequence[str],
    ranks: tuple[float, float],
) -> Strand:
    """The way of a pipe through `nodes`, which stand in `levels`; `ranks` say where it leaves those at its ends."""
    places = [ranks[0], *[0.5] * (len(nodes) - 2), ranks[1]]
    chords, seen = [], []
    for channel, a, b in zip(channels, range(len(nodes)), range(1, len(nodes)), strict=False):
        if channel is not None:
            side_a, side_b = (0 if levels[i] == channel else 1 for i in (a, b))
            chords.append((channel, Chord(pipe, nodes[a], side_a, places[a], nodes[b], side_b, places[b])))
            seen.append((nodes[a], side_a, Far(nodes[b], places[b], side_a == side_b, pipe)))
            seen.append((nodes[b], side_b, Far(nodes[a], places[a], side_a == side_b, pipe)))
    lines = tuple(zip(levels[1:-1], nodes[1:-1], strict=True))
    first, last = levels[0], levels[-1]
    away = (leaves[0] == ("L" if last > first else "R")) + (leaves[1] == ("L" if first > last else "R"))
    return Strand(pipe, leaves, away if first != last else 0, lines, tuple(chords), tuple(seen))


def rank(shape: Shape | None, end: End, leaves: str) -> float:
    """Where along the height of a block its pipe leaves, from 0 to 1: above all others if upwards."""
    if shape is None or not shape.parts:
        return 0.5
    o = shape.open[end]
    box = shape.bounds()
    if o.side in "TB":
        reach = (o.at.x - box.x) / max(box.w, 1)
        reach = 0.04 * (reach if leaves == "R" else 1 - reach)
        return reach if o.side == "T" else 1 - reach
    return 0.05 + 0.9 * (o.at.y - box.y) / max(box.h, 1)
