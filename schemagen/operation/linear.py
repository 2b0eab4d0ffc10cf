"""The linear algebra of a network: which nodes hang together, and one solve of the node equations.

Most nodes have two or three neighbours, so nodes are eliminated one by one, fewest neighbours first. A node leaves the
mesh behind that equals its star: sums and products of conductances alone, so that nothing cancels.
Source: star-mesh transform and minimum degree order, as in any account of sparse networks.
"""

import heapq
from collections.abc import Iterable, Sequence

TANGLED = 8
"""Neighbours from which on a node is left to the rest that is solved as one matrix; piping hardly ever has such."""

_DATUM = -1
"""The neighbour that stands for all fixed nodes."""


def connected(nodes: int, starts: Iterable[int], ends: Iterable[int]) -> list[int]:
    """A number per node, the same for nodes that links join: the lowest node of their group."""
    group = list(range(nodes))

    def top(i: int) -> int:
        while group[i] != i:
            group[i] = group[group[i]]
            i = group[i]
        return i

    for s, e in zip(starts, ends, strict=True):
        low, high = sorted((top(s), top(e)))
        group[high] = low
    return [top(i) for i in range(nodes)]


def solve_nodes(
    fixed: Sequence[bool], starts: Sequence[int], ends: Sequence[int], conductance: Sequence[float],
    right: Sequence[float],
) -> list[float]:  # fmt: skip
    """The value of every node, 0 at the fixed ones, from what enters at each (`right`).

    `conductance` [any unit, above 0] belongs to the links from `starts` to `ends`. Every free node must be joined, over
    other free nodes, to a fixed one.
    """
    near: list[dict[int, float]] = [{} for _ in fixed]
    for s, e, c in zip(starts, ends, conductance, strict=True):
        for i, j in ((s, e), (e, s)) if s != e else ():
            if not fixed[i]:
                j = _DATUM if fixed[j] else j
                near[i][j] = near[i].get(j, 0.0) + c
    entering = list(right)
    stars = _eliminated(near, entering, [i for i, pinned in enumerate(fixed) if not pinned])
    value = [0.0] * (len(fixed) + 1)
    rest = [i for i, pinned in enumerate(fixed) if not pinned and i not in stars]
    for i, solved in zip(rest, _solved_as_matrix(near, entering, rest), strict=True):
        value[i] = solved
    for i, total in reversed(stars.items()):
        value[i] = (entering[i] + sum([c * value[j] for j, c in near[i].items()])) / total
    return value[:_DATUM]


def _eliminated(near: list[dict[int, float]], entering: list[float], free: list[int]) -> dict[int, float]:
    """The nodes that could be eliminated, in order, with the sum of the conductances that each had left."""
    queue = [(len(near[i]), i) for i in free]
    heapq.heapify(queue)
    stars: dict[int, float] = {}
    while queue:
        degree, i = heapq.heappop(queue)
        if i in stars or degree != len(near[i]):
            continue
        if degree > TANGLED:
            break
        star = list(near[i].items())
        stars[i] = total = sum([c for _, c in star])
        for j, c in star:
            if j == _DATUM:
                continue
            share = c / total
            others = near[j]
            del others[i]
            entering[j] += share * entering[i]
            for k, d in star:
                if k != j:
                    others[k] = others.get(k, 0.0) + share * d
            heapq.heappush(queue, (len(others), j))
    return stars


def _solved_as_matrix(near: list[dict[int, float]], entering: list[float], nodes: list[int]) -> list[float]:
    if not nodes:
        return []
    import numpy as np

    at = {node: n for n, node in enumerate(nodes)}
    matrix = np.diag([sum(near[i].values()) for i in nodes])
    for i in nodes:
        for j, c in near[i].items():
            if j != _DATUM:
                matrix[at[i], at[j]] = -c
    return np.linalg.solve(matrix, [entering[i] for i in nodes]).tolist()
