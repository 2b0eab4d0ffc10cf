"""The order of the pieces within each level, from top to bottom, so that few pipes cross."""

import random
from collections.abc import Sequence

from schemagen.layout.paths import Ladder
from schemagen.layout.shapes import End, Shape

SEED = 20


class _Order:
    """Positions of nodes within levels, and the pipes between neighbouring levels."""

    def __init__(self, ladder: Ladder, shapes: Sequence[Shape | None]) -> None:
        self.ladder = ladder
        count = len(ladder.nodes)
        self.levels = [list(row) for row in ladder.levels]
        self.right: list[list[tuple[int, float, float]]] = [[] for _ in range(count)]
        self.left: list[list[tuple[int, float, float]]] = [[] for _ in range(count)]
        for way in ladder.ways:
            for i, (a, b) in enumerate(zip(way.nodes, way.nodes[1:], strict=False)):
                ra = self._rank(a, way, 0, shapes)
                rb = self._rank(b, way, 1, shapes)
                channel = way.channels[i]
                la, lb = ladder.nodes[a].level, ladder.nodes[b].level
                if la == channel and lb == channel + 1:
                    self.right[a].append((b, ra, rb))
                    self.left[b].append((a, rb, ra))
                elif lb == channel and la == channel + 1:
                    self.right[b].append((a, rb, ra))
                    self.left[a].append((b, ra, rb))
        self.unit: list[int] = list(range(count))
        self._units()
        self.pos = [0] * count
        self._number()

    def _rank(self, node: int, way, n: int, shapes) -> float:
        """Where along the height of a block its pipe leaves, from 0 to 1."""
        block = self.ladder.nodes[node].block
        if block < 0 or shapes[block] is None:
            return 0.5
        o = shapes[block].open[End(way.pipe, n)]
        if o.side in "TB":
            return 0.02 if o.side == "T" else 0.98
        box = shapes[block].bounds()
        return 0.05 + 0.9 * (o.at.y - box.y) / max(box.h, 1)

    def _units(self) -> None:
        """Tees that stand in one column move as one; members are kept in the order of the column."""
        beside: dict[int, list[int]] = {}
        for _, a, b in self.ladder.uprights:
            beside.setdefault(a, []).append(b)
            beside.setdefault(b, []).append(a)
        self.columns: dict[int, list[int]] = {}
        for v in sorted(beside):
            if len(beside[v]) == 1 and self.unit[v] == v and v not in self.columns:
                column, seen = [v], {v}
                while True:
                    onward = [w for w in beside[column[-1]] if w not in seen]
                    if not onward:
                        break
                    column.append(onward[0])
                    seen.add(onward[0])
                for w in column:
                    self.unit[w] = v
                self.columns[v] = column

    def _number(self) -> None:
        for row in self.levels:
            for i, v in enumerate(row):
                self.pos[v] = i

    def best(self, rounds: int) -> list[list[int]]:
        """The best order found from a few starts; each start is a fixed function of its number."""
        self._gather_units()
        kept, least = None, None
        for n in range(rounds):
            if n:
                rng = random.Random(SEED + n)
                for row in self.levels:
                    rng.shuffle(row)
                self._gather_units()
            self._sweep(10)
            self._swap()
            crossings = self.crossings()
            if least is None or crossings < least:
                kept, least = [list(row) for row in self.levels], crossings
            if not least:
                break
        return kept or self.levels

    def _gather_units(self) -> None:
        for i, row in enumerate(self.levels):
            out, seen = [], set()
            for v in row:
                if self.unit[v] not in seen:
                    seen.add(self.unit[v])
                    out += self.columns.get(self.unit[v], [v])
            self.levels[i] = out
        self._number()

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
        groups: dict[int, list[int]] = {}
        for v in row:
            groups.setdefault(self.unit[v], []).append(v)
        keyed = []
        for members in groups.values():
            marks = [(self.pos[w] + rw, r) for v in members for w, r, rw in beside[v]]
            own = sum(self.pos[v] for v in members) / len(members)
            key = sum(m for m, _ in marks) / len(marks) if marks else own
            if len(members) > 1 and self._slope(members, beside) < 0:
                members.reverse()
            keyed.append((key, own, members))
        keyed.sort(key=lambda k: (k[0], k[1]))
        self.levels[i] = [v for _, _, members in keyed for v in members]
        for p, v in enumerate(self.levels[i]):
            self.pos[v] = p

    def _slope(self, members: list[int], beside) -> float:
        """Negative if the column would cross less the other way up."""
        total = 0
        for i, v in enumerate(members):
            for w in members[i + 1 :]:
                for a, _, ra in beside[v]:
                    for b, _, rb in beside[w]:
                        total += 1 if self.pos[a] + ra < self.pos[b] + rb else -1
        return total

    def _pair(self, u: int, v: int) -> int:
        """Crossings of the pipes of u and v if u is above v, less those if v is above u."""
        total = 0
        for beside in (self.left, self.right):
            for a, _, ra in beside[u]:
                ka = self.pos[a] + ra
                for b, _, rb in beside[v]:
                    kb = self.pos[b] + rb
                    total += (ka > kb) - (ka < kb)
        return total

    def _swap(self) -> None:
        """Neighbouring units trade places as long as that saves crossings."""
        for _ in range(12):
            better = False
            for i in range(len(self.levels)):
                better |= self._swap_level(i)
            if not better:
                break

    def _swap_level(self, i: int) -> bool:
        groups: list[list[int]] = []
        for v in self.levels[i]:
            if groups and self.unit[groups[-1][0]] == self.unit[v]:
                groups[-1].append(v)
            else:
                groups.append([v])
        better = False
        for j in range(len(groups) - 1):
            a, b = groups[j], groups[j + 1]
            if sum(self._pair(u, v) for u in a for v in b) > 0:
                groups[j], groups[j + 1] = b, a
                better = True
                self.levels[i] = [v for g in groups for v in g]
                for p, v in enumerate(self.levels[i]):
                    self.pos[v] = p
        return better

    def crossings(self) -> int:
        total = 0
        for row in self.levels:
            edges = sorted((self.pos[v] + r, self.pos[w] + rw) for v in row for w, r, rw in self.right[v])
            seen: list[float] = []
            from bisect import bisect_right, insort

            for _, far in edges:
                total += len(seen) - bisect_right(seen, far)
                insort(seen, far)
        return total


def ordered(ladder: Ladder, shapes: Sequence[Shape | None]) -> list[list[int]]:
    """The nodes of each level from top to bottom. After: tees of one column stand together."""
    size = len(ladder.nodes)
    return _Order(ladder, shapes).best(max(1, min(16, 2400 // max(size, 1))))
