"""The order of the pieces within each level, from top to bottom, so that few pipes cross."""

import math
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


class Strand(NamedTuple):
    """A pipe as the order sees it: the sides by which it leaves its blocks, and how often that is away from the other.

    Its lines come with their levels and its chords with their channels; `seen` has, for each node it joins, 1 for the
    left or 0 for the right, and the far end there.
    """

    pipe: int
    leaves: Sequence[str]
    turns_back: int
    lines: tuple[tuple[int, int], ...]
    chords: tuple[tuple[int, _Chord], ...]
    seen: tuple[tuple[int, int, _Far], ...]


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
            chords.append((channel, _Chord(pipe, nodes[a], side_a, places[a], nodes[b], side_b, places[b])))
            seen.append((nodes[a], side_a, _Far(nodes[b], places[b], side_a == side_b, pipe)))
            seen.append((nodes[b], side_b, _Far(nodes[a], places[a], side_a == side_b, pipe)))
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


class Order:
    """Positions of nodes within levels, and the chords in the channels between them.

    Seen as a disc, a channel has its left ends down one side and its right ends up the other: two chords whose ends
    alternate round it have to cross, others need not. A column is a level's tees that stand above one another; lines
    may pass between them, at the price of a crossing.
    """

    def __init__(
        self,
        rows: Sequence[Sequence[int]],
        strands: Sequence[Strand],
        uprights: Sequence[tuple[int, int, int]],
        falls: Collection[tuple[int, int]],
        warm: Mapping[int, int],
        lift: Mapping[int, int],
        wish: Wish,
    ) -> None:
        self.levels = [list(row) for row in rows]
        self.strands, self.falls, self.warm, self.lift = strands, falls, warm, lift
        self.left: dict[int, list[_Far]] = {v: [] for row in rows for v in row}
        self.right: dict[int, list[_Far]] = {v: [] for row in rows for v in row}
        self.channels: dict[int, list[_Chord]] = {}
        self.joined: dict[int, set[int]] = {}
        self.pos: dict[int, int] = {}
        for way in strands:
            for channel, chord in way.chords:
                self.channels.setdefault(channel, []).append(chord)
            for v, side, far in way.seen:
                (self.left if side else self.right)[v].append(far)
                if far.same:
                    self.joined.setdefault(v, set()).add(far.node)
        for n, (block, (side, place)) in enumerate(wish.items()):
            out = -1 - n
            self.pos[out] = place
            channel, ahead = (-1, 1) if side == "L" else (len(rows) - 1, 0)
            self.channels.setdefault(channel, []).append(_Chord(-1, out, 1 - ahead, 0.5, block, ahead, 0.5))
            (self.left if ahead else self.right)[block].append(_Far(out, 0.5, False, -1))
        self.columns = columns_of(uprights)
        self.column = {v: n for n, column in enumerate(self.columns) for v in column}
        self.special = {v for v in self.left if lift[v]} | {v for pair in falls for v in pair} | set(self.column)
        self.least = 0.0
        self.within: dict[int, int] = {}
        self._number()

    def _number(self) -> None:
        for row in self.levels:
            for i, v in enumerate(row):
                self.pos[v] = i

    def search(self, rounds: int) -> None:
        """Takes the best order found from a few starts, each fixed by its number; the first is the order there is."""
        kept: list[list[int]] = []
        least = math.inf
        for n in range(rounds):
            if n > 0:
                rng = random.Random(SEED + n)
                for row in self.levels:
                    rng.shuffle(row)
            for i, row in enumerate(self.levels):
                self._set(i, self._in_columns(row))
            self._sweep(SWEEPS)
            self._sift(set(range(len(self.levels))))
            crossings = self.counted()
            if crossings < least:
                kept, least = [list(row) for row in self.levels], crossings
            if not least:
                break
        self.levels = kept
        self._number()
        self.least = self.counted()

    def follow(self, before: "Order", places: Mapping[int, int]) -> None:
        """Takes the places that nodes of a level had in the order before, puts what is new next to what it is joined
        to, and looks for better places where the two orders differ."""
        new = []
        for i, row in enumerate(self.levels):
            new += [(v, i) for v in row if v not in places]
            self.levels[i] = sorted((v for v in row if v in places), key=places.__getitem__)
        self._number()
        for v, _ in new:
            del self.pos[v]
        for v, i in new:
            self._insert(v, i)
        for column in self.columns:
            if self.pos[column[0]] > self.pos[column[-1]]:
                column.reverse()
        for i, row in enumerate(self.levels):
            self._set(i, self._in_columns(row))
        self._sift({i for n in self._differing(before) for i in (n, n + 1) if 0 <= i < len(self.levels)})
        self.least = self.counted(before)

    def _insert(self, v: int, i: int) -> None:
        """Puts a node that has no place yet into a level, about as far down as what it is joined to."""
        row = self.levels[i]
        marks = [self.pos[node] + rank for node, rank, _, _ in (*self.left[v], *self.right[v]) if node in self.pos]
        row.insert(round(sum(marks) / len(marks)) if marks else len(row), v)
        for p, u in enumerate(row):
            self.pos[u] = p

    def _differing(self, before: "Order") -> set[int]:
        """The channels that have other chords than before, or other levels beside them."""
        now, then = self.levels, before.levels
        return {
            c
            for c in range(-1, len(now))
            if now[max(c, 0) : c + 2] != then[max(c, 0) : c + 2] or self.channels.get(c) != before.channels.get(c)
        }

    def counted(self, before: "Order | None" = None) -> float:
        """The crossings, with a bit for each return on high and for what stands lower or higher than it belongs.

        Channels that have not changed since the order before are not counted anew.
        """
        anew = self._differing(before) if before else self.channels
        self.within = {c: self._within(c) if c in anew else before.within[c] for c in self.channels}
        return self.crossings() + INVERTED * self.inversions() + self.strays()

    def _set(self, i: int, row: list[int]) -> None:
        self.levels[i] = row
        for p, v in enumerate(row):
            self.pos[v] = p

    def _in_columns(self, row: Sequence[int]) -> list[int]:
        """The row with the tees of each column in the column's order, each at a place of one of them."""
        ways = {c: iter(self.columns[c]) for c in dict.fromkeys(self.column[v] for v in row if v in self.column)}
        return [next(ways[self.column[v]]) if v in self.column else v for v in row]

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
        columns = {self.column[v]: None for v in row if v in self.column}
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
        total = RISING * sum(self.pos[a] > self.pos[b] for a, b in self.falls)
        for row in self.levels:
            lifts = [self.lift[v] for v in row]
            above: dict[int, int] = {}
            for lift in lifts if any(lifts) else ():
                total += sum(n * _stray(other, lift) for other, n in above.items())
                above[lift] = above.get(lift, 0) + 1
        return total

    def _keys(self, v: int, other: int | None = None, passed: Collection[int] = ()) -> _Keys:
        """Where the far ends are on the way round from just below a node: down its side, up the other, down to it.

        Left and right; chords to `other` are left out. Of the nodes of its level it is past those `passed`.
        """
        pos, at = self.pos, self.pos[v]
        sides = self.left[v], self.right[v]
        if v not in self.joined:
            left, right = ([FAR - (pos[node] + rank) for node, rank, _, _ in beside] for beside in sides)
            return left, right
        out = []
        for beside in sides:
            keys = []
            for node, rank, same, _ in beside:
                if node != other:
                    p = pos[node] + rank
                    below = (p > at) != (node in passed)
                    keys.append(FAR - p if not same else p if below else 2 * FAR + p)
            out.append(keys)
        return out[0], out[1]

    def _sift(self, open_: set[int]) -> None:
        """Each node of the levels goes to the place of its level where least crosses, as long as that saves any."""
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
        gains, hopeful = self._gains(row, keys)
        better = False
        joined = any(v in self.joined for v in row)
        for v in list(row):
            if (better or v in hopeful or v in self.joined) and self._sift_node(row, v, keys, gains):
                better = True
                if joined:
                    keys = {v: self._keys(v) for v in row}
                    gains, _ = self._gains(row, keys)
        return better

    def _gains(self, row: Sequence[int], keys: Mapping[int, _Keys]) -> tuple[dict[int, dict[int, float]], set[int]]:
        """What each node saves by trading places with each other just below it, and the nodes that could save by one.

        Not with a node it is joined to within the level: what that saves depends on where it comes from.
        """
        nodes = [(v, *keys[v], self.warm[v], v in self.special, self.joined.get(v, ())) for v in row]
        out: dict[int, dict[int, float]] = {v: {} for v in row}
        hopeful = set()
        for n, (v, left, right, warm, special, joined) in enumerate(nodes):
            own = out[v]
            for u, left_above, right_above, warm_above, special_above, _ in nodes[:n]:
                if u in joined:
                    continue
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
                if gain > 0:
                    hopeful |= {u, v}
        return out, hopeful

    def _sift_node(
        self, row: list[int], v: int, keys: Mapping[int, _Keys], gains: Mapping[int, Mapping[int, float]]
    ) -> bool:
        """Moves a node to the best place of its level, past no other of its column."""
        start = best_at = self.pos[v]
        best, own, joined = 0.0, gains[v], self.joined.get(v, ())
        mates = self.columns[self.column[v]] if v in self.column else ()
        for way in (range(start - 1, -1, -1), range(start + 1, len(row))):
            saved, passed, of_v = 0.0, [], keys[v]
            for j in way:
                u = row[j]
                if u in mates:
                    break
                if u in joined:
                    saved += self._traded(v, u, self._keys(v, u, passed), self._keys(u, v), j > start)
                    passed.append(u)
                    of_v = self._keys(v, None, passed)
                elif passed:
                    saved += self._traded(v, u, of_v, keys[u], j > start)
                else:
                    saved += own[u] if j > start else -own[u]
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
        if self.falls:
            total += RISING * (((v, u) in self.falls) - ((u, v) in self.falls))
        if v in self.column:
            total -= self._enters(self.columns[self.column[v]], v, down=True)
        if u in self.column:
            total -= self._enters(self.columns[self.column[u]], u, down=False)
        return total

    def _traded(self, v: int, u: int, of_v: _Keys, of_u: _Keys, down: bool) -> float:
        """What is saved if v trades places with u next to it on its way down or up."""
        return self._gain(v, u, of_v, of_u) if down else self._gain(u, v, of_u, of_v)

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
            if u in self.column and self.column[u] == self.column.get(v):
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

    def _within(self, channel: int) -> int:
        """All pairs of chords whose ends alternate round the channel."""
        total = 0
        stops = []
        for _, a, side_a, rank_a, b, side_b, rank_b in self.channels[channel]:
            p, q = self.pos[a] + rank_a, self.pos[b] + rank_b
            p, q = FAR - p if side_a else p, FAR - q if side_b else q
            if p > q:
                p, q = q, p
            stops += [(p, 1, -q), (q, 0, -p)]
        stops.sort()
        opened: list[float] = []
        for at, opens, other in stops:
            if opens:
                opened.append(at)
            else:
                total += len(opened) - bisect_right(opened, -other)
                del opened[bisect_right(opened, -other) - 1]
        return total

    def crossings(self) -> int:
        """What crosses in all channels as last counted, and lines that pass between a column's tees."""
        total = sum(self.within.values())
        for column in self.columns:
            total += abs(self.pos[column[0]] - self.pos[column[-1]]) - len(column) + 1
        return total

    def crossed(self) -> Counter[int]:
        """How often each pipe crosses another in the channels, or passes through a column."""
        out: Counter[int] = Counter()
        for chords in self.channels.values():
            spans = []
            for c in (c for c in chords if c.pipe >= 0):
                p, q = self.pos[c.a] + c.rank_a, self.pos[c.b] + c.rank_b
                p, q = FAR - p if c.side_a else p, FAR - q if c.side_b else q
                spans.append((min(p, q), max(p, q), c.pipe))
            spans.sort()
            for n, (p, q, i) in enumerate(spans):
                for r, s, j in spans[n + 1 :]:
                    if r >= q:
                        break
                    if p < r and q < s:
                        out.update((i, j))
        pipe_of = {v: way.pipe for way in self.strands for _, v in way.lines}
        for column in self.columns:
            low, high = sorted((self.pos[column[0]], self.pos[column[-1]]))
            row = next(row for row in self.levels if column[0] in row)
            out.update(pipe_of[v] for v in row[low:high] if v in pipe_of)
        return out


def _stray(upper: int, lower: int) -> float:
    """What it costs that the one stands above the other, for how high each belongs."""
    return 0 if lower <= upper else TOO_LOW if lower > 0 else TOO_HIGH


def columns_of(uprights: Sequence[tuple[int, int, int]]) -> list[list[int]]:
    """The tees that stand above one another, from one end to the other."""
    beside: dict[int, list[int]] = {}
    for _, a, b in uprights:
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


def order_of(ladder: Ladder, shapes: Sequence[Shape | None]) -> Order:
    """The order of a ladder."""
    nodes = ladder.nodes
    strands = []
    for way in ladder.ways:
        ends = ((0, way.nodes[0]), (1, way.nodes[-1]))
        first, last = (rank(shapes[nodes[v].block], End(way.pipe, n), way.leaves[n]) for n, v in ends)
        levels = [nodes[v].level for v in way.nodes]
        strands.append(strand(way.pipe, way.nodes, levels, way.channels, way.leaves, (first, last)))
    warm, lift = {v: n.warm for v, n in enumerate(nodes)}, {v: n.lift for v, n in enumerate(nodes)}
    return Order(ladder.levels, strands, ladder.uprights, ladder.falls, warm, lift, {})


def ways_round(ladder: Ladder, shapes: Sequence[Shape | None], rooms: Collection[int]) -> Ways:
    """The ends at the blocks `rooms`, each with its side and its number from the top there: what crosses least."""
    order = order_of(ladder, shapes)
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
    order = order_of(ladder, shapes)
    order.counted()
    return order.crossings()
