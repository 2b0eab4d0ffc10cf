"""What emitters and sources want at design: the heat that they give, and the flow that carries it."""

from functools import cached_property

from schemagen.network.network import Part
from schemagen.operation.states import State
from schemagen.sizing.emitters import loop_flow, radiator_output
from schemagen.sizing.figure import Figure
from schemagen.sizing.flow import flow_for_heat
from schemagen.sizing.held import held
from schemagen.sizing.in_state import DESIGN_STATES
from schemagen.sizing.known import Known, attempt, listed, once, usual, work
from schemagen.sizing.plant import Plant
from schemagen.sizing.warm import warm
from schemagen.sizing.ways import Way, WayGraph, is_emitter, stream_of


class Demand:
    """Heat and flows at design, worked out for a part when it is first asked for."""

    def __init__(self, plant: Plant, graph: WayGraph) -> None:
        self.plant, self.network, self.graph = plant, plant.network, graph
        self.heat = once(self._heat, "tag")
        self.flow = once(self._flow, "tag")
        self.source_flow = once(self._source_flow, "tag")

    @cached_property
    def emitters(self) -> tuple[Part, ...]:
        """Every part that gives heat to a room."""
        return tuple(p for p in self.network.parts.values() if is_emitter(p))

    def supply_c(self, part: Part) -> Known:
        """Flow temperature [°C] for which an emitter is designed: its own, what reaches it, or its source's."""
        own = listed(part, "flow-temperature")
        if own:
            return own
        reaching = self._reaching.get(part.tag)
        if reaching is not None:
            return reaching
        source = self.plant.source_of(part)
        if source is None:
            return Known(needs=(f"flow-temperature at {part.tag}",))
        known = self.plant.flow_c(source)
        return Known(known.value, (*known.assumes, f"{source.tag}'s flow temperature reaches {part.tag}"), known.needs)

    @cached_property
    def _reaching(self) -> dict[str, Known]:
        """The temperature that arrives at each emitter in the fullest state that tells it."""
        found: dict[str, Known] = {}
        for state in self._in_order(DESIGN_STATES):
            if len(found) == len(self.emitters):
                break
            ways = self.graph.ways(state)
            fixed, assumes = held(self.graph, state, ways)
            through = (way for way in ways if not self.graph.is_heart(way))
            at = warm([stream_of(way, None, self._unsettled_drop(way)) for way in through], fixed)
            for way in ways:
                part = self.network.parts.get(way.tag)
                if part and is_emitter(part) and way.a in part.kind.takes and (t := at.get(way.upstream)) is not None:
                    found.setdefault(part.tag, Known(t, assumes))
        return found

    def _in_order(self, sorts: tuple[str, ...]) -> list[State]:
        return sorted(self.plant.operation.of_sort(*sorts), key=lambda s: sorts.index(s.sort))

    def _unsettled_drop(self, way: Way) -> float | None:
        part = self.network.parts.get(way.tag)
        return None if part and way.a in part.kind.takes and way.b in part.kind.takes else 0.0

    def _heat(self, part: Part) -> Known | Figure:
        """Design heat [W] of an emitter: at its design temperatures where it is rated by a difference."""
        output = listed(part, "output")
        if not output or "rated-difference" not in part.kind.attributes:
            return output
        exponent, rated = self.rating(part)
        supply, difference = self.supply_c(part), self.plant.difference(part)
        back = attempt(lambda t, d: t - d, supply, difference)
        return work(radiator_output, rated, supply, back, self.plant.room_c(part), exponent)

    @staticmethod
    def rating(part: Part) -> tuple[Known, Known]:
        """The exponent of a radiator and its output [W] at a mean excess of 50 K."""
        exponent = usual(part, "exponent", "radiator exponent 1.3 (EN 442, as usual)")
        difference = usual(part, "rated-difference", "radiators are rated at 50 K over the room (EN 442)")
        return exponent, attempt(lambda q, d, n: q * (50 / d) ** n, listed(part, "output"), difference, exponent)

    def _flow(self, part: Part) -> Known | Figure:
        """Design flow [m³/s] of an emitter: as listed, or what carries its heat."""
        if part.value("flow") is not None:
            return Known(part.value("flow"))
        body = self.plant.body_at(part.tag, *part.kind.takes)
        fluid = self.plant.fluid(body) if body is not None else Known(needs=(f"a pipe at {part.tag}",))
        if part.kind.name.startswith("underfloor"):
            return work(loop_flow, self.heat(part), fluid, self.plant.difference(part))
        return work(flow_for_heat, self.heat(part), self.plant.difference(part), fluid)

    def _source_flow(self, part: Part) -> Known | Figure:
        """Design flow [m³/s] of a source: as listed, or what carries its output."""
        if part.value("flow") is not None:
            return Known(part.value("flow"))
        body = self.plant.body_at(part.tag, *part.kind.gives)
        fluid = self.plant.fluid(body) if body is not None else Known(needs=(f"a pipe at {part.tag}",))
        return work(flow_for_heat, listed(part, "output"), self.plant.difference(part), fluid)
