"""The order of the pieces within each level, from top to bottom, so that few pipes cross."""

import random
from bisect import bisect_right
from collections.abc import Collection, Mapping, Sequence
from typing import NamedTuple

from schemagen.layout.paths import Ladder, Node
from schemagen.layout.shapes import End, Shape

SEED = 20
SWEEPS = 6
SIFTED, SIFTINGS = 60, 8
"""Most nodes of a level that are each tried at every place of it, and how often all are gone through."""

FAR = 1e7

INVERTED = 0.05
"""What a return above a flow in one level counts, in crossings."""

TOO_LOW, TOO_HIGH = 1.0, 0.05
"""What a pair of one level counts, in crossings, if the lower belongs to the top, and if the upper is a drain."""

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
        self.bound = [
            self.column[v] >= 0 or any(far.same for far in (*self.left[v], *self.right[v])) for v in range(count)
        ]
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

    def best(self, rounds: int, like: Ladder | None, changed: Collection[int]) -> list[list[int]]:
        """The best order found from a few starts, each fixed by its number; the first like another ladder."""
        kept, least = None, None
        for n in range(-1 if like else 0, rounds):
            among = range(len(self.levels))
            if n < 0:
                among = self._set_like(like, changed)
            if n > 0:
                rng = random.Random(SEED + n)
                for row in self.levels:
                    rng.shuffle(row)
            for i, row in enumerate(self.levels):
                self._set(i, self._in_columns(row))
            if n >= 0:
                self._sweep(SWEEPS)
            self._sift(among)
            crossings = self.crossings() + INVERTED * self.inversions() + self.strays()
            if least is None or crossings < least:
                kept, least = [list(row) for row in self.levels], crossings
            if not least:
                break
        self.least = least or 0
        return kept or self.levels

    def _set_like(self, other: Ladder, changed: Collection[int]) -> set[int]:
        """Every level in the order of another ladder that has nearly the same nodes; the levels that differ from it.

        `changed` are the blocks that have another shape there.
        """
        nodes = self.ladder.nodes
        theirs = [[_name(other.nodes[v]) for v in row] for row in other.levels]
        at = {name: p for row in theirs for p, name in enumerate(row)}
        differ = {nodes[v].level for v in range(len(nodes)) if nodes[v].block in changed}
        for i, row in enumerate(self.levels):
            self._set(i, sorted(row, key=lambda v: at.get(_name(nodes[v]), self.pos[v])))
            if i >= len(theirs) or [_name(nodes[v]) for v in self.levels[i]] != theirs[i]:
                differ.add(i)
        return {n for i in differ for n in (i - 1, i, i + 1) if 0 <= n < len(self.levels)}

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
        marks = {v: [pos[far.node] + far.rank for far in beside[v]] for v in row}
        for v in row:
            high = max(self.lift[v], 0)
            key[v] = -FAR * high if high else sum(marks[v]) / len(marks[v]) if marks[v] else self.pos[v]
        columns = [c for c in dict.fromkeys(self.column[v] for v in row) if c >= 0]
        for c in columns:
            self._settle_column(c, key, marks)
        self._set(i, sorted(row, key=lambda v: (key[v], self.pos[v])))
        if columns:
            self._set(i, self._in_columns(self.levels[i]))

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
        total = 0.0
        for row in self.levels:
            above: dict[int, int] = {}
            for v in row:
                lift = self.lift[v]
                total += sum(n * _stray(other, lift) for other, n in above.items())
                above[lift] = above.get(lift, 0) + 1
        return total

    def _pair(self, u: int, v: int) -> float:
        """Crossings saved if neighbours u above v trade places, and what that rights of flows and of what is high."""
        total = self._rights(u, v)
        for beside in (self.left, self.right):
            if beside[u] and beside[v]:
                of_u, of_v = self._keys(beside[u], v, self.pos[v]), self._keys(beside[v], u, self.pos[u])
                for a in of_u:
                    for b in of_v:
                        total += (a < b) - (a > b)
        return total

    def _keys(self, chords: list[_Far], other: int, at: int) -> list[float]:
        """Where the far ends are on the way round from just below a node: down its side, up the other, down to it."""
        pos, out = self.pos, []
        for node, rank, same, _ in chords:
            if node != other:
                p = pos[node] + rank
                out.append(FAR - p if not same else p if p > at else 2 * FAR + p)
        return out

    def _sift(self, among: Collection[int]) -> None:
        """Each node goes to the place of its level where least crosses, as long as that saves any.

        `among` are the levels to begin with: in the others nothing is to be gained until a level beside them changes.
        """
        open_ = set(among)
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
        if not any(self.bound[v] for v in row):
            return self._sift_free(i)
        better = False
        for v in list(row):
            better |= self._sift_node(i, v)
        return better

    def _sift_free(self, i: int) -> bool:
        """Sifts a level in which no node's chords depend on where another stands: each pair is looked at once."""
        row, pos = self.levels[i], self.pos
        ends = {v: [[pos[f.node] + f.rank for f in beside[v]] for beside in (self.left, self.right)] for v in row}
        known: dict[tuple[int, int], float] = {}

        def gain(u: int, v: int) -> float:
            if (u, v) not in known:
                of_u, of_v = ends[u], ends[v]
                total = self._rights(u, v)
                for n in (0, 1):
                    for a in of_u[n]:
                        for b in of_v[n]:
                            total += (a > b) - (a < b)
                known[u, v], known[v, u] = total, -total
            return known[u, v]

        better = False
        for v in list(row):
            start = best_at = pos[v]
            best = 0.0
            for way in (range(start - 1, -1, -1), range(start + 1, len(row))):
                saved = 0.0
                for j in way:
                    saved += gain(row[j], v) if j < start else gain(v, row[j])
                    if saved > best + 1e-9:
                        best, best_at = saved, j
            if best_at != start:
                row.insert(best_at, row.pop(start))
                self._set(i, row)
                better = True
        return better

    def _rights(self, u: int, v: int) -> float:
        """What it is worth in crossings if u above v trade places, for flows and for what belongs high."""
        warm, lift = self.warm, self.lift
        total = INVERTED * (warm[v] - warm[u]) / 2 if warm[u] * warm[v] < 0 else 0
        if lift[u] != lift[v]:
            total += _stray(lift[u], lift[v]) - _stray(lift[v], lift[u])
        return total

    def _sift_node(self, i: int, v: int) -> bool:
        row, start = self.levels[i], self.pos[v]
        best, best_at = 0, start
        for way in (-1, 1):
            gain, j = 0, start
            while 0 <= j + way < len(row):
                u, w = (row[j], row[j + 1]) if way > 0 else (row[j - 1], row[j])
                step = self._gain(u, w)
                if step is None:
                    break
                gain += step
                self._trade(i, min(j, j + way))
                j += way
                if gain > best + 1e-9:
                    best, best_at = gain, j
            while self.pos[v] != start:
                j = self.pos[v]
                self._trade(i, j if j < start else j - 1)
        while self.pos[v] != best_at:
            j = self.pos[v]
            self._trade(i, j if j < best_at else j - 1)
        return best > 0

    def _trade(self, i: int, j: int) -> None:
        row = self.levels[i]
        row[j], row[j + 1] = row[j + 1], row[j]
        self.pos[row[j]], self.pos[row[j + 1]] = j, j + 1

    def _gain(self, u: int, v: int) -> float | None:
        """Crossings saved if neighbours u above v trade places; None if they may not."""
        cu, cv = self.column[u], self.column[v]
        if cu >= 0 and cu == cv:
            return None
        gain = self._pair(u, v)
        if cv >= 0:
            gain -= self._enters(self.columns[cv], v, down=True)
        if cu >= 0:
            gain -= self._enters(self.columns[cu], u, down=False)
        return gain

    def _swap_level(self, i: int) -> bool:
        row = self.levels[i]
        better = False
        for j in range(len(row) - 1):
            gain = self._gain(row[j], row[j + 1])
            if gain is not None and gain > 1e-9:
                self._trade(i, j)
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


def _name(node: Node) -> tuple[int, int]:
    return (node.block, -1) if node.is_block else (node.pipe, node.level)


def crossed(ladder: Ladder, shapes: Sequence[Shape | None]) -> set[int]:
    """The pipes that cross another in the channels, or pass through a column."""
    order = _Order(ladder, shapes, {})
    out: set[int] = set()
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
                    out |= {i, j}
    for column in order.columns:
        low, high = sorted((order.pos[column[0]], order.pos[column[-1]]))
        row = ladder.levels[ladder.nodes[column[0]].level]
        out |= {ladder.nodes[v].pipe for v in row[low:high] if not ladder.nodes[v].is_block}
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
    ladder: Ladder, shapes: Sequence[Shape | None], rounds: int, wish: Wish, like: Ladder | None = None,
    changed: Collection[int] = (),
) -> tuple[list[list[int]], float]:
    """The nodes of each level from top to bottom, and the crossings that makes, with a bit for each return on high.

    `like` is a ladder in the best order that could be found for it, which this one may be nearly like; the blocks
    `changed` have another shape in it. After: tees of one column keep its order.
    """  # fmt: skip
    order = _Order(ladder, shapes, wish)
    return order.best(rounds, like, changed), order.least


def ways_round(ladder: Ladder, shapes: Sequence[Shape | None]) -> dict[End, int]:
    """The ends at blocks without parts, each with its number from the top of its side: the order that crosses least."""
    order = _Order(ladder, shapes, {})
    first = {(way.nodes[0], way.pipe): 0 for way in ladder.ways} | {(way.nodes[-1], way.pipe): 1 for way in ladder.ways}
    out: dict[End, int] = {}
    for v, node in enumerate(ladder.nodes):
        if not node.is_block or shapes[node.block] is None or shapes[node.block].parts:
            continue
        for chords in (order.right[v], order.left[v]):
            keys = [(order._keys([far], -1, order.pos[v])[0], far.pipe) for far in chords]
            for n, (_, pipe) in enumerate(sorted(keys, reverse=True)):
                out[End(pipe, first[v, pipe])] = n
    return out


def crossings_in(ladder: Ladder, shapes: Sequence[Shape | None]) -> int:
    """How many crossings the order of a ladder makes."""
    return _Order(ladder, shapes, {}).crossings()
