"""What a design gives in one state, asked by way: flows as numbers and as figures, and what is missing for them."""

from collections.abc import Mapping
from dataclasses import dataclass
from functools import cached_property
from typing import TYPE_CHECKING

from schemagen.operation.states import State
from schemagen.sizing.carry import IN_RING, Carried, total
from schemagen.sizing.figure import Figure
from schemagen.sizing.flow import carried_flow
from schemagen.sizing.known import Known, unique, work
from schemagen.sizing.ways import Way

if TYPE_CHECKING:
    from schemagen.sizing.solved import Solved

DESIGN_STATES = ("named", "all-calls", "call")
"""Sorts of state in which heat is carried, the fullest first."""

MOVING_STATES = (*DESIGN_STATES, "tap-open")


@dataclass(frozen=True)
class InState:
    """What the design gives in one state: the moving ways, the flows given, what is carried, and temperatures by point.

    `lacks` names, for each body of water, the inputs without which its flows stay open. `solved` are the ways whose
    flow is that of the real network, `network` the solve of the state with what it needs or assumes.
    """

    state: State
    ways: tuple[Way, ...]
    given: Mapping[int, tuple[str, Known]]
    carried: Carried
    temperature_c: Mapping[int, float]
    assumes: tuple[str, ...]
    lacks: Mapping[int | None, tuple[str, ...]]
    solved: frozenset[int] = frozenset()
    network: "Solved | None" = None

    @cached_property
    def pipe_ways(self) -> Mapping[int, int]:
        """The way of each moving pipe, by its index."""
        return {way.pipe: w for w, way in enumerate(self.ways) if way.pipe >= 0}

    @cached_property
    def values(self) -> Mapping[int, float]:
        return {w: flow.value for w, (_, flow) in self.given.items()}

    def flow(self, w: int) -> float | None:
        """Flow [m³/s] of a way, positive in its listed direction; None if it is open."""
        shares = self.carried.shares.get(w)
        return total(shares, self.values) if shares else None

    def figure(self, w: int) -> Figure:
        """The flow of a way as a figure: that of the real network, or the sum of the design flows that it carries."""
        if w in self.solved:
            return Figure(
                "flow in the network", abs(self.values[w]), "m³/s", "L/min", source=self.network.source,
                assumptions=self.network.assumes,
            )  # fmt: skip
        if not self.carried.shares.get(w):
            return work(carried_flow, Known(needs=self.needs(w)))
        sign = -1 if (self.flow(w) or 0.0) < 0 else 1
        parts = [(k, sign * count) for k, count in self.carried.shares[w].items()]
        terms = tuple((self.given[k][0], count * self._way_of(k), abs(self.values[k])) for k, count in parts)
        return work(carried_flow, Known(terms, unique(t for k, _ in parts for t in self.given[k][1].assumes)))

    def needs(self, w: int) -> tuple[str, ...]:
        """What the flow of a way needs to be known."""
        return self.lacks.get(self.ways[w].body) or (f"more data: it {self.carried.open.get(w, IN_RING)}",)

    def _way_of(self, k: int) -> int:
        return -1 if self.values[k] < 0 else 1

    def way_inside(self, tag: str, a: str, b: str) -> int | None:
        return next((w for w, way in enumerate(self.ways) if way.tag == tag and {way.a, way.b} == {a, b}), None)

    def takers_of(self, w: int) -> tuple[str, ...]:
        """The names of the given flows that a way carries."""
        return tuple(self.given[k][0] for k in self.carried.shares.get(w, {}))
