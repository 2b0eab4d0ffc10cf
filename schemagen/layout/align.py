"""Points on a line under distance rules, joined into rigid groups one wish at a time."""

from collections import deque
from collections.abc import Sequence

from schemagen.layout.settle import Pull, Rule, RulesContradict, pushed, settled

FARTHEST = 2000
"""How many groups are pushed for one wish before it is given up."""


class Aligner:
    """Keeps least positions that obey all rules; `join` ties two points to an exact distance if the rules allow.

    `ties` (point, point, distance) hold from the start. Raises RulesContradict if they or the rules cannot be kept.
    """

    def __init__(self, count: int, rules: Sequence[Rule], ties: Sequence[tuple[int, int, int]] = ()) -> None:
        self.group, self.of = [[v] for v in range(count)], list(range(count))
        off = [0] * count
        for a, b, rest in ties:
            self._tie(a, b, rest, off)
        of, own = self.of, []
        self.ahead: list[list[Rule]] = [[] for _ in range(count)]
        for rule in rules:
            a, b, gap = rule
            self.ahead[a].append(rule)
            need = gap + off[a] - off[b]
            if of[a] != of[b]:
                own.append((of[a], of[b], need))
            elif need > 0:
                raise RulesContradict("points tied to each other would have to be further apart")
        least = pushed(count, own)
        self.at = [least[g] + d for g, d in zip(of, off, strict=True)]
        self.rules = list(rules)

    def _tie(self, a: int, b: int, rest: int, off: list[int]) -> None:
        """Puts two points into one group, `off` being each point's place in its group."""
        ga, gb = self.of[a], self.of[b]
        if ga == gb:
            if off[b] - off[a] != rest:
                raise RulesContradict("two points are tied to each other in two ways")
            return
        small, large, shift = (gb, ga, off[a] + rest - off[b]) if len(self.group[gb]) <= len(self.group[ga]) else (
            ga, gb, off[b] - rest - off[a])  # fmt: skip
        for v in self.group[small]:
            self.of[v] = large
            off[v] += shift
        self.group[large] += self.group[small]
        self.group[small] = []

    def join(self, a: int, b: int, rest: int = 0) -> bool:
        """Makes position[b] - position[a] = rest for good; False, and nothing changed, if that cannot be."""
        ga, gb = self.of[a], self.of[b]
        if ga == gb:
            return self.at[b] - self.at[a] == rest
        off = self.at[b] - self.at[a] - rest
        moved: dict[int, int] = {}
        first, fixed = (gb, ga) if off < 0 else (ga, gb)
        if off and not self._push(first, abs(off), fixed, moved):
            for v, old in moved.items():
                self.at[v] = old
            return False
        small, large = (ga, gb) if len(self.group[ga]) < len(self.group[gb]) else (gb, ga)
        for v in self.group[small]:
            self.of[v] = large
        self.group[large] += self.group[small]
        self.group[small] = []
        return True

    def _push(self, group: int, by: int, fixed: int, moved: dict[int, int]) -> bool:
        """Pushes a group onward and what it runs into; False as soon as the fixed group would have to move."""
        waiting, line = {group: by}, deque((group,))
        for _ in range(FARTHEST):
            if not line:
                return True
            g = line.popleft()
            step = waiting.pop(g)
            if g == fixed:
                return False
            members = self.group[g]
            for v in members:
                moved.setdefault(v, self.at[v])
                self.at[v] += step
            for v in members:
                for _, w, gap in self.ahead[v]:
                    lack = self.at[v] + gap - self.at[w]
                    if lack > 0:
                        other = self.of[w]
                        if other in (g, fixed):
                            return False
                        if other not in waiting:
                            line.append(other)
                        waiting[other] = max(lack, waiting.get(other, 0))
        return False

    def settle(self, pulls: Sequence[Pull], rounds: int = 8) -> list[int]:
        """The positions after the groups, as rigid pieces, have moved to where their pulls balance."""
        roots = [g for g, members in enumerate(self.group) if members]
        number = {g: i for i, g in enumerate(roots)}
        of = [number[g] for g in self.of]
        base = [self.at[self.group[g][0]] for g in roots]
        off = [at - base[g] for at, g in zip(self.at, of, strict=True)]
        gaps: dict[tuple[int, int], int] = {}
        for a, b, gap in self.rules:
            if of[a] != of[b]:
                key, need = (of[a], of[b]), gap + off[a] - off[b]
                if key not in gaps or need > gaps[key]:
                    gaps[key] = need
        ties: dict[tuple[int, int, int], int] = {}
        for a, b, rest, weight in pulls:
            if of[a] != of[b]:
                key = (of[a], of[b], rest + off[a] - off[b])
                ties[key] = ties.get(key, 0) + weight
        rules = [(a, b, gap) for (a, b), gap in gaps.items()]
        found = settled(base, rules, [Pull(*key, w) for key, w in ties.items()], rounds)
        return [found[g] + d for g, d in zip(of, off, strict=True)]
