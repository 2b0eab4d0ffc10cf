"""Points on a line under distance rules, joined into rigid groups one wish at a time."""

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
        own = []
        for a, b, gap in rules:
            need = gap + off[a] - off[b]
            if self.of[a] != self.of[b]:
                own.append(Rule(self.of[a], self.of[b], need))
            elif need > 0:
                raise RulesContradict("points tied to each other would have to be further apart")
        least = pushed(count, own)
        self.at = [least[self.of[v]] + off[v] for v in range(count)]
        self.ahead: list[list[tuple[int, int]]] = [[] for _ in range(count)]
        for a, b, gap in rules:
            self.ahead[a].append((b, gap))
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
        waiting = {group: by}
        for _ in range(FARTHEST):
            g = next(iter(waiting), None)
            if g is None:
                return True
            step = waiting.pop(g)
            if g == fixed:
                return False
            members = self.group[g]
            for v in members:
                moved.setdefault(v, self.at[v])
                self.at[v] += step
            for v in members:
                for w, gap in self.ahead[v]:
                    lack = self.at[v] + gap - self.at[w]
                    if lack > 0:
                        other = self.of[w]
                        if other in (g, fixed):
                            return False
                        waiting[other] = max(lack, waiting.get(other, 0))
        return False

    def settle(self, pulls: Sequence[Pull], rounds: int = 8) -> list[int]:
        """The positions after the groups, as rigid pieces, have moved to where their pulls balance."""
        roots = [g for g in range(len(self.group)) if self.group[g]]
        number = {g: i for i, g in enumerate(roots)}
        base = [self.at[self.group[g][0]] for g in roots]
        off = [self.at[v] - base[number[self.of[v]]] for v in range(len(self.at))]
        gaps: dict[tuple[int, int], int] = {}
        for a, b, gap in self.rules:
            ga, gb = number[self.of[a]], number[self.of[b]]
            if ga != gb:
                need = gap + off[a] - off[b]
                gaps[ga, gb] = max(need, gaps.get((ga, gb), need))
        ties: dict[tuple[int, int, int], int] = {}
        for a, b, rest, weight in pulls:
            ga, gb = number[self.of[a]], number[self.of[b]]
            if ga != gb:
                key = (ga, gb, rest + off[a] - off[b])
                ties[key] = ties.get(key, 0) + weight
        rules = [Rule(a, b, gap) for (a, b), gap in gaps.items()]
        found = settled(base, rules, [Pull(*key, w) for key, w in ties.items()], rounds)
        return [found[number[self.of[v]]] + off[v] for v in range(len(self.at))]
