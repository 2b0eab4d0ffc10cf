"""A dossier: what schedules and papers are made from, gathered once."""

from collections.abc import Mapping
from dataclasses import dataclass, field
from functools import cached_property

from schemagen.checks.check import Report
from schemagen.checks.facts import Facts
from schemagen.network.network import Network, Part
from schemagen.network.waters import Waters
from schemagen.operation.operate import Operation
from schemagen.schedules.isolation import ShutOff, find_shut_offs
from schemagen.schedules.stopping import Stopping
from schemagen.schedules.valve_graph import ValveGraph
from schemagen.sizing.sizes import Sizes


@dataclass(frozen=True)
class Dossier:
    """The facts of a list, its findings and figures. `zones` are fields of the drawing's grid by tag ("B4")."""

    facts: Facts
    report: Report
    sizes: Sizes
    zones: Mapping[str, str] = field(default_factory=dict)

    @property
    def network(self) -> Network:
        return self.facts.network

    @property
    def waters(self) -> Waters:
        return self.facts.waters

    @property
    def operation(self) -> Operation:
        return self.facts.operation

    @property
    def listed_parts(self) -> tuple[Part, ...]:
        """All parts but tees, which are pipework, in the order of the list."""
        return tuple(p for p in self.network.parts.values() if p.kind.name not in ("tee", "diverting-tee"))

    @cached_property
    def valve_graph(self) -> ValveGraph:
        return ValveGraph(self.facts)

    @cached_property
    def stopping(self) -> Stopping:
        return Stopping(self.operation)

    @cached_property
    def shut_offs(self) -> tuple[ShutOff, ...]:
        """Which valves to shut for what, from the whole house down to one emitter."""
        return find_shut_offs(self.facts, self.valve_graph, self.stopping)
