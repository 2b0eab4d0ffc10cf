"""The branches between the points where water divides, and the bodies of water that are solved together.

Knows points and the links between them only. What lies in a row is one branch; links on no closed way are on none.
Source: series reduction and bridges as in any network analysis.
"""

from collections.abc import Iterator, Sequence
from dataclasses import dataclass

from schemagen.network.groups import Groups, bridges


@dataclass(frozen=True)
class Body:
    """Branches whose water is solved together. `ends` are local points; point 0 is the outside."""

    branches: list[int]
    a: list[int]
    b: list[int]
    points: int

    def of(self, values: list) -> list:
        """The values of these branches, out of those of all."""
        return [values[n] for n in self.branches]


class Branches:
    """The branches that links between numbered points make; point 0 is the outside.

    branch  the branch of each link, -1 without one
    sign    +1 for a link that runs as its branch does, -1 for one that runs against it
    ends    the two points of each branch
    bodies  the branches by the water that they share
    """

    def __init__(self, count: int, links: Sequence[tuple[int, int]]) -> None:
        self._links = links
        self.branch = [-1] * len(links)
        self.sign = [1] * len(links)
        self.ends: list[tuple[int, int]] = []
        self._lay(count)
        self.bodies = list(self._divided())

    def _lay(self, count: int) -> None:
        still = bridges(count, self._links)
        core = [e for e in range(len(self._links)) if not still[e]]
        at: dict[int, list[int]] = {}
        for e in core:
            for point in self._links[e]:
                at.setdefault(point, []).append(e)
        corners = [p for p, there in at.items() if len(there) != 2 or p == 0]
        for corner in (*corners, *at):
            for e in at[corner]:
                if self.branch[e] < 0:
                    self.ends.append((corner, self._walk(corner, e, at, len(self.ends))))

    def _walk(self, start: int, e: int, at: dict[int, list[int]], number: int) -> int:
        """Gives the links from `start` through `e` up to the next corner the branch's number; returns that corner."""
        here = start
        while True:
            a, b = self._links[e]
            self.branch[e], self.sign[e] = number, 1 if a == here else -1
            here = b if a == here else a
            onward = [other for other in at[here] if self.branch[other] < 0]
            if here in (0, start) or len(at[here]) != 2 or not onward:
                return here
            e = onward[0]

    def _divided(self) -> Iterator[Body]:
        groups: Groups[int] = Groups(dict.fromkeys(p for ends in self.ends for p in ends if p))
        for a, b in self.ends:
            if a and b:
                groups.join(a, b)
        number = groups.numbered()[0]
        members: dict[int, list[int]] = {}
        for n, (a, b) in enumerate(self.ends):
            members.setdefault(number[a or b] if a or b else -1 - n, []).append(n)
        return (self._body(branches) for branches in members.values())

    def _body(self, branches: list[int]) -> Body:
        local = {0: 0}
        for n in branches:
            for p in self.ends[n]:
                local.setdefault(p, len(local))
        a, b = ([local[self.ends[n][end]] for n in branches] for end in (0, 1))
        return Body(branches, a, b, len(local))
