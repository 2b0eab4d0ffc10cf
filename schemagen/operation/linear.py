"""The linear algebra of a network: which nodes hang together, and one symmetric solve per step.

Small networks are solved dense. In larger ones most nodes have two or three neighbours, so nodes are eliminated one
by one, fewest neighbours first (minimum degree), until what is left is tangled; that rest is solved dense.
"""

import heapq

import numpy as np

DENSE_UP_TO = 200
"""Unknowns that are solved dense at once; measured on two cores, elimination is faster above this."""

TANGLED = 8
"""Neighbours from which on a node is left to the dense rest."""


def connected(nodes: int, starts, ends) -> np.ndarray:
    """A number per node, the same for nodes that links join: the lowest node of their group."""
    group = list(range(nodes))

    def top(i: int) -> int:
        while group[i] != i:
            group[i] = group[group[i]]
            i = group[i]
        return i

    for s, e in zip(starts, ends, strict=True):
        low, high = sorted((top(int(s)), top(int(e))))
        group[high] = low
    return np.array([top(i) for i in range(nodes)], dtype=int)


def solve_symmetric(number, free, starts, ends, conductance, right) -> np.ndarray:
    """Solve the node equations of a network for its free nodes.

    `number` is each node's place among the free ones, `free` marks them, `conductance` [any unit] belongs to the
    links from `starts` to `ends`, `right` is the right-hand side of the free nodes. Every free node must be joined,
    over other free nodes, to one that is not free.
    """
    n = len(right)
    diagonal = np.bincount(starts, conductance, len(free)) + np.bincount(ends, conductance, len(free))
    inner = free[starts] & free[ends]
    row, column, value = number[starts[inner]], number[ends[inner]], conductance[inner]
    if n <= DENSE_UP_TO:
        matrix = np.zeros((n, n))
        np.add.at(matrix, (row, column), -value)
        matrix += matrix.T
        matrix[np.arange(n), np.arange(n)] = diagonal[free]
        return np.linalg.solve(matrix, right)
    return _eliminated(n, diagonal[free].tolist(), row.tolist(), column.tolist(), value.tolist(), right.tolist())


def _eliminated(n, diagonal, row, column, value, right) -> np.ndarray:
    neighbours: list[dict[int, float]] = [{} for _ in range(n)]
    for i, j, v in zip(row, column, value, strict=True):
        neighbours[i][j] = neighbours[i].get(j, 0.0) + v
        neighbours[j][i] = neighbours[j].get(i, 0.0) + v
    queue = [(len(near), i) for i, near in enumerate(neighbours)]
    heapq.heapify(queue)
    done: list[tuple[int, list[tuple[int, float]]]] = []
    gone = [False] * n
    while queue:
        degree, i = heapq.heappop(queue)
        if gone[i] or degree != len(neighbours[i]):
            continue
        if degree > TANGLED:
            break
        gone[i] = True
        near = list(neighbours[i].items())
        done.append((i, near))
        pivot, r = diagonal[i], right[i]
        for j, v in near:
            share = v / pivot
            others = neighbours[j]
            del others[i]
            right[j] += share * r
            diagonal[j] -= share * v
            for k, w in near:
                if k != j:
                    others[k] = others.get(k, 0.0) + share * w
        for j, _ in near:
            heapq.heappush(queue, (len(neighbours[j]), j))
    x = np.zeros(n)
    rest = [i for i in range(n) if not gone[i]]
    if rest:
        at = {i: k for k, i in enumerate(rest)}
        matrix = np.diag([diagonal[i] for i in rest])
        for i in rest:
            for j, v in neighbours[i].items():
                matrix[at[i], at[j]] = -v
        x[rest] = np.linalg.solve(matrix, [right[i] for i in rest])
    for i, near in reversed(done):
        x[i] = (right[i] + sum(v * x[j] for j, v in near)) / diagonal[i]
    return x
