"""The gaps between levels: each pipe that changes height there gets an upright track of its own."""

from collections.abc import Sequence
from dataclasses import dataclass

CLEAR = 10
"""Least distance of two pipes side by side."""

CONFLICT = 1000


@dataclass
class Item:
    """An upright piece in a channel: the heights at which it is met, each from the left (-1) or the right (+1)."""

    way: int
    step: int
    meets: tuple[tuple[int, int], tuple[int, int]]
    part: int = 0
    """0 for a whole piece, 1 and 2 for the halves of one that was cut in two."""

    def __post_init__(self) -> None:
        self.low, self.high = sorted(y for y, _ in self.meets)


def _cost(a: Item, b: Item) -> int:
    """Crossings, and pipes that would lie on one line, if a stands left of b."""
    if a.high + CLEAR <= b.low or b.high + CLEAR <= a.low:
        return 0
    cost = 0
    for y, side in a.meets:
        if side > 0:
            cost += b.low < y < b.high
            cost += sum(CONFLICT for z, s in b.meets if s < 0 and abs(y - z) < CLEAR)
    for y, side in b.meets:
        if side < 0:
            cost += a.low < y < a.high
    return cost


def tracks(items: Sequence[Item], levels_of_lines: Sequence[int]) -> list[Item]:
    """The items from left to right. An item that would share a line whatever the order is cut in two, at a free height.

    `levels_of_lines` are the heights of all pipes in the channel. After: no two pipes lie on one line.
    """
    taken = sorted(set(levels_of_lines))
    line = list(items)
    for _ in range(len(items) + 1):
        order = _arranged(line)
        bad = _conflict(order)
        if bad is None:
            return order
        y = _free(taken, (bad.low + bad.high) // 2)
        taken.append(y)
        (y1, s1), (y2, s2) = bad.meets
        line = [i for i in order if i is not bad]
        line.append(Item(bad.way, bad.step, ((y1, s1), (y, -s1)), 1))
        line.append(Item(bad.way, bad.step, ((y, -s2), (y2, s2)), 2))
    return _arranged(line)


def _arranged(items: Sequence[Item]) -> list[Item]:
    order: list[Item] = []
    for item in sorted(items, key=lambda i: (i.high - i.low, i.low, i.way, i.part)):
        before = [0]
        for other in order:
            before.append(before[-1] + _cost(other, item))
        after = [0]
        for other in reversed(order):
            after.append(after[-1] + _cost(item, other))
        after.reverse()
        at = min(range(len(order) + 1), key=lambda n: before[n] + after[n])
        order.insert(at, item)
    for _ in range(len(order)):
        better = False
        for n in range(len(order) - 1):
            a, b = order[n], order[n + 1]
            if _cost(b, a) < _cost(a, b):
                order[n], order[n + 1] = b, a
                better = True
        if not better:
            break
    return order


def _conflict(order: Sequence[Item]) -> Item | None:
    for n, a in enumerate(order):
        for b in order[n + 1 :]:
            if _cost(a, b) >= CONFLICT and a.way != b.way:
                return b if a.part else a
    return None


def _free(taken: Sequence[int], near: int) -> int:
    """The height nearest to `near` that keeps clear of all that are taken."""
    step = 0
    while True:
        for y in (near + step, near - step):
            if all(abs(y - t) >= CLEAR for t in taken):
                return y
        step += 5
