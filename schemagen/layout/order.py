"""The order of nodes within each level, from top to bottom, and what crosses in it.

An order is kept and counted here; who looks for a better one moves its nodes from outside.
"""

from bisect import bisect_right
from collections import Counter
from collections.abc import Collection, Mapping, Sequence

from schemagen.layout.paths import Ladder
from schemagen.layout.shapes import End, Shape, Ways
from schemagen.layout.strands import Chord, Far, Strand, rank, strand

FAR = 1e7
"""Further down than any node of a level."""

INVERTED = 0.05
"""What a return above a flow in one level counts, in crossings."""

TOO_LOW, TOO_HIGH = 1.0, 0.05
"""What a pair of one level counts, in crossings, if the lower belongs to the top, and if the upper is a drain."""

RISING = 5.0
"""What a pipe counts, in crossings, that has to fall and rises from one piece of a level to another."""

Wish = Mapping[int, tuple[str, int]]
"""Blocks that stand for ways out: the side, and how far down that side the rest of the drawing would like them."""

Keys = tuple[list[float], list[float]]
"""For the chords to the left and to the right of a node: where on the way round the far ends are."""


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
        self.left: dict[int, list[Far]] = {v: [] for row in rows for v in row}
        self.right: dict[int, list[Far]] = {v: [] for row in rows for v in row}
        self.channels: dict[int, list[Chord]] = {}
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
            self.channels.setdefault(channel, []).append(Chord(-1, out, 1 - ahead, 0.5, block, ahead, 0.5))
            (self.left if ahead else self.right)[block].append(Far(out, 0.5, False, -1))
        self.columns = columns_of(uprights)
        self.column = {v: n for n, column in enumerate(self.columns) for v in column}
        self.special = {v for v in self.left if lift[v]} | {v for pair in falls for v in pair} | set(self.column)
        self.least = 0.0
        self.within: dict[int, int] = {}
        self.number()

    def number(self) -> None:
        """Works the positions out anew from the levels."""
        for row in self.levels:
            for i, v in enumerate(row):
                self.pos[v] = i

    def put(self, i: int, row: list[int]) -> None:
        """Makes `row` the order of a level."""
        self.levels[i] = row
        for p, v in enumerate(row):
            self.pos[v] = p

    def keys(self, v: int, other: int | None = None, passed: Collection[int] = ()) -> Keys:
        """Where the far ends are on the way round from just below a node: down its side, up the other, down to it.

        Left and right; chords to `other` are left out. Of the nodes of its level it is past those `passed`.
        """
        pos, at = self.pos, self.pos[v]
        sides = self.left[v], self.right[v]
        if v not in self.joined:
            left, right = ([FAR - (pos[node] + down) for node, down, _, _ in beside] for beside in sides)
            return left, right
        out = []
        for beside in sides:
            keys = []
            for node, down, same, _ in beside:
                if node != other:
                    p = pos[node] + down
                    below = (p > at) != (node in passed)
                    keys.append(FAR - p if not same else p if below else 2 * FAR + p)
            out.append(keys)
        return out[0], out[1]

    def counted(self, before: "Order | None" = None) -> float:
        """The crossings, with a bit for each return on high and for what stands lower or higher than it belongs.

        Channels that have not changed since the order before are not counted anew.
        """
        anew = self.differing(before) if before else self.channels
        self.within = {c: self._within(c) if c in anew else before.within[c] for c in self.channels}
        return self.crossings() + INVERTED * self.inversions() + self.strays()

    def differing(self, before: "Order") -> set[int]:
        """The channels that have other chords than before, or other levels beside them."""
        now, then = self.levels, before.levels
        return {
            c
            for c in range(-1, len(now))
            if now[max(c, 0) : c + 2] != then[max(c, 0) : c + 2] or self.channels.get(c) != before.channels.get(c)
        }

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
                total += sum(n * stray(other, lift) for other, n in above.items())
                above[lift] = above.get(lift, 0) + 1
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


def stray(upper: int, lower: int) -> float:
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
        for side, chords, keys in zip("LR", (order.left[v], order.right[v]), order.keys(v), strict=True):
            pipes = (far.pipe for far in chords)
            for n, (_, pipe) in enumerate(sorted(zip(keys, pipes, strict=True), reverse=True)):
                out[End(pipe, first[v, pipe])] = side, n
    return out


def crossings_in(ladder: Ladder, shapes: Sequence[Shape | None]) -> int:
    """How many crossings the order of a ladder makes."""
    order = order_of(ladder, shapes)
    order.counted()
    return order.crossings()
