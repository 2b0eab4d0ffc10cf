"""The order of the pieces within each level, from top to bottom, so that few pipes cross."""

import random
from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from schemagen.layout.paths import Ladder
from schemagen.layout.shapes import End, Shape, Ways

SEED = 20
SWEEPS = 6
SIFTED, SIFTINGS = 60, 8
"""Most nodes of a level that are each tried at every place of it, and how often all are gone through."""

FAR = 1e7

INVERTED = 0.05
"""What a return above a flow in one level counts, in crossings."""

TOO_LOW, TOO_HIGH = 1.0, 0.05
"""What a pair of one level counts, in crossings, if the lower belongs to the top, and if the upper is a drain."""

RISING = 5.0
"""What a pipe counts, in crossings, that has to fall and rises from one piece of a level to another."""

Wish = Mapping[int, tuple[str, int]]
"""Blocks that stand for ways out: the side, and how far down that side the rest of the drawing would like them."""


class _Chord(NamedTuple):
    """A piece of pipe in one channel: for each end its node, the side of the channel it is on, and how far down it."""

    pipe: int
    a: int
    side_a: int
    rank_a: float
    b: int
    side_b: int
    rank_b: float


class _Far(NamedTuple):
    """A chord seen from one end: the node at the other, how far down it, and whether it is on the same side."""

    node: int
    rank: float
    same: bool
    pipe: int


_Keys = tuple[list[float], list[float]]
"""For the chords to the left and to the right of a node: where on the way round the far ends are."""


class _Order:
    """Positions of nodes within levels, and the chords in the channels between them.

    Seen as a disc, a channel has its left ends down one side and its right ends up the other: two chords whose ends
    alternate round it have to cross, others need not. A column is a level's tees that stand above one another; lines
    may pass between them, at the price of a crossing.
    """

    def __init__(self, ladder: Ladder, shapes: Sequence[Shape | None], wish: Wish) -> None:
        self.ladder = ladder
        count = len(ladder.nodes)
        self.levels = [list(row) for row in ladder.levels]
        self.warm = [node.warm for node in ladder.nodes]
        self.lift = [node.lift for node in ladder.nodes]
        self.channels: dict[int, list[_Chord]] = {}
        self.right: list[list[_Far]] = [[] for _ in range(count + len(wish))]
        self.left: list[list[_Far]] = [[] for _ in range(count + len(wish))]
        for way in ladder.ways:
            for i, (a, b) in enumerate(zip(way.nodes, way.nodes[1:], strict=False)):
                channel = way.channels[i]
                if channel is not None:
                    sides = (0 if ladder.nodes[v].level == channel else 1 for v in (a, b))
                    ranks = self._rank(a, way, 0, shapes), self._rank(b, way, 1, shapes)
                    self._add(channel, way.pipe, (a, b), tuple(sides), ranks)
        self.columns = columns_of(ladder)
        self.column = [-1] * count
        for n, column in enumerate(self.columns):
            for v in column:
                self.column[v] = n
        fall = {v for pair in ladder.falls for v in pair}
        self.special = [self.lift[v] != 0 or self.column[v] >= 0 or v in fall for v in range(count)]
        self.turning = [any(far.same for far in (*self.left[v], *self.right[v])) for v in range(count)]
        self.least = 0
        self.pos = [0] * (count + len(wish))
        for n, (block, (side, rank)) in enumerate(wish.items()):
            self.pos[count + n] = rank
            sides = (0, 1) if side == "L" else (1, 0)
            self._add(-1 if side == "L" else len(self.levels) - 1, -1, (count + n, block), sides, (0.5, 0.5))
        self._number()

    def _add(self, channel: int, pipe: int, ends: tuple[int, int], sides: tuple[int, int], ranks) -> None:
        (a, b), (sa, sb), (ra, rb) = ends, sides, ranks
        self.channels.setdefault(channel, []).append(_Chord(pipe, a, sa, ra, b, sb, rb))
        (self.left if sa else self.right)[a].append(_Far(b, rb, sa == sb, pipe))
        (self.left if sb else self.right)[b].append(_Far(a, ra, sa == sb, pipe))

    def _rank(self, node: int, way, n: int, shapes) -> float:
        """Where along the height of a block its pipe leaves, from 0 to 1: above all others if upwards."""
        block = self.ladder.nodes[node].block
        if block < 0 or shapes[block] is None:
            return 0.5
        if not shapes[block].parts:
            return 0.5
        o = shapes[block].open[End(way.pipe, n)]
        box = shapes[block].bounds()
        if o.side in "TB":
            reach = (o.at.x - box.x) / max(box.w, 1)
            reach = 0.04 * (reach if way.leaves[n] == "R" else 1 - reach)
            return reach if o.side == "T" else 1 - reach
        return 0.05 + 0.9 * (o.at.y - box.y) / max(box.h, 1)

    def _number(self) -> None:
        for row in self.levels:
            for i, v in enumerate(row):
                self.pos[v] = i

    def best(self, rounds: int) -> list[list[int]]:
        """The best order found from a few starts, each fixed by its number; the first is the order there is."""
        kept, least = self.levels, None
        for n in range(rounds):
            if n > 0:
                rng = random.Random(SEED + n)
                for row in self.levels:
                    rng.shuffle(row)
            for i, row in enumerate(self.levels):
                self._set(i, self._in_columns(row))
            self._sweep(SWEEPS)
            self._sift()
            crossings = self.crossings() + INVERTED * self.inversions() + self.strays()
            if least is None or crossings < least:
                kept, least = [list(row) for row in self.levels], crossings
            if not least:
                break
        self.least = least or 0
        return kept

    def _set(self, i: int, row: list[int]) -> None:
        self.levels[i] = row
        for p, v in enumerate(row):
            self.pos[v] = p

    def _in_columns(self, row: Sequence[int]) -> list[int]:
        """The row with the tees of each column in the column's order, each at a place of one of them."""
        ways = {c: iter(self.columns[c]) for c in dict.fromkeys(self.column[v] for v in row) if c >= 0}
        return [v if self.column[v] < 0 else next(ways[self.column[v]]) for v in row]

    def _sweep(self, times: int) -> None:
        count = len(self.levels)
        for n in range(times):
            before = [list(row) for row in self.levels]
            for i in range(1, count) if n % 2 == 0 else range(count - 2, -1, -1):
                self._sort(i, self.left if n % 2 == 0 else self.right)
            if before == self.levels:
                break

    def _sort(self, i: int, beside) -> None:
        row = self.levels[i]
        key: dict[int, float] = {}
        pos = self.pos
        lift = self.lift
        marks = {v: [pos[node] + rank for node, rank, _, _ in beside[v]] for v in row}
        for v, own in marks.items():
            key[v] = -FAR * lift[v] if lift[v] > 0 else sum(own) / len(own) if own else pos[v]
        columns = {self.column[v]: None for v in row if self.column[v] >= 0}
        for c in columns:
            self._settle_column(c, key, marks)
        in_order = sorted(row, key=key.__getitem__)
        self._set(i, self._in_columns(in_order) if columns else in_order)

    def _settle_column(self, c: int, key: dict[int, float], marks: dict[int, list[float]]) -> None:
        """Turns the column the way that crosses less, and keeps its tees in order by giving them keys that rise."""
        column = self.columns[c]
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

    def inversions(self) -> int:
        """Pairs of one level with a return above a flow."""
        total = 0
        for row in self.levels:
            returns = 0
            for v in row:
                warm = self.warm[v]
                returns += warm < 0
                total += returns if warm > 0 else 0
        return total

    def strays(self) -> float:
        """What all pairs cost of which the lower belongs higher."""
        total = RISING * sum(self.pos[a] > self.pos[b] for a, b in self.ladder.falls)
        for row in self.levels:
            above: dict[int, int] = {}
            for v in row:
                lift = self.lift[v]
                total += sum(n * _stray(other, lift) for other, n in above.items())
                above[lift] = above.get(lift, 0) + 1
        return total

    def _keys(self, v: int, other: int = -1, passed: Collection[int] = ()) -> _Keys:
        """Where the far ends are on the way round from just below a node: down its side, up the other, down to it.

        Left and right; chords to `other` are left out. Of the nodes of its level it is past those `passed`.
        """
        pos, at = self.pos, self.pos[v]
        out = []
        for beside in (self.left[v], self.right[v]):
            keys = []
            for node, rank, same, _ in beside:
                if node != other:
                    p = pos[node] + rank
                    below = (p > at) != (node in passed)
                    keys.append(FAR - p if not same else p if below else 2 * FAR + p)
            out.append(keys)
        return out[0], out[1]

    def _sift(self) -> None:
        """Each node goes to the place of its level where least crosses, as long as that saves any."""
        open_ = set(range(len(self.levels)))
        for _ in range(SIFTINGS):
            for i in range(len(self.levels)):
                if i in open_:
                    open_.discard(i)
                    if self._sift_level(i):
                        open_ |= {n for n in (i - 1, i, i + 1) if 0 <= n < len(self.levels)}
            if not open_:
                break

    def _sift_level(self, i: int) -> bool:
        row = self.levels[i]
        if len(row) > SIFTED:
            return self._swap_level(i)
        keys = {v: self._keys(v) for v in row}
        gains = self._gains(row, keys)
        better = False
        for v in list(row):
            if self._sift_node(row, v, keys, gains):
                better = True
                if self.turning[v]:
                    keys |= {u: self._keys(u) for u in row if self.turning[u]}
        return better

    def _gains(self, row: Sequence[int], keys: Mapping[int, _Keys]) -> dict[int, dict[int, float]]:
        """What each node saves by trading places with each other just below it; without those whose chords turn back
        within the level, for which that depends on where others stand."""
        free = [(v, *keys[v], self.warm[v], self.special[v]) for v in row if not self.turning[v]]
        out: dict[int, dict[int, float]] = {v: {} for v in row}
        for n, (v, left, right, warm, special) in enumerate(free):
            own = out[v]
            for u, left_above, right_above, warm_above, special_above in free[:n]:
                if special or special_above:
                    gain = self._rights(u, v)
                else:
                    gain = INVERTED * warm if warm * warm_above < 0 else 0
                for p in left_above:
                    for q in left:
                        gain += (p < q) - (p > q)
                for p in right_above:
                    for q in right:
                        gain += (p < q) - (p > q)
                out[u][v], own[u] = gain, -gain
        return out

    def _sift_node(
        self, row: list[int], v: int, keys: Mapping[int, _Keys], gains: Mapping[int, Mapping[int, float]]
    ) -> bool:
        """Moves a node to the best place of its level, past no other of its column."""
        start = best_at = self.pos[v]
        best, own, turning = 0.0, gains[v], self.turning
        column = self.column[v]
        mates = self.columns[column] if column >= 0 else ()
        for way in (range(start - 1, -1, -1), range(start + 1, len(row))):
            saved, passed, of_v = 0.0, [], keys[v]
            for j in way:
                u = row[j]
                if u in mates:
                    break
                if u in own:
                    saved += own[u] if j > start else -own[u]
                else:
                    both = turning[u] and turning[v]
                    of_u = self._keys(u, v) if both else keys[u]
                    if both:
                        of_v = self._keys(v, u, passed)
                    saved += self._gain(v, u, of_v, of_u) if j > start else self._gain(u, v, of_u, of_v)
                    if both:
                        passed.append(u)
                        of_v = self._keys(v, -1, passed)
                if saved > best + 1e-9:
                    best, best_at = saved, j
        if best_at == start:
            return False
        row.insert(best_at, row.pop(start))
        for p in range(min(start, best_at), max(start, best_at) + 1):
            self.pos[row[p]] = p
        return True

    def _rights(self, u: int, v: int) -> float:
        """What it is worth in crossings if u above v trade places: for columns that a line enters or leaves, for flows
        and for what belongs high."""
        warm, lift = self.warm, self.lift
        total = INVERTED * (warm[v] - warm[u]) / 2 if warm[u] * warm[v] < 0 else 0
        if lift[u] != lift[v]:
            total += _stray(lift[u], lift[v]) - _stray(lift[v], lift[u])
        if self.ladder.falls:
            total += RISING * (((v, u) in self.ladder.falls) - ((u, v) in self.ladder.falls))
        if self.column[v] >= 0:
            total -= self._enters(self.columns[self.column[v]], v, down=True)
        if self.column[u] >= 0:
            total -= self._enters(self.columns[self.column[u]], u, down=False)
        return total

    def _gain(self, u: int, v: int, of_u: _Keys, of_v: _Keys) -> float:
        """Crossings saved if u, just above v, trades places with it, and what else that rights."""
        total = self._rights(u, v)
        for a_side, b_side in zip(of_u, of_v, strict=True):
            for a in a_side:
                for b in b_side:
                    total += (a < b) - (a > b)
        return total

    def _swap_level(self, i: int) -> bool:
        row = self.levels[i]
        better = False
        for j in range(len(row) - 1):
            u, v = row[j], row[j + 1]
            if self.column[u] >= 0 and self.column[u] == self.column[v]:
                continue
            if self._gain(u, v, self._keys(u, v), self._keys(v, u)) > 1e-9:
                row[j], row[j + 1] = v, u
                self.pos[v], self.pos[u] = j, j + 1
                better = True
        return better

    def _enters(self, column: list[int], tee: int, down: bool) -> int:
        """Crossings of the column's own pipe gained by a line that passes the tee downwards or upwards."""
        first, last = (column[0], column[-1]) if self.pos[column[0]] < self.pos[column[-1]] else (column[-1], column[0])
        gained = (tee == first) - (tee == last)
        return gained if down else -gained

    def crossings(self) -> int:
        """All pairs of chords whose ends alternate round their channel, and lines that pass between a column's tees."""
        total = 0
        for chords in self.channels.values():
            stops = []
            for chord in chords:
                p, q = self.pos[chord.a] + chord.rank_a, self.pos[chord.b] + chord.rank_b
                p, q = FAR - p if chord.side_a else p, FAR - q if chord.side_b else q
                stops += [(min(p, q), 1, -max(p, q)), (max(p, q), 0, -min(p, q))]
            stops.sort()
            opened: list[float] = []
            for at, opens, other in stops:
                if opens:
                    opened.append(at)
                else:
                    total += len(opened) - bisect_right(opened, -other)
                    del opened[bisect_right(opened, -other) - 1]
        for column in self.columns:
            total += abs(self.pos[column[0]] - self.pos[column[-1]]) - len(column) + 1
        return total


def _stray(upper: int, lower: int) -> float:
    """What it costs that the one stands above the other, for how high each belongs."""
    return 0 if lower <= upper else TOO_LOW if lower > 0 else TOO_HIGH


def crossed(ladder: Ladder, shapes: Sequence[Shape | None]) -> Counter[int]:
    """How often each pipe crosses another in the channels, or passes through a column."""
    order = _Order(ladder, shapes, {})
    out: Counter[int] = Counter()
    for chords in order.channels.values():
        spans = []
        for c in chords:
            p, q = order.pos[c.a] + c.rank_a, order.pos[c.b] + c.rank_b
            p, q = FAR - p if c.side_a else p, FAR - q if c.side_b else q
            spans.append((min(p, q), max(p, q), c.pipe))
        spans.sort()
        for n, (p, q, i) in enumerate(spans):
            for r, s, j in spans[n + 1 :]:
                if r >= q:
                    break
                if p < r and q < s:
                    out.update((i, j))
    for column in order.columns:
        low, high = sorted((order.pos[column[0]], order.pos[column[-1]]))
        row = ladder.levels[ladder.nodes[column[0]].level]
        out.update(ladder.nodes[v].pipe for v in row[low:high] if not ladder.nodes[v].is_block)
    return out


def columns_of(ladder: Ladder) -> list[list[int]]:
    """The tees that stand above one another, from one end to the other."""
    beside: dict[int, list[int]] = {}
    for _, a, b in ladder.uprights:
        beside.setdefault(a, []).append(b)
        beside.setdefault(b, []).append(a)
    out: list[list[int]] = []
    seen: set[int] = set()
    for v in sorted(beside):
        if len(beside[v]) == 1 and v not in seen:
            column = [v]
            seen.add(v)
            while onward := [w for w in beside[column[-1]] if w not in seen]:
                column.append(onward[0])
                seen.add(onward[0])
            out.append(column)
    return out


def ordered(
    ladder: Ladder, shapes: Sequence[Shape | None], rounds: int, wish: Wish
) -> tuple[list[list[int]], float]:
    """The nodes of each level from top to bottom, and the crossings that makes, with a bit for each return on high.

    After: tees of one column keep its order.
    """
    order = _Order(ladder, shapes, wish)
    return order.best(rounds), order.least


def ways_round(ladder: Ladder, shapes: Sequence[Shape | None], rooms: Collection[int]) -> Ways:
    """The ends at the blocks `rooms`, each with its side and its number from the top there: what crosses least."""
    order = _Order(ladder, shapes, {})
    first = {(way.nodes[0], way.pipe): 0 for way in ladder.ways} | {(way.nodes[-1], way.pipe): 1 for way in ladder.ways}
    out: dict[End, tuple[str, int]] = {}
    for v in rooms:
        for side, chords, keys in zip("LR", (order.left[v], order.right[v]), order._keys(v), strict=True):
            pipes = (far.pipe for far in chords)
            for n, (_, pipe) in enumerate(sorted(zip(keys, pipes, strict=True), reverse=True)):
                out[End(pipe, first[v, pipe])] = side, n
    return out


def crossings_in(ladder: Ladder, shapes: Sequence[Shape | None]) -> int:
    """How many crossings the order of a ladder makes."""
    return _Order(ladder, shapes, {}).crossings()
