"""Which things stand before each other along a line, and how much closer they may come."""

from collections import deque
from collections.abc import Sequence
from itertools import chain
from typing import NamedTuple

ROW = 20
DEPTH = 10
"""How many things behind each other in one row are looked at."""

CLEARANCE = {
    ("part", "part"): 10, ("part", "pipe"): 10, ("pipe", "pipe"): 10,
    ("label", "label"): 4, ("label", "part"): 4, ("label", "pipe"): 4, ("place", "place"): 20,
    ("part", "place"): 20, ("pipe", "place"): 10, ("label", "place"): 10,
}  # fmt: skip

CLEAR_OF = {
    s: {t: CLEARANCE[min(s, t), max(s, t)] for t in ("label", "part", "pipe", "place")}
    for s in ("label", "part", "pipe", "place")
}
"""The same by either of the two."""


class Things(NamedTuple):
    """Rectangles that move with points: of each its sort, its point, and where it is.

    Each reaches from `low` to `high` along the line and from `near` to `far` across it.
    """

    sort: Sequence[str]
    point: Sequence[int]
    low: Sequence[int]
    high: Sequence[int]
    near: Sequence[int]
    far: Sequence[int]


class Facing(NamedTuple):
    """For points that face each other, by two: how much closer they may come, and the two things that say so."""

    room: dict[tuple[int, int], int]
    things: dict[tuple[int, int], tuple[int, int]]


def facing(things: Things) -> Facing:
    """All points of which one has a thing right before a thing of the other, the one before first."""
    sort, point, low, high, near, far = things
    first, last = [(a - ROW) // ROW for a in near], [(b + ROW) // ROW + 1 for b in far]
    lowest = min(first)
    rows: list[deque[int]] = [deque((), DEPTH) for _ in range(max(last) - lowest)]
    wide = {s: _wide(CLEAR_OF[s], things) for s in dict.fromkeys(sort)}
    out = Facing({}, {})
    room, by = out
    middle = [(a + b, a) for a, b in zip(low, high, strict=True)]
    for i in sorted(range(len(sort)), key=middle.__getitem__):
        own, begin, top, bottom = point[i], low[i], near[i], far[i]
        ends, tops, bottoms = wide[sort[i]]
        across = rows[first[i] - lowest : last[i] - lowest]
        for j in dict.fromkeys(chain.from_iterable(across)):
            if tops[j] < bottom and bottoms[j] > top and point[j] != own:
                gap = begin - ends[j] if begin > ends[j] else 0
                key = point[j], own
                if key not in room or gap < room[key]:
                    room[key], by[key] = gap, (j, i)
        for row in across:
            row.append(i)
    return out


def _wide(clearance: dict[str, int], things: Things) -> tuple[list[int], list[int], list[int]]:
    """Where each thing ends, and where it begins and ends across, with its clearance to things of one sort."""
    clear = [clearance[s] for s in things.sort]
    return (
        [b + c for b, c in zip(things.high, clear, strict=True)],
        [a - c for a, c in zip(things.near, clear, strict=True)],
        [b + c for b, c in zip(things.far, clear, strict=True)],
    )
