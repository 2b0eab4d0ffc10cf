"""Positions on a line that keep all distance rules and make weighted stretches short."""

from collections.abc import Sequence
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
    after: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    before = [0] * count
    for a, b, gap in rules:
        after[a].append((b, gap))
        before[b] += 1
    at = [0] * count
    ready = [v for v in range(count) if not before[v]]
    done = 0
    while ready:
        v = ready.pop()
        done += 1
        for b, gap in after[v]:
            if at[v] + gap > at[b]:
                at[b] = at[v] + gap
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
    count = len(start)
    at = list(start)
    ahead: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    behind: list[list[tuple[int, int]]] = [[] for _ in range(count)]
    for a, b, gap in rules:
        ahead[a].append((b, gap))
        behind[b].append((a, gap))
    ties: list[list[tuple[int, int, int]]] = [[] for _ in range(count)]
    for a, b, rest, weight in pulls:
        if a != b:
            ties[a].append((b, -rest, weight))
            ties[b].append((a, rest, weight))
    for turn in range(rounds):
        moved = False
        for v in range(count) if turn % 2 == 0 else reversed(range(count)):
            for way in (1, -1):
                while ties[v] and _shift(v, way, at, ahead if way > 0 else behind, ties):
                    moved = True
        if not moved:
            break
    return at


def _shift(v: int, way: int, at: list[int], ahead, ties) -> bool:
    """Moves v and what has to go with it one way as far as it pays; False if it does not pay."""
    group: dict[int, None] = {}
    if not _gather(v, way, at, ahead, group):
        return False
    for _ in range(12):
        gain, glued, weight = 0, -1, 0
        for m in group:
            for u, rest, w in ties[m]:
                if u in group:
                    continue
                off = way * (at[m] - at[u] - rest)
                gain += w if off < 0 else -w
                if off == 0 and w > weight:
                    glued, weight = u, w
        if gain > 0:
            step = _step(group, way, at, ahead, ties)
            if step <= 0:
                return False
            for m in group:
                at[m] += way * step
            return True
        if glued < 0 or len(group) > 60 or not _gather(glued, way, at, ahead, group):
            return False
    return False


def _gather(v: int, way: int, at: list[int], ahead, group: dict[int, None]) -> bool:
    """Adds a point and all that stand in its way; False if they are too many to be moved at once."""
    stack = [v]
    group[v] = None
    while stack:
        m = stack.pop()
        for u, gap in ahead[m]:
            if u not in group and way * (at[u] - at[m]) <= gap:
                group[u] = None
                stack.append(u)
        if len(group) > MOST:
            return False
    return True


def _step(group: dict[int, None], way: int, at: list[int], ahead, ties) -> int:
    step = 1 << 60
    for m in group:
        for u, gap in ahead[m]:
            if u not in group:
                step = min(step, way * (at[u] - at[m]) - gap)
        for u, rest, _ in ties[m]:
            if u not in group:
                off = way * (at[m] - at[u] - rest)
                if off < 0:
                    step = min(step, -off)
    return step if step < 1 << 60 else 0
