"""Sifting: each node of a level goes to the place of it where least crosses.

Every move saves something: what the order costs never rises.
"""

from collections.abc import Mapping, Sequence

from schemagen.layout.order import INVERTED, RISING, Keys, Order, stray

SIFTED, SIFTINGS = 60, 8
"""Most nodes of a level that are each tried at every place of it, and how often all are gone through."""


def sift(order: Order, open_: set[int]) -> None:
    """Each node of the levels goes to the place of its level where least crosses, as long as that saves any.

    Only levels `open_` are looked at, and those beside a level in which something moved.
    """
    for _ in range(SIFTINGS):
        for i in range(len(order.levels)):
            if i in open_:
                open_.discard(i)
                if _sift_level(order, i):
                    open_ |= {n for n in (i - 1, i, i + 1) if 0 <= n < len(order.levels)}
        if not open_:
            break


def _sift_level(order: Order, i: int) -> bool:
    row = order.levels[i]
    if len(row) > SIFTED:
        return _swap_level(order, i)
    keys = {v: order.keys(v) for v in row}
    gains, hopeful = _gains(order, row, keys)
    better = False
    joined = any(v in order.joined for v in row)
    for v in list(row):
        if (better or v in hopeful or v in order.joined) and _sift_node(order, row, v, keys, gains):
            better = True
            if joined:
                keys = {v: order.keys(v) for v in row}
                gains, _ = _gains(order, row, keys)
    return better


def _gains(order: Order, row: Sequence[int], keys: Mapping[int, Keys]) -> tuple[dict[int, dict[int, float]], set[int]]:
    """What each node saves by trading places with each other just below it, and the nodes that could save by one.

    Not with a node it is joined to within the level: what that saves depends on where it comes from.
    """
    nodes = [(v, *keys[v], order.warm[v], v in order.special, order.joined.get(v, ())) for v in row]
    out: dict[int, dict[int, float]] = {v: {} for v in row}
    hopeful = set()
    for n, (v, left, right, warm, special, joined) in enumerate(nodes):
        own = out[v]
        for u, left_above, right_above, warm_above, special_above, _ in nodes[:n]:
            if u in joined:
                continue
            gain = INVERTED * warm if warm * warm_above < 0 else 0
            if special or special_above:
                gain = _rights(order, u, v)
            for p in left_above:
                for q in left:
                    gain += (p < q) - (p > q)
            for p in right_above:
                for q in right:
                    gain += (p < q) - (p > q)
            out[u][v], own[u] = gain, -gain
            if gain > 0:
                hopeful |= {u, v}
    return out, hopeful


def _sift_node(
    order: Order, row: list[int], v: int, keys: Mapping[int, Keys], gains: Mapping[int, Mapping[int, float]]
) -> bool:
    """Moves a node to the best place of its level, past no other of its column."""
    start = best_at = order.pos[v]
    best, own, joined = 0.0, gains[v], order.joined.get(v, ())
    mates = order.columns[order.column[v]] if v in order.column else ()
    for way in (range(start - 1, -1, -1), range(start + 1, len(row))):
        saved, passed, of_v = 0.0, [], keys[v]
        for j in way:
            u = row[j]
            if u in mates:
                break
            if u in joined:
                saved += _traded(order, v, u, order.keys(v, u, passed), order.keys(u, v), j > start)
                passed.append(u)
                of_v = order.keys(v, None, passed)
            elif passed:
                saved += _traded(order, v, u, of_v, keys[u], j > start)
            else:
                saved += own[u] if j > start else -own[u]
            if saved > best + 1e-9:
                best, best_at = saved, j
    if best_at == start:
        return False
    row.insert(best_at, row.pop(start))
    for p in range(min(start, best_at), max(start, best_at) + 1):
        order.pos[row[p]] = p
    return True


def _rights(order: Order, u: int, v: int) -> float:
    """What it is worth in crossings if u above v trade places: for columns that a line enters or leaves, for flows
    and for what belongs high."""
    warm, lift = order.warm, order.lift
    total = INVERTED * (warm[v] - warm[u]) / 2 if warm[u] * warm[v] < 0 else 0
    if lift[u] != lift[v]:
        total += stray(lift[u], lift[v]) - stray(lift[v], lift[u])
    if order.falls:
        total += RISING * (((v, u) in order.falls) - ((u, v) in order.falls))
    if v in order.column:
        total -= _enters(order, order.columns[order.column[v]], v, down=True)
    if u in order.column:
        total -= _enters(order, order.columns[order.column[u]], u, down=False)
    return total


def _traded(order: Order, v: int, u: int, of_v: Keys, of_u: Keys, down: bool) -> float:
    """What is saved if v trades places with u next to it on its way down or up."""
    return _gain(order, v, u, of_v, of_u) if down else _gain(order, u, v, of_u, of_v)


def _gain(order: Order, u: int, v: int, of_u: Keys, of_v: Keys) -> float:
    """Crossings saved if u, just above v, trades places with it, and what else that rights."""
    total = _rights(order, u, v)
    for a_side, b_side in zip(of_u, of_v, strict=True):
        for a in a_side:
            for b in b_side:
                total += (a < b) - (a > b)
    return total


def _swap_level(order: Order, i: int) -> bool:
    row = order.levels[i]
    better = False
    for j in range(len(row) - 1):
        u, v = row[j], row[j + 1]
        if u in order.column and order.column[u] == order.column.get(v):
            continue
        if _gain(order, u, v, order.keys(u, v), order.keys(v, u)) > 1e-9:
            row[j], row[j + 1] = v, u
            order.pos[v], order.pos[u] = j, j + 1
            better = True
    return better


def _enters(order: Order, column: list[int], tee: int, down: bool) -> int:
    """Crossings of the column's own pipe gained by a line that passes the tee downwards or upwards."""
    first, last = (column[0], column[-1]) if order.pos[column[0]] < order.pos[column[-1]] else (column[-1], column[0])
    gained = (tee == first) - (tee == last)
    return gained if down else -gained
