"""Positions on a line that keep all distance rules and make weighted stretches short."""

from collections.abc import Mapping, Sequence
from typing import NamedTuple

MOST = 300
"""How many points are moved at once, at most."""


class Rule(NamedTuple):
    """position[b] - position[a] >= gap."""

    a: int
    b: int
    gap: int


class Pull(NamedTuple):
    """Costs weight · |position[b] - position[a] - rest|."""

    a: int
    b: int
    rest: int
    weight: int


class RulesContradict(ValueError):
    """The rules hold a cycle that asks for more than zero distance."""


def pushed(count: int, rules: Sequence[Rule]) -> list[int]:
    """The least positions >= 0 that keep all rules. Raises RulesContradict."""
    after: list[list[Rule]] = [[] for _ in range(count)]
    before = [0] * count
    for rule in rules:
        after[rule[0]].append(rule)
        before[rule[1]] += 1
    at = [0] * count
    ready = [v for v in range(count) if not before[v]]
    done = 0
    while ready:
        v = ready.pop()
        done += 1
        own = at[v]
        for _, b, gap in after[v]:
            if own + gap > at[b]:
                at[b] = own + gap
            before[b] -= 1
            if not before[b]:
                ready.append(b)
    return at if done == count else _relaxed(count, rules)


def agreeing(count: int, rules: Sequence[Rule], wishes: Sequence[Sequence[Rule]]) -> list[Rule]:
    """The rules, and of the wishes (each some rules that belong together) those that lead to no ring with them."""
    out = list(rules)

    def add(some: Sequence[Sequence[Rule]]) -> None:
        more = [rule for wish in some for rule in wish]
        if not _has_ring(count, [*out, *more]):
            out.extend(more)
        elif len(some) > 1:
            add(some[: len(some) // 2])
            add(some[len(some) // 2 :])

    if wishes:
        add(wishes)
    return out


def _has_ring(count: int, rules: Sequence[Rule]) -> bool:
    after: list[list[int]] = [[] for _ in range(count)]
    before = [0] * count
    for a, b, _ in rules:
        after[a].append(b)
        before[b] += 1
    ready = [v for v in range(count) if not before[v]]
    done = 0
    while ready:
        v = ready.pop()
        done += 1
        for b in after[v]:
            before[b] -= 1
            if not before[b]:
                ready.append(b)
    return done < count


def _relaxed(count: int, rules: Sequence[Rule]) -> list[int]:
    at = [0] * count
    for _ in range(count + 1):
        changed = False
        for a, b, gap in rules:
            if at[a] + gap > at[b]:
                at[b] = at[a] + gap
                changed = True
        if not changed:
            return at
    raise RulesContradict("the distance rules contradict each other")


def settled(start: Sequence[int], rules: Sequence[Rule], pulls: Sequence[Pull], rounds: int = 8) -> list[int]:
    """Positions near `start` that keep all rules and cost less; `start` must keep them already.

    One point at a time moves to where its pulls balance, taking along the points that stand in its way and, if it
    gains nothing alone, the points it is exactly where it wants to be with.
    """
    line = _Line(start, rules, pulls)
    pulled = [v for v in range(len(start)) if line.ties[v]]
    for turn in range(rounds):
        moved = False
        for v in pulled if turn % 2 == 0 else reversed(pulled):
            for way in (1, -1):
                while line.shift(v, way):
                    moved = True
        if not moved:
            break
    return line.at


class _Line:
    """Points on a line; what stands in the way of a point and what it is pulled by is remembered until it changes."""

    def __init__(self, start: Sequence[int], rules: Sequence[Rule], pulls: Sequence[Pull]) -> None:
        count = len(start)
        self.at = list(start)
        self.ahead: dict[int, list[list[tuple[int, int]]]] = {way: [[] for _ in range(count)] for way in (1, -1)}
        for a, b, gap in rules:
            self.ahead[1][a].append((b, gap))
            self.ahead[-1][b].append((a, gap))
        self.ties: list[list[tuple[int, int, int]]] = [[] for _ in range(count)]
        for a, b, rest, weight in pulls:
            if a != b:
                self.ties[a].append((b, -rest, weight))
                self.ties[b].append((a, rest, weight))
        self.met: dict[int, list[list[int] | None]] = {way: [None] * count for way in (1, -1)}
        self.off: list[list[tuple[int, int, int]] | None] = [None] * count
        self.moves, self.changed = 0, [0] * count
        """How often anything has moved, and after which move each point, or what it sees, was last changed."""
        self.stuck: dict[int, dict[int, tuple[tuple[int, ...], int]]] = {1: {}, -1: {}}
        """By way and point: the group that did not pay, as of which move; no group if any move may change that."""
        self.heavy: dict[int, set[int]] = {1: set(), -1: set()}
        """By way: points in whose way too many stand, until anything moves."""

    def shift(self, v: int, way: int) -> bool:
        """Moves v and what has to go with it one way as far as it pays; False if it does not pay."""
        if v in self.stuck[way]:
            seen, since = self.stuck[way][v]
            if max(map(self.changed.__getitem__, seen), default=self.moves) <= since:
                return False
        group: dict[int, int] = {}
        if self._pays(v, way, group) and self._move(group, way):
            return True
        self.stuck[way][v] = tuple(group), self.moves
        return False

    def _pays(self, v: int, way: int, group: dict[int, int]) -> bool:
        """True if a group gains by moving one way: v with what stands in its way, and with what they are glued to."""
        gain, glue = 0, []
        for turn in range(12):
            new = self._gathered(v, way, group, turn)
            if new is None:
                return False
            for m in new:
                for u, off, weight in self.off[m] or self._offs(m):
                    if u not in group:
                        gain += weight if way * off < 0 else -weight
                        if not off:
                            glue.append((u, weight))
                    elif group[u] < turn:
                        gain += weight if way * off <= 0 else -weight
            if gain > 0:
                return True
            v, most = -1, 0
            for u, weight in glue:
                if weight > most and u not in group:
                    v, most = u, weight
            if v < 0 or len(group) > 60:
                return False
        return False

    def _gathered(self, v: int, way: int, group: dict[int, int], turn: int) -> list[int] | None:
        """The points added to a group with v: all that stand in its way; None if they are too many to be moved."""
        met, heavy = self.met[way], self.heavy[way]
        stack, new = [v], [v]
        group[v] = turn
        while stack:
            m = stack.pop()
            if m in heavy or len(new) > MOST:
                heavy.add(v)
                group.clear()
                return None
            meets = met[m]
            for u in self._meets(m, way) if meets is None else meets:
                if u not in group:
                    group[u] = turn
                    stack.append(u)
                    new.append(u)
        return new if len(group) <= MOST else None

    def _meets(self, m: int, way: int) -> list[int]:
        at, own = self.at, self.at[m]
        self.met[way][m] = found = [u for u, gap in self.ahead[way][m] if way * (at[u] - own) <= gap]
        return found

    def _offs(self, m: int) -> list[tuple[int, int, int]]:
        """For each pull of a point: the other point, how far it is beyond where that wants it, and the weight."""
        at, own = self.at, self.at[m]
        self.off[m] = found = [(u, own - at[u] - rest, weight) for u, rest, weight in self.ties[m]]
        return found

    def _move(self, group: Mapping[int, int], way: int) -> bool:
        """Moves a group as far as it can go at one gain; False if it cannot move."""
        step = self._step(group, way)
        if step <= 0:
            return False
        self.moves += 1
        self.heavy[1].clear()
        self.heavy[-1].clear()
        for m in group:
            self.at[m] += way * step
            self.changed[m] = self.moves
            self.off[m] = self.met[1][m] = self.met[-1][m] = None
            for u, _, _ in self.ties[m]:
                self.off[u], self.changed[u] = None, self.moves
            for side in (1, -1):
                for u, _ in self.ahead[side][m]:
                    self.met[-side][u], self.changed[u] = None, self.moves
        return True

    def _step(self, group: Mapping[int, int], way: int) -> int:
        at = self.at
        step = 1 << 60
        for m in group:
            for u, gap in self.ahead[way][m]:
                if u not in group:
                    step = min(step, way * (at[u] - at[m]) - gap)
            for u, rest, _ in self.ties[m]:
                if u not in group:
                    off = way * (at[m] - at[u] - rest)
                    if off < 0:
                        step = min(step, -off)
        return step if step < 1 << 60 else 0
