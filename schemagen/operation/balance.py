"""Heads and flows in branches of fixed resistance, with one-way branches shut where water would run backwards."""

from collections.abc import Sequence
from dataclasses import dataclass

from schemagen.operation.linear import connected, solve_nodes

_ROUNDS = 100

_NOISE = 1e-10
"""A head lost in a branch below this share of the driving head is rounding."""


@dataclass(frozen=True)
class Balance:
    """Flow in each branch from a to b, and the head of each point."""

    flow: list[float]
    point_head: list[float]


def balance(
    a: Sequence[int], b: Sequence[int], points: int, resistance: Sequence[float], head: Sequence[float],
    is_open: Sequence[bool], forward: Sequence[bool], backward: Sequence[bool],
) -> Balance:  # fmt: skip
    """Flows in which no one-way branch runs backwards and none stays shut that would run forwards.

    `head` drives from a to b. The network is taken as closed: what enters a point leaves it.
    """
    may_open = [n for n, whole in enumerate(is_open) if whole and (forward[n] or backward[n])]
    now = [False] * len(a)
    for n in may_open:
        now[n] = True
    noise = _NOISE * max(map(abs, head), default=0.0)
    seen: set[tuple[bool, ...]] = set()
    reopen = True
    for _ in range(_ROUNDS):
        flow, at = linear_flow(a, b, points, resistance, head, now)
        flow = [q if abs(q) * r > noise else 0.0 for q, r in zip(flow, resistance, strict=True)]
        change = [n for n in may_open if now[n] and flow[n] and not passes(flow[n], 0.0, forward[n], backward[n])]
        if not change and reopen:
            push = {n: at[a[n]] - at[b[n]] + head[n] for n in may_open if not now[n]}
            change = [n for n in push if passes(push[n], noise, forward[n], backward[n])]
        if not change:
            break
        for n in change:
            now[n] = not now[n]
        key = tuple(now)
        reopen = reopen and key not in seen
        seen.add(key)
    return Balance(flow, at)


def passes(push: float, least: float, forward: bool, backward: bool) -> bool:
    """True if a push from a to b above `least` finds its way open, or one from b to a."""
    return (push > least and forward) or (push < -least and backward)


def linear_flow(
    a: Sequence[int], b: Sequence[int], points: int, resistance: Sequence[float], head: Sequence[float],
    is_open: Sequence[bool],
) -> tuple[list[float], list[float]]:  # fmt: skip
    """Flow per branch (0 where shut) and head per point, in each separate piece from its first point."""
    there = [n for n, whole in enumerate(is_open) if whole]
    starts, ends = [a[n] for n in there], [b[n] for n in there]
    conductance = [1.0 / resistance[n] for n in there]
    entering = [0.0] * points
    for n, c in zip(there, conductance, strict=True):
        entering[a[n]] -= c * head[n]
        entering[b[n]] += c * head[n]
    first = connected(points, starts, ends)
    at = solve_nodes([i == first[i] for i in range(points)], starts, ends, conductance, entering)
    flow = [0.0] * len(a)
    for n, c in zip(there, conductance, strict=True):
        flow[n] = c * (at[a[n]] - at[b[n]] + head[n])
    return flow, at
