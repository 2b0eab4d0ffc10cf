"""The heat that water gives up on its way in one state: to emitters, coils, stores being charged, and exchangers."""

from collections.abc import Sequence
from functools import cached_property

from schemagen.network.network import Part
from schemagen.operation.states import State
from schemagen.sizing.demand import Demand
from schemagen.sizing.emitters import USUAL_DOWNWARD
from schemagen.sizing.known import Known, attempt, known_of, listed, unique
from schemagen.sizing.ways import Way

EXCHANGERS = ("plate-heat-exchanger", "heat-interface-unit")
"""Parts that hand the heat of one water on to another."""


class Taken:
    """The takers of a plant in one state, by their design demand."""

    def __init__(self, demand: Demand, state: State, ways: Sequence[Way]) -> None:
        self.demand, self.state, self.ways = demand, state, ways
        self.plant, self.graph, self.parts = demand.plant, demand.graph, demand.network.parts

    def heat(self, way: Way) -> Known:
        """Heat [W] that is taken along a way: an emitter its design heat, the only taker or store what its source
        gives, a coil its rating, an exchanger what the emitters behind it want."""
        part = self.parts[way.tag]
        if self.graph.is_emitter_way(way):
            heat = known_of(self.demand.heat(part))
            extra = 1 + USUAL_DOWNWARD if part.kind.name.startswith("underfloor") else 1.0
            return Known(heat.value * extra, heat.assumes) if heat else heat
        if _key(way) in self.sole and part.kind.name not in EXCHANGERS:
            source = self.parts[self.sole[_key(way)]]
            output = listed(source, "output")
            return Known(output.value, (f"{source.tag} gives its output to {part.tag}",)) if output else output
        if part.kind.name in EXCHANGERS:
            return self.passed_on(part)
        return self._rating(part, way)

    def _rating(self, part: Part, way: Way) -> Known:
        """What a coil is rated for, but no more than its source gives."""
        key = way.a.removesuffix("-in") if way.a.endswith("-in") else "coil"
        rated = listed(part, f"{key}-rating")
        known = rated if rated else listed(part, f"{key}-output")
        source = self.plant.source_of_way(part, way.a)
        most = listed(source, "output") if source else Known()
        if not known:
            return Known(needs=(f"heat taken by the {key.replace('-', ' ')} of {part.tag}",))
        least = min(known.value, most.value) if most else known.value
        return Known(least, (f"the {key.replace('-', ' ')} of {part.tag} takes its rating",))

    def passed_on(self, part: Part) -> Known:
        """Heat [W] that an exchanger hands on: the design heat of the emitters whose water it warms in this state."""
        warmed = self.warmed_body(part)
        heats = [
            known_of(self.demand.heat(self.parts[way.tag]))
            for way in self.ways
            if way.body == warmed and way.tag and self.graph.is_emitter_way(way)
        ]
        if warmed is None or not heats:
            return Known(needs=(f"heat handed on by {part.tag}",))
        return attempt(lambda *each: sum(each), *heats)

    def warmed_body(self, part: Part) -> int | None:
        """The water that an exchanger warms: not that of a source which runs for it."""
        plant = self.plant
        bodies = dict.fromkeys(plant.body_at(part.tag, n) for n in (*part.kind.gives, *part.kind.takes))
        cold = [b for b in bodies if b is not None and not self._is_heated(b, part)]
        return cold[0] if len(cold) == 1 else None

    def _is_heated(self, body: int, part: Part) -> bool:
        sources = (s.tag for s in self.plant.sources(body) if s.tag != part.tag)
        return any(tag in self.state.giving for tag in sources)

    def wanted(self, way: Way) -> Known:
        """Flow [m³/s] that a coil or an exchanger wants beside other takers: its heat at its source's difference."""
        part = self.parts[way.tag]
        plant = self.plant
        source = plant.source_of_way(part, way.a)
        if source is None or source.tag == part.tag or source.tag not in self.state.giving or way.body is None:
            return Known(needs=(f"flow through {part.tag}",))
        if part.value("network-flow-rate") is not None and self.warmed_body(part) is None:
            return listed(part, "network-flow-rate")
        return attempt(
            lambda q, d, fluid: q / (d * fluid.heat_per_volume),
            self.heat(way), plant.difference(source), plant.fluid(way.body),
        )  # fmt: skip

    @cached_property
    def sole(self) -> dict[tuple[str, str, str], str]:
        """Takers, and stores with nothing drawn from them, that have the water of one running source to themselves."""
        return {key: sources[0] for key, sources in self._served.items() if len(sources) == 1}

    def is_charged(self, heart: Way) -> bool:
        """True for the body of a store into which sources give heat of which nothing is drawn."""
        return _key(heart) in self._served

    @cached_property
    def _served(self) -> dict[tuple[str, str, str], tuple[str, ...]]:
        """What running sources serve alone, a taker or else a store, each with those sources."""
        found: dict[tuple[str, str, str], tuple[str, ...]] = {}
        for w, way in enumerate(self.ways):
            if way.tag not in self.state.giving or way.tag not in self.plant.source_tags:
                continue
            beside = [self.ways[other] for other in self.graph.beside(self.ways, w)]
            takers = {_key(other): None for other in beside if self.graph.takes(other)} or self._stores(beside)
            sources = tuple(dict.fromkeys(other.tag for other in beside if other.tag in self.state.giving))
            if len(takers) == 1:
                found |= dict.fromkeys(takers, sources)
        return found

    def _stores(self, beside: list[Way]) -> dict[tuple[str, str, str], None]:
        """The stores beside a source that one pipe enters and one leaves."""
        points = {p for way in beside for p in (way.start, way.end)}
        pipes = [{way.start, way.end} for way in self.ways if way.pipe >= 0]
        hearts = [way for way in self.ways if self.graph.is_heart(way) and {way.start, way.end} & points]
        closed = (way for way in hearts if sum(bool(ends & {way.start, way.end}) for ends in pipes) <= 2)
        return {_key(way): None for way in closed if self.parts[way.tag].kind.store}

    @cached_property
    def assumes(self) -> tuple[str, ...]:
        """What is assumed for coils, stores and exchangers of this state."""
        own = [way for way in self.ways if way.tag and not self.graph.is_emitter_way(way)]
        takers = [way for way in own if self.graph.takes(way) or _key(way) in self.sole]
        return unique(text for way in takers if (heat := self.heat(way)) for text in heat.assumes)


def _key(way: Way) -> tuple[str, str, str]:
    return way.tag, way.a, way.b
