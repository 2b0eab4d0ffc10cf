"""Groups of things that are joined, and the links on which a join hangs."""

from collections.abc import Iterable, Sequence
from typing import Generic, TypeVar

T = TypeVar("T")


class Groups(Generic[T]):
    """Disjoint groups that grow by joining; the numbers of the groups follow the order in which things were named."""

    def __init__(self, things: Iterable[T]) -> None:
        self._place: dict[T, int] = {t: n for n, t in enumerate(dict.fromkeys(things))}
        self._joints: list[tuple[int, int]] = []

    def join(self, a: T, b: T) -> None:
        self._joints.append((self._place[a], self._place[b]))

    def numbered(self) -> tuple[dict[T, int], list[list[T]]]:
        """The number of each thing's group, and the groups by number."""
        number = dict(zip(self._place, numbered(range(len(self._place)), self._joints), strict=True))
        members: list[list[T]] = [[] for _ in range(max(number.values(), default=-1) + 1)]
        for thing, n in number.items():
            members[n].append(thing)
        return number, members


def numbered(groups: Sequence[int], joints: Iterable[tuple[int, int]]) -> list[int]:
    """Things 0…n-1 with the numbers of their groups, joined further by pairs: their numbers then.

    Numbers follow the order of the things, those given as well as those found.
    """
    above = list(range(max(groups, default=-1) + 1))
    for a, b in joints:
        a, b = groups[a], groups[b]
        while above[a] != a:
            above[a] = a = above[above[a]]
        while above[b] != b:
            above[b] = b = above[above[b]]
        if a < b:
            above[b] = a
        else:
            above[a] = b
    number: list[int] = []
    count = 0
    for group, top in enumerate(above):
        number.append(count if top == group else number[top])
        count += top == group
    return [number[group] for group in groups]


def bridges(nodes: int, edges: Sequence[tuple[int, int]]) -> list[bool]:
    """For each edge of an undirected multigraph on nodes 0…nodes-1: True if it lies on no cycle. Linear.

    Source: R. E. Tarjan, A note on finding the bridges of a graph, Information Processing Letters 2 (1974).
    """
    at: list[list[tuple[int, int]]] = [[] for _ in range(nodes)]
    for e, (a, b) in enumerate(edges):
        at[a].append((e, b))
        at[b].append((e, a))
    order = [-1] * nodes
    low = [0] * nodes
    bridge = [False] * len(edges)
    clock = 0
    for root in range(nodes):
        if order[root] >= 0:
            continue
        order[root] = low[root] = clock
        clock += 1
        stack = [(root, -1, iter(at[root]))]
        while stack:
            node, came_by, rest = stack[-1]
            for e, other in rest:
                if order[other] < 0:
                    order[other] = low[other] = clock
                    clock += 1
                    stack.append((other, e, iter(at[other])))
                    break
                if e != came_by and order[other] < low[node]:
                    low[node] = order[other]
            else:
                stack.pop()
                if stack:
                    parent = stack[-1][0]
                    low[parent] = min(low[parent], low[node])
                    bridge[came_by] = low[node] > order[parent]
    return bridge
