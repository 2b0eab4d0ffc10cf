"""The order in which least crosses, as far as it is found: sweeps from level to level, then sifting.

What is found depends on the order there is and on fixed seeds only: the same levels always come out in the same order.
"""

import math
import random
from collections.abc import Mapping, Sequence

from schemagen.layout.order import FAR, Order
from schemagen.layout.sifting import sift

SEED = 20
SWEEPS = 6
"""From which number on starts are shuffled, and how often all levels are swept at most."""


def search_order(order: Order, rounds: int) -> None:
    """Takes the best order found from a few starts, each fixed by its number; the first is the order there is."""
    kept: list[list[int]] = []
    least = math.inf
    for n in range(rounds):
        if n > 0:
            rng = random.Random(SEED + n)
            for row in order.levels:
                rng.shuffle(row)
        for i, row in enumerate(order.levels):
            order.put(i, _in_columns(order, row))
        _sweep(order, SWEEPS)
        sift(order, set(range(len(order.levels))))
        crossings = order.counted()
        if crossings < least:
            kept, least = [list(row) for row in order.levels], crossings
        if not least:
            break
    order.levels = kept
    order.number()
    order.least = order.counted()


def follow_order(order: Order, before: Order, places: Mapping[int, int]) -> None:
    """Takes the places that nodes of a level had in the order before, puts what is new next to what it is joined
    to, and looks for better places where the two orders differ."""
    new = []
    for i, row in enumerate(order.levels):
        new += [(v, i) for v in row if v not in places]
        order.levels[i] = sorted((v for v in row if v in places), key=places.__getitem__)
    order.number()
    for v, _ in new:
        del order.pos[v]
    for v, i in new:
        _insert(order, v, i)
    for column in order.columns:
        if order.pos[column[0]] > order.pos[column[-1]]:
            column.reverse()
    for i, row in enumerate(order.levels):
        order.put(i, _in_columns(order, row))
    sift(order, {i for n in order.differing(before) for i in (n, n + 1) if 0 <= i < len(order.levels)})
    order.least = order.counted(before)


def _insert(order: Order, v: int, i: int) -> None:
    """Puts a node that has no place yet into a level, about as far down as what it is joined to."""
    row = order.levels[i]
    marks = [order.pos[node] + rank for node, rank, _, _ in (*order.left[v], *order.right[v]) if node in order.pos]
    row.insert(round(sum(marks) / len(marks)) if marks else len(row), v)
    for p, u in enumerate(row):
        order.pos[u] = p


def _in_columns(order: Order, row: Sequence[int]) -> list[int]:
    """The row with the tees of each column in the column's order, each at a place of one of them."""
    ways = {c: iter(order.columns[c]) for c in dict.fromkeys(order.column[v] for v in row if v in order.column)}
    return [next(ways[order.column[v]]) if v in order.column else v for v in row]


def _sweep(order: Order, times: int) -> None:
    """Sorts each level by the one before it, from left to right and back in turn, as long as that changes any."""
    count = len(order.levels)
    for n in range(times):
        before = [list(row) for row in order.levels]
        for i in range(1, count) if n % 2 == 0 else range(count - 2, -1, -1):
            _sort(order, i, order.left if n % 2 == 0 else order.right)
        if before == order.levels:
            break


def _sort(order: Order, i: int, beside) -> None:
    row = order.levels[i]
    key: dict[int, float] = {}
    pos = order.pos
    lift = order.lift
    marks = {v: [pos[node] + rank for node, rank, _, _ in beside[v]] for v in row}
    for v, own in marks.items():
        key[v] = -FAR * lift[v] if lift[v] > 0 else sum(own) / len(own) if own else pos[v]
    columns = {order.column[v]: None for v in row if v in order.column}
    for c in columns:
        _settle_column(order, c, key, marks)
    in_order = sorted(row, key=key.__getitem__)
    order.put(i, _in_columns(order, in_order) if columns else in_order)


def _settle_column(order: Order, c: int, key: dict[int, float], marks: dict[int, list[float]]) -> None:
    """Turns the column the way that crosses less, and keeps its tees in order by giving them keys that rise."""
    column = order.columns[c]
    marked = [(n, mark) for n, v in enumerate(column) for mark in marks[v]]
    slope = sum((b > a) - (b < a) for i, (m, a) in enumerate(marked) for n, b in marked[i + 1 :] if n > m)
    if slope < 0:
        column.reverse()
    free = [v for v in column if marks[v]]
    for v, k in zip(free, sorted(key[v] for v in free), strict=True):
        key[v] = k
    at = None
    for v in column:
        if marks[v]:
            at = key[v]
        elif at is not None:
            key[v] = at
    for v in reversed(column):
        if marks[v]:
            at = key[v]
        elif at is not None and key[v] > at:
            key[v] = at
