"""The heat inputs of unvented stores, and what their cut-outs can stop."""

from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import unvented_stores
from schemagen.network.network import Part, PortId
from schemagen.network.walks import upstream

ELECTRIC = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit", "electric-flow-boiler")
"""Sources that a cut-out ends by stopping them."""


@dataclass(frozen=True)
class Coil:
    """A coil of an unvented store: where the heat comes in and where it goes back."""

    store: Part
    into: PortId
    back: PortId


class Heat:
    """The ways of heat into the unvented stores of one list, and the cut-outs that guard them."""

    def __init__(self, facts: Facts) -> None:
        self.facts = facts
        self.parts = facts.network.parts

    @cached_property
    def coils(self) -> list[Coil]:
        return list(self._coils())

    def _coils(self) -> Iterator[Coil]:
        for store in unvented_stores(self.facts):
            for name in store.kind.takes:
                into = PortId(store.tag, name)
                if self.facts.spec(into).role == "in" and self.facts.is_piped(into):
                    back = next((p for p in self.facts.waterway(into) if self.facts.spec(p).role == "out"), into)
                    yield Coil(store, into, back)

    def cut_outs(self, store: str) -> list[str]:
        return [tag for tag in self.facts.signals.at(store) if self.parts[tag].kind.name == "cut-out-thermostat"]

    def acts_on(self, store: str) -> list[str]:
        """What the cut-outs on a store act on, through controllers too."""
        reached = (target for tag in self.cut_outs(store) for target in self.facts.signals.targets(tag))
        return [tag for tag in dict.fromkeys(reached) if tag in self.parts]

    @cached_property
    def acted_on(self) -> frozenset[str]:
        """What any cut-out acts on."""
        devices = self.facts.parts("cut-out-thermostat")
        return frozenset(t for device in devices for t in self.facts.signals.targets(device.tag) if t in self.parts)

    def is_valve(self, tag: str) -> bool:
        return self.parts[tag].kind.moved_by == "motor" and not self.parts[tag].kind.giver

    @cached_property
    def when_shut(self) -> frozenset[PortId]:
        """Openings that heat still reaches when all cut-outs have acted."""
        return self._reached({}, frozenset(tag for tag in self.acted_on if self.is_valve(tag)))

    @cached_property
    def at_rest(self) -> frozenset[PortId]:
        """Openings that heat still reaches when the valves of all cut-outs lie where they lie without power."""
        return self._reached({t: self.parts[t].kind.rest for t in self.acted_on if self.is_valve(t)}, frozenset())

    def _reached(self, positions: dict[str, str], shut: frozenset[str]) -> frozenset[PortId]:
        pumps = frozenset(tag for tag in self.acted_on if self.parts[tag].kind.driver == "pump")
        by_valve, by_pump = self._starts
        reach = self.facts.reach
        return reach.downstream_of_all(by_valve, positions, self._takers | shut) | reach.downstream_of_all(
            by_pump, positions, self._takers | shut | pumps
        )

    @cached_property
    def _takers(self) -> frozenset[str]:
        return frozenset(part.tag for part in self.facts.takers)

    @cached_property
    def _starts(self) -> tuple[list[PortId], list[PortId]]:
        """Where heat comes from: sources that ask for a valve, and those that a pump can cut off.

        A fire, the sun or the far side of an exchanger is cut off by a pump; an electric source is stopped itself.
        """
        valve, pump = [], []
        for giver in self.facts.givers:
            if giver.tag not in self.acted_on or giver.kind.name not in ELECTRIC:
                starts = pump if giver.kind.giver == "uncontrolled" else valve
                starts.extend(self.facts.outlet_ports(giver))
        for plate in self.facts.parts("plate-heat-exchanger"):
            pump.extend(PortId(plate.tag, name) for name in plate.kind.ports)
        return valve, pump

    def held_by(self, coil: Coil) -> list[str]:
        """Which of the things that cut-outs act on stand first on the way of heat into a coil."""
        found: dict[str, None] = {}

        def passes(port: PortId, _) -> bool:
            if port.tag in self.acted_on:
                found[port.tag] = None
            return port.tag not in self.acted_on and port.tag not in self._takers

        upstream(self.facts.reach, coil.into, passes)
        return list(found)

    def is_shut_behind(self, coil: Coil) -> bool:
        """True if the store's own cut-out closes the way back from a coil."""
        mine = self.acts_on(coil.store.tag)
        valves = {tag for tag in mine if self.is_valve(tag)}
        pumps = {tag for tag in mine if self.parts[tag].kind.driver == "pump"}
        by_valve, by_pump = ({port.tag for port in starts} for starts in self._starts)
        ends = self._takers | by_valve | by_pump
        back = self.facts.reach.downstream(coil.back, without=ends | valves)
        if not valves | pumps or any(port.tag in by_valve for port in back):
            return False
        back = self.facts.reach.downstream(coil.back, without=ends | valves | pumps)
        return not any(port.tag in by_pump for port in back)
