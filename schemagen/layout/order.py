"""The order of the pieces within each level, from top to bottom, so that few pipes cross."""

import random
from bisect import bisect_right
from collections.abc import Mapping, Sequence

from schemagen.layout.paths import Ladder
from schemagen.layout.shapes import End, Shape

SEED = 20
SWEEPS = 10
SIFTED = 60


FAR = 1e7

Wish = Mapping[int, tuple[str, int]]
"""Blocks that stand for ways out: the side, and how far down that side the rest of the drawing would like them."""


class _Chord:
    """A piece of pipe in one channel: the nodes at its ends, the side of the channel of each, and how far down it."""

    __slots__ = ("ends", "sides", "ranks")

    def __init__(self, ends: tuple[int, int], sides: tuple[int, int], ranks: tuple[float, float]) -> None:
        self.ends, self.sides, self.ranks = ends, sides, ranks


class _Order:
    """Positions of nodes within levels, and the chords in the channels between them.

    Seen as a disc, a channel has its left ends down one side and its right ends up the other: two chords whose ends
    alternate round it have to cross, others need not. A column is a level's tees that stand above one another; lines may
    pass between them, at the price of a crossing.
    """

    def __init__(self, ladder: Ladder, shapes: Sequence[Shape | None], wish: Wish) -> None:
        self.ladder = ladder
        count = len(ladder.nodes)
        self.levels = [list(row) for row in ladder.levels]
        self.channels: dict[int, list[_Chord]] = {}
        self.right: list[list[_Chord]] = [[] for _ in range(count)]
        self.left: list[list[_Chord]] = [[] for _ in range(count)]
        for way in ladder.ways:
            for i, (a, b) in enumerate(zip(way.nodes, way.nodes[1:], strict=False)):
                channel = way.channels[i]
                if channel is None:
                    continue
                ends = (a, b)
                sides = tuple(0 if ladder.nodes[v].level == channel else 1 for v in ends)
                ranks = self._rank(a, way, 0, shapes), self._rank(b, way, 1, shapes)
                chord = _Chord(ends, sides, ranks)
                self.channels.setdefault(channel, []).append(chord)
                for v, side in zip(ends, sides, strict=True):
                    (self.left if side else self.right)[v].append(chord)
        self.columns = columns_of(ladder)
        self.column = [-1] * count
        for n, column in enumerate(self.columns):
            for v in column:
                self.column[v] = n
        self.least = 0
        self.pos = [0] * (count + len(wish))
        for n, (block, (side, rank)) in enumerate(wish.items()):
            self.pos[count + n] = rank
            chord = _Chord((count + n, block), (0, 1) if side == "L" else (1, 0), (0.5, 0.5))
            self.channels.setdefault(-1 if side == "L" else len(self.levels) - 1, []).append(chord)
            (self.left if side == "L" else self.right)[block].append(chord)
        self._number()

    def _rank(self, node: int, way, n: int, shapes) -> float:
        """Where along the height of a block its pipe leaves, from 0 to 1: above all others if upwards."""
        block = self.ladder.nodes[node].block
        if block < 0 or shapes[block] is None:
            return 0.5
        o = shapes[block].open[End(way.pipe, n)]
        box = shapes[block].bounds()
        if o.side in "TB":
            reach = (o.at.x - box.x) / max(box.w, 1)
            reach = 0.04 * (reach if way.leaves[n] == "R" else 1 - reach)
            return reach if o.side == "T" else 1 - reach
        return 0.05 + 0.9 * (o.at.y - box.y) / max(box.h, 1)

    def _round(self, chord: _Chord, n: int) -> float:
        """Where round its channel a chord ends: down the left side, up the right."""
        at = self.pos[chord.ends[n]] + chord.ranks[n]
        return FAR - at if chord.sides[n] else at

    def _cross(self, a: _Chord, b: _Chord) -> bool:
        p, q = self._round(a, 0), self._round(a, 1)
        if p > q:
            p, q = q, p
        r, s = self._round(b, 0), self._round(b, 1)
        return (p < r < q) != (p < s < q) and r not in (p, q) and s not in (p, q)

    def _number(self) -> None:
        for row in self.levels:
            for i, v in enumerate(row):
                self.pos[v] = i

    def best(self, rounds: int) -> list[list[int]]:
        """The best order found from a few starts; each start is a fixed function of its number."""
        kept, least = None, None
        for n in range(rounds):
            if n:
                rng = random.Random(SEED + n)
                for row in self.levels:
                    rng.shuffle(row)
            for i, row in enumerate(self.levels):
                self._set(i, self._in_columns(row))
            self._sweep(SWEEPS)
            self._sift()
            crossings = self.crossings()
            if least is None or crossings < least:
                kept, least = [list(row) for row in self.levels], crossings
            if not least:
                break
        self.least = least or 0
        return kept or self.levels

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

    def _marks(self, v: int, beside) -> list[float]:
        """Where the far ends of a node's chords are."""
        out = []
        for chord in beside[v]:
            n = 1 if chord.ends[0] == v else 0
            out.append(self.pos[chord.ends[n]] + chord.ranks[n])
        return out

    def _sort(self, i: int, beside) -> None:
        row = self.levels[i]
        key: dict[int, float] = {}
        marks = {v: self._marks(v, beside) for v in row}
        for v in row:
            key[v] = sum(marks[v]) / len(marks[v]) if marks[v] else self.pos[v]
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

    def _pair(self, u: int, v: int) -> int:
        """Crossings saved if neighbours u and v trade places."""
        total = 0
        for beside in (self.left, self.right):
            for a in beside[u]:
                for b in beside[v]:
                    if a is not b and not (u in b.ends or v in a.ends):
                        total += 1 if self._cross(a, b) else -1 if self._apart(a, b, u, v) else 0
        return total

    def _apart(self, a: _Chord, b: _Chord, u: int, v: int) -> bool:
        """True if the far ends of two chords are not at one point."""
        m, n = (1 if a.ends[0] == u else 0), (1 if b.ends[0] == v else 0)
        return self._round(a, m) != self._round(b, n)

    def _sift(self) -> None:
        """Each node, level by level, goes to the place of its level where least crosses, as long as that saves any."""
        for _ in range(8):
            better = False
            for i, row in enumerate(self.levels):
                if len(row) > SIFTED:
                    better |= self._swap_level(i)
                    continue
                for v in list(row):
                    better |= self._sift_node(i, v)
            if not better:
                break

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
                if gain > best:
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

    def _gain(self, u: int, v: int) -> int | None:
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
            if gain is not None and gain > 0:
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
            for n, chord in enumerate(chords):
                p, q = self._round(chord, 0), self._round(chord, 1)
                stops += [(min(p, q), 1, -max(p, q), n), (max(p, q), 0, -min(p, q), n)]
            stops.sort()
            opened: list[float] = []
            for at, opens, other, _ in stops:
                if opens:
                    opened.append(at)
                else:
                    total += len(opened) - bisect_right(opened, -other)
                    del opened[bisect_right(opened, -other) - 1]
        for column in self.columns:
            total += abs(self.pos[column[0]] - self.pos[column[-1]]) - len(column) + 1
        return total


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
) -> tuple[list[list[int]], int]:
    """The nodes of each level from top to bottom, and how many crossings that makes.

    After: tees of one column are in the order of the column.
    """  # fmt: skip
    order = _Order(ladder, shapes, wish)
    return order.best(rounds), order.least
