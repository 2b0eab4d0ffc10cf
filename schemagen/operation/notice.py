"""What a person in the house sees, hears and feels in one state: sentences from what moves and what gives heat."""

from collections.abc import Iterator, Sequence

from schemagen.network.network import Part, PortId
from schemagen.operation.moves import Flow, Inside
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, is_tap
from schemagen.operation.telling import capital, listed, s, some
from schemagen.operation.ways import Way, tags_on
from schemagen.parts.kind import PartKind

_FIRES = ("solid-fuel-stove", "wood-boiler")
_SOUNDS = {
    "air-heat-pump": ("the fan of {} turns", "the fans of {} turn"),
    "ground-heat-pump": ("{} hums", "{} hum"),
    "heat-pump-indoor-unit": ("{} hums", "{} hum"),
    "heat-only-boiler": ("{} fires", "{} fire"),
    "system-boiler": ("{} fires", "{} fire"),
    "combi-boiler": ("{} fires", "{} fire"),
    "solid-fuel-stove": ("{} burns", "{} burn"),
    "wood-boiler": ("{} burns", "{} burn"),
    "solar-collector": ("the sun warms {}", "the sun warms {}"),
}
"""How a source at work is noticed."""

_BLENDERS = ("thermostatic-mixing-valve",)
_MOMENT = ("combi-boiler", "heat-interface-unit", "plate-heat-exchanger")
"""What heats tap water as it runs."""


def what_you_notice(operation: Operation, state: State, flow: Flow, ways: Sequence[Way]) -> tuple[str, ...]:
    """Sentences for a state of any sort; empty if there is nothing to notice."""
    return tuple(capital(text) + "." for text in _Noticed(operation, state, flow, ways).all())


class _Noticed:
    def __init__(self, operation: Operation, state: State, flow: Flow, ways: Sequence[Way]) -> None:
        self.operation, self.state, self.flow, self.ways = operation, state, flow, ways
        self.parts = operation.network.parts

    def all(self) -> Iterator[str]:
        match self.state.sort:
            case "no-calls":
                yield from self._at_rest()
            case "defrost":
                yield "for some minutes the outdoor unit steams, and the water that leaves it is cooler"
            case "all-shut":
                yield from self._shut()
            case "power-off":
                yield from self._powerless()
            case "filling":
                yield from self._filling()
            case "tap-open":
                yield from self._drawing()
            case _:
                yield from self._at_work()

    # heat

    def _at_work(self) -> Iterator[str]:
        if heard := [*self._sources(), *self._pumps()]:
            yield listed(heard)
        for cools, tags in self._warming():
            yield f"{some(tags)} get{s(tags)} warm{cools}"
        if stores := self._heated_stores():
            yield f"{some(stores)} warm{s(stores)} up"
        if any(p.kind.name == "wholesome-circulating-pump" for p in self._running()):
            yield "taps near the circulating hot water run hot at once"

    def _running(self) -> Iterator[Part]:
        return (self.parts[t] for t in self.state.pumps_on)

    def _sources(self) -> Iterator[str]:
        told: dict[tuple[str, str], list[str]] = {}
        for tag in self.state.sources_on:
            if phrase := _SOUNDS.get(self.parts[tag].kind.name):
                told.setdefault(phrase, []).append(tag)
        yield from ((many if len(tags) > 1 else one).format(some(tags)) for (one, many), tags in told.items())

    def _pumps(self) -> Iterator[str]:
        pumps = [p.tag for p in self._running() if p.kind.driver == "pump" and self.flow.part_moves(p.tag)]
        if pumps:
            yield f"{some(pumps)} run{s(pumps)}"

    def _warming(self) -> Iterator[tuple[str, list[str]]]:
        """Emitters that get warm, those of floors told apart as slow."""
        warm = [tag for tag in self._fed_with_heat() if self.parts[tag].kind.family == "emitters"]
        slow = [tag for tag in warm if self.parts[tag].kind.name.startswith("underfloor")]
        quick = [tag for tag in warm if tag not in slow]
        if quick:
            yield "", quick
        if slow:
            yield " over some hours, as floors do", slow

    def _fed_with_heat(self) -> list[str]:
        """Takers in ways that hang together with a source that gives heat, or with a store of heating water."""
        hot: set[str] = {t for t in self.parts if t in self.state.sources_on or self.parts[t].kind.store == "heating"}
        on_ways = [frozenset(tags_on((way,))) for way in self.ways]
        reached: set[int] = set()
        while more := {n for n, tags in enumerate(on_ways) if n not in reached and tags & hot}:
            reached |= more
            hot |= {tag for n in more for tag in on_ways[n] if not self._is_coil_store(tag)}
        tags = set().union(*(on_ways[n] for n in reached)) if reached else set()
        return [t for t in self.parts if t in tags and self.flow.part_moves(t, self.parts[t].kind.takes)]

    def _is_coil_store(self, tag: str) -> bool:
        kind = self.parts[tag].kind
        return kind.store == "wholesome" and bool(kind.takes)

    def _heated_stores(self) -> list[str]:
        fed = self._fed_with_heat()
        charged = [t for t, p in self.parts.items() if p.kind.store == "heating" and self._is_charged(p)]
        return [t for t in self.parts if t in charged or (t in fed and self.parts[t].kind.store == "wholesome")]

    def _is_charged(self, part: Part) -> bool:
        """True for a store of heating water on a way with a source at work."""
        on_ways = (set(tags_on((way,))) for way in self.ways)
        return any(part.tag in tags and not tags.isdisjoint(self.state.sources_on) for tags in on_ways)

    # at rest

    def _at_rest(self) -> Iterator[str]:
        yield "no source and no pump is heard; what is warm cools slowly"
        yield from self._still_hot("still run hot")

    def _still_hot(self, how: str) -> Iterator[str]:
        stores = [t for t, p in self.parts.items() if p.kind.store == "wholesome" or _heats_passing(p)]
        if stores and any(is_tap(p) and p.kind.name != "cold-outlet" for p in self.parts.values()):
            yield f"hot taps {how} from {some(stores)}"

    def _shut(self) -> Iterator[str]:
        emitters = [p for p in self.parts.values() if is_emitter(p.kind)]
        if emitters:
            yield "no room is heated"
        if running := [p.tag for p in self._running() if self.flow.part_moves(p.tag)]:
            past = [t for t in self.parts if t in self.flow.open_bypasses]
            by = f"; its water comes back through {some(past)}" if past and len(running) == 1 else ""
            yield f"{some(running)} can be heard to run on{by}"

    def _powerless(self) -> Iterator[str]:
        fires = [t for t in self.state.sources_on if self.parts[t].kind.name in _FIRES]
        suns = [t for t in self.state.sources_on if self.parts[t].kind.name == "solar-collector"]
        yield "displays are dark and no pump runs"
        if fires:
            yield f"{some(fires)} {'goes' if len(fires) == 1 else 'go'} on giving heat for as long as the fire burns"
        if warm := [t for t in self._fed_with_heat() if self.parts[t].kind.family == "emitters"] if fires else []:
            yield f"{some(warm)} get{s(warm)} warm"
        for tag in suns:
            if not self.flow.part_moves(tag):
                yield f"while the sun shines {tag} gets very hot, as no water carries its heat away"
        frost = [t for t, p in self.parts.items() if p.kind.name in ("antifreeze-valve", "inline-antifreeze-valve")]
        if frost:
            yield f"in frost {some(frost)} open{s(frost)} and let{s(frost)} water out before it freezes"
        yield from self._still_hot("run hot for as long as heat is left, then cold,")

    def _filling(self) -> Iterator[str]:
        network = self.operation.network
        moving = {end.tag for pipe in network.pipes if self.flow.moves(pipe) for end in (pipe.start, pipe.end)}
        vents = [t for t, p in self.parts.items() if p.kind.name == "air-vent" and t in moving]
        if vents:
            yield f"air hisses out of {some(vents)}"
        pairs = [(pipe.start.tag, pipe.end.tag) for pipe in network.pipes]
        beside = {tag for pair in pairs if moving.intersection(pair) for tag in pair}
        gauges = [t for t, p in self.parts.items() if p.kind.name == "pressure-gauge" and t in beside]
        gauges += [f"the gauge of {t}" for t, p in self.parts.items() if self._shows_pressure(p)]
        if gauges:
            yield f"the pressure on {some(gauges)} rises"

    def _shows_pressure(self, part: Part) -> bool:
        """True for a part with a gauge inside that is being filled."""
        return "gauge" in part.built_in and self.flow.part_moves(part.tag, part.kind.gives)

    # taps

    def _drawing(self) -> Iterator[str]:
        alike: dict[str, list[str]] = {}
        heaters: dict[str, dict[str, None]] = {}
        for tag in self.state.outlets_open:
            how, by = self._runs(tag)
            alike.setdefault(how, []).append(tag)
            heaters.setdefault(how, {}).update(dict.fromkeys(by))
        for how, tags in alike.items():
            by = f", heated by {some(heaters[how])} as {'it runs' if len(tags) == 1 else 'they run'}"
            if how:
                yield f"{some(tags)} run{s(tags)} {how}{by if heaters[how] else ''}"
        if len(self.state.outlets_open) > 1:
            yield "each tap gives less than it does alone"
        yield from self._sources()

    def _runs(self, tag: str) -> tuple[str, list[str]]:
        """How the water of a tap is, and what heats it on its way."""
        if self.parts[tag].kind.name == "cold-outlet":
            return "cold", []
        upstream = self._upstream(tag)
        before = [p for t, p in self.parts.items() if t in upstream]
        stores = [p.tag for p in before if p.kind.store]
        moment = [p.tag for p in before if p.kind.name in _MOMENT]
        blended = [p for p in before if p.kind.name in _BLENDERS and p.value("setting") is not None]
        limit = f", at most {blended[-1].texts['setting']} by {blended[-1].tag}" if blended else ""
        warmth = "warm" if blended else "hot"
        if stores:
            return f"{warmth} for as long as {listed(stores)} hold{s(stores)} hot water{limit}", []
        return (f"{warmth}{limit}", moment) if moment else ("", [])

    def _upstream(self, tag: str) -> set[str]:
        """Tags of the parts that the water of a tap comes through."""
        network = self.operation.network
        queue = [port for port in network.ports() if port.tag == tag and self.flow.into(port) > 0]
        seen = set(queue)
        for port in queue:
            near = [network.far_end(p, port) for p in network.pipes_at.get(port, ())]
            into = [other for far in near for other in self._feeding(far)]
            queue += [other for other in into if other not in seen]
            seen.update((*near, *into))
        return {port.tag for port in seen} - {tag}

    def _feeding(self, port: PortId) -> Iterator[PortId]:
        """The openings of a part at which the water comes in that leaves it here."""
        for name in self.parts[port.tag].kind.ports:
            other = PortId(port.tag, name)
            if self.flow.into(other) > 0 and self.flow.direction(Inside(port.tag, name, port.port)) > 0:
                yield other


def is_emitter(kind: PartKind) -> bool:
    """True for what gives heat to rooms: not coils of stores, exchangers, interface units and brine."""
    return bool(kind.takes) and kind.family == "emitters" and kind.name != "heat-leak-radiator"


def _heats_passing(part: Part) -> bool:
    """True for a store of heating water that warms tap water on its way through."""
    return part.kind.store == "heating" and "hot-out" in part.kind.ports

