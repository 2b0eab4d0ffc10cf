"""Heads and flows in branches of fixed resistance, with one-way branches shut where water would run backwards."""

from dataclasses import dataclass

import numpy as np

from schemagen.operation.linear import solve_symmetric

_ROUNDS = 100

_NOISE = 1e-10
"""A head lost in a branch below this share of the driving head is rounding."""


@dataclass(frozen=True)
class Balance:
    """Flow in each branch from a to b, and the head of each point."""

    flow: np.ndarray
    point_head: np.ndarray


def balance(
    a: np.ndarray, b: np.ndarray, points: int, resistance: np.ndarray, head: np.ndarray,
    is_open: np.ndarray, forward: np.ndarray, backward: np.ndarray,
) -> Balance:  # fmt: skip
    """Flows in which no one-way branch runs backwards and none stays shut that would run forwards.

    `head` drives from a to b. The network is taken as closed: what enters a point leaves it.
    """
    is_open = is_open & (forward | backward)
    now = is_open.copy()
    noise = _NOISE * np.abs(head).max(initial=0.0)
    seen: set[bytes] = set()
    reopen = True
    for _ in range(_ROUNDS):
        flow, point_head = linear_flow(a, b, points, resistance, head, now)
        flow = np.where(np.abs(flow) * resistance > noise, flow, 0.0)
        wrong = now & (((flow > 0) & ~forward) | ((flow < 0) & ~backward))
        push = point_head[a] - point_head[b] + head
        ready = is_open & ~now & (((push > noise) & forward) | ((push < -noise) & backward))
        if wrong.any():
            now = now & ~wrong
        elif reopen and ready.any():
            now = now | ready
        else:
            break
        key = now.tobytes()
        reopen = reopen and key not in seen
        seen.add(key)
    return Balance(flow, point_head)


def linear_flow(
    a: np.ndarray, b: np.ndarray, points: int, resistance: np.ndarray, head: np.ndarray, is_open: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Flow per branch (0 where shut) and head per point, in each separate piece from its first point."""
    conductance = np.where(is_open, 1.0 / resistance, 0.0)
    given = conductance * head
    right = np.bincount(b, weights=given, minlength=points) - np.bincount(a, weights=given, minlength=points)
    keep = is_open & (a != b)
    fixed = _first_of_each_piece(a[keep], b[keep], points)
    free = ~fixed
    heads = np.zeros(points)
    heads[free] = solve_symmetric(np.cumsum(free) - 1, free, a[keep], b[keep], conductance[keep], right[free])
    return conductance * (heads[a] - heads[b] + head), heads


def _first_of_each_piece(a: np.ndarray, b: np.ndarray, points: int) -> np.ndarray:
    first = np.arange(points)
    while True:
        lower = np.minimum(first[a], first[b])
        after = first.copy()
        np.minimum.at(after, a, lower)
        np.minimum.at(after, b, lower)
        np.minimum.at(after, first[a], lower)
        np.minimum.at(after, first[b], lower)
        after = after[after]
        if (after == first).all():
            return first == np.arange(points)
        first = after
