"""Hot water of a design: reheat, coils, usable water, circulation, dead legs, and its temperatures against hygiene."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.network.network import Part, Pipe, PortId
from schemagen.sizing.circulation import (
    METAL_FACTOR,
    PLASTIC_FACTOR,
    circulation_flow,
    circulation_loss,
    dead_leg,
    end_temperature,
    loss_per_year,
    pipe_loss_limit,
    wait,
)
from schemagen.sizing.coil import Rating, coil_conductance, coil_heat, coil_ua, flow_temperature_for_coil
from schemagen.sizing.design import Design
from schemagen.sizing.figure import Figure
from schemagen.sizing.hygiene import (
    Criterion,
    blended_criterion,
    circulation_criterion,
    cold_criterion,
    store_criterion,
)
from schemagen.sizing.in_state import InState
from schemagen.sizing.known import Known, attempt, known_of, listed, unique, work
from schemagen.sizing.of_flows import states, upstream
from schemagen.sizing.plant import MIXERS, PRACTICE, ROOM_C
from schemagen.sizing.reheat import reheat_by_coil, reheat_by_power
from schemagen.sizing.sizes import Size
from schemagen.sizing.store_loss import loss_per_day, standing_loss
from schemagen.sizing.usable_hot_water import LAYERS, mixed_volume, usable_share
from schemagen.sizing.water import water

_HOUR_S = 3600.0
_LIMIT_K = 45.0
"""The compliance limits of pipe losses are for 60 °C in 15 °C."""


def hot_water_sizes(design: Design) -> Iterator[Size]:
    """Every store of drinking water, its coils, the circulation, and the way to every tap."""
    for store in design.plant.stores:
        yield from _store(design, store)
        for coil in coils(store):
            yield from _coil(design, store, coil)
    circulated = [c for state in states(design) for c in _circulations(design, state)]
    for loop in {c.pump.tag: c for c in reversed(circulated)}.values():
        yield from _circulation(design, loop)
    points = {p for loop in circulated for p in loop.points}
    for part in design.network.parts.values():
        yield from _dead_leg(design, part, points)


def hygiene_sizes(design: Design) -> Iterator[Size]:
    """Stores, circulation, cold water and mixed water against the usual criteria."""
    for store in design.plant.stores:
        hot = design.plant.store_c(store)
        hotter = store.value("pasteurise")
        yield _criterion(store.tag, store_criterion(hot.value, hotter, _HOUR_S if hotter else 0.0), hot.value)
    done: set[str] = set()
    for state in states(design):
        for loop in _circulations(design, state):
            if loop.pump.tag not in done:
                done.add(loop.pump.tag)
                back = _return(design, loop)
                yield _criterion(loop.pump.tag, circulation_criterion(back.value), back.value, back.assumptions)
    for part in design.network.parts.values():
        if part.kind.driver == "main":
            yield _criterion(part.tag, cold_criterion(None), None)
        if part.kind.name == "thermostatic-mixing-valve" and part.value("setting") is not None:
            yield from _blended(design, part)


def _criterion(place: str, c: Criterion, value: float | None, assumes: tuple[str, ...] = ()) -> Size:
    flags = (c.text,) if c.outcome in ("warning", "not met") else ()
    notes = (f"{c.outcome}: {c.text}",) if not flags and c.outcome != "not assessed" else ()
    needs = (c.needs,) if value is None else ()
    figure = Figure(c.point, value, "°C", source=c.source, flags=flags, notes=notes, needs=needs, assumptions=assumes)
    return Size("hygiene", place, figure)


def _blended(design: Design, valve: Part) -> Iterator[Size]:
    lengths = [p.values.get("length") for p in design.network.pipes_at.get(PortId(valve.tag, "mixed"), ())]
    if lengths and lengths[0] is not None:
        setting = valve.value("setting")
        yield _criterion(valve.tag, blended_criterion(setting, lengths[0]), setting)


# stores


def coils(store: Part) -> Iterator[tuple[str, str, str]]:
    """The coils of a store: inlet, outlet, and what the names of its attributes begin with."""
    names = list(store.kind.takes)
    for a, b in zip(names[::2], names[1::2], strict=True):
        key = a.removesuffix("-in") if a.endswith("-in") else "coil"
        yield a, b, key


def _store(design: Design, store: Part) -> Iterator[Size]:
    plant = design.plant
    volume, hot, cold = listed(store, "volume"), plant.store_c(store), plant.cold_c
    fluid = attempt(lambda a, b: water((a + b) / 2), hot, cold)
    power = plant.immersion_w(store)
    if power is not None:
        yield Size("hot-water", store.tag, work(reheat_by_power, volume, cold, hot, power, fluid))
    yield Size("hot-water", store.tag, work(mixed_volume, volume, hot, cold))
    layers = listed(store, "layers").but_assume(
        LAYERS["plain"], f"the store draws off like {LAYERS['plain']} mixed layers ({PRACTICE})"
    )
    yield Size("hot-water", store.tag, work(usable_share, attempt(int, layers), hot, cold))
    if store.value("standing-loss") is not None:
        room = Known(ROOM_C, (f"surroundings at {ROOM_C:g} °C ({PRACTICE})",))
        loss = work(standing_loss, listed(store, "standing-loss"), hot, room)
        yield Size("hot-water", store.tag, loss)
        yield Size("hot-water", store.tag, work(loss_per_day, loss))


def _coil(design: Design, store: Part, coil: tuple[str, str, str]) -> Iterator[Size]:
    plant = design.plant
    inlet, outlet, key = coil
    body = plant.body_at(store.tag, inlet)
    source = next((s for s in plant.sources(body) if s.kind.giver == "controlled"), None)
    if source is None:
        return
    place = store.tag if key == "coil" else f"{store.tag} {key}"
    hot, limit, output = plant.store_c(store), plant.highest_c(source), listed(source, "output")
    fluid = plant.fluid(body)
    flow = known_of(_coil_flow(design, store, inlet, outlet, source))
    mass = attempt(lambda q, f: q * f.density_kgm3, flow, fluid)
    heat = attempt(lambda f: f.specific_heat_jkgk, fluid)
    ua = _ua(store, key)
    yield Size("hot-water", place, work(coil_heat, ua, mass, heat, limit, hot))
    yield Size("hot-water", place, work(flow_temperature_for_coil, output, ua, mass, heat, hot))
    g = work(coil_conductance, ua, mass, heat)
    full = attempt(lambda a, b: water((a + b) / 2), hot, plant.cold_c)
    given = [known_of(x) for x in (listed(store, "volume"), plant.cold_c, hot, output, limit, g, full)]
    yield Size("hot-water", place, work(_reheat_total, *given))


def _reheat_total(*given) -> Figure:
    return reheat_by_coil(*given).total


_reheat_total.about = reheat_by_coil(*(1.0, 10.0, 40.0, 1.0, 50.0, None, None)).total


def _ua(store: Part, key: str) -> Known:
    if store.value(f"{key}-conductance") is not None:
        return Known(store.value(f"{key}-conductance"))
    rated = store.value(f"{key}-output")
    if rated is not None:
        figure = work(coil_ua, Rating(rated))
        text = f"coil of {store.tag} rated at 80 °C flow, 15 L/min, 10 to 60 °C in the store"
        return Known(figure.value, (text,), (*figure.needs, *figure.flags) if figure.value is None else ())
    return Known(needs=(f"{key}-conductance or {key}-output of {store.tag}",))


def _coil_flow(design: Design, store: Part, inlet: str, outlet: str, source: Part) -> Figure | Known:
    """The flow through a coil in the first state that tells it, else its source's design flow."""
    for state in states(design):
        w = state.way_inside(store.tag, inlet, outlet)
        if w is not None and state.flow(w):
            return state.figure(w)
    flow = known_of(design.demand.source_flow(source))
    return Known(flow.value, (*flow.assumes, f"the coil of {store.tag} gets {source.tag}'s design flow"), flow.needs)


# circulation


@dataclass(frozen=True)
class Loop:
    """A hot-water circulation: its pump, the pipes that it moves water in, and the points on them."""

    pump: Part
    pipes: tuple[Pipe, ...]
    points: frozenset[int]
    state: InState


def _circulations(design: Design, state: InState) -> Iterator[Loop]:
    if state.state.outlets_open:
        return
    for w, way in enumerate(state.ways):
        part = design.network.parts.get(way.tag)
        if part and part.kind.name == "wholesome-circulating-pump" and part.tag in state.state.pumps_on:
            ways = [state.ways[k] for k in design.graph.beside(state.ways, w)]
            pipes = tuple(design.network.pipes[x.pipe] for x in ways if x.pipe >= 0)
            yield Loop(part, pipes, frozenset(p for x in ways for p in (x.start, x.end)), state)


def _loss(design: Design, loop: Loop) -> Figure:
    runs = []
    for pipe in loop.pipes:
        outside = attempt(lambda s: s.outside_m, design.plant.pipe_size(pipe))
        loss = known_of(work(pipe_loss_limit, outside))
        runs.append(attempt(lambda length, q: (length, q), design.plant.length(pipe), loss))
    needs = unique(t for k in runs for t in k.needs)
    assumes = unique((*(t for k in runs for t in k.assumes), "circulation insulated to the compliance guide's limits"))
    return work(circulation_loss, Known(needs=needs[:5]) if needs else Known(tuple(k.value for k in runs), assumes))


def _flow(design: Design, loop: Loop) -> Figure | Known:
    own = listed(loop.pump, "flow")
    return own if own else work(circulation_flow, _loss(design, loop), water(57.5))


def _return(design: Design, loop: Loop) -> Figure:
    store = next((p for p in design.plant.stores if any(x in loop.points for x in _ends(design, p))), None)
    start = design.plant.store_c(store) if store else Known(needs=("temperature of the store",))
    lengths = [design.plant.length(p) for p in loop.pipes]
    needs = unique(t for k in lengths for t in k.needs)
    length = Known(needs=needs[:5]) if needs else Known(sum(k.value for k in lengths))
    loss = attempt(lambda q, l: q / (l * _LIMIT_K), _loss(design, loop), length)  # noqa: E741
    mass = attempt(lambda q: q * water(57.5).density_kgm3, _flow(design, loop))
    return work(end_temperature, start, length, loss, mass, water(57.5).specific_heat_jkgk)


def _ends(design: Design, store: Part) -> list[int]:
    names = (n for n in ("hot-out", "circulation-return") if n in store.kind.ports)
    return [design.graph.at(store.tag, n) for n in names]


def _circulation(design: Design, loop: Loop) -> Iterator[Size]:
    loss, name = _loss(design, loop), loop.state.state.name
    yield Size("hot-water", loop.pump.tag, loss, name)
    yield Size("hot-water", loop.pump.tag, work(circulation_flow, loss, water(57.5)), name)
    yield Size("hot-water", loop.pump.tag, _return(design, loop), name)
    yield Size("hot-water", loop.pump.tag, work(loss_per_year, loss))


# dead legs


def _dead_leg(design: Design, tap: Part, circulated: set[int]) -> Iterator[Size]:
    """Water between a tap's hot opening and the store, source or circulation that keeps its water hot."""
    opening = next((n for n in ("hot-in", "in") if n in tap.kind.ports), None)
    state = next((s for s in states(design) if tap.tag in s.state.outlets_open), None)
    if opening is None or state is None or tap.kind.family != "ends" or tap.kind.name == "cold-outlet":
        return
    pipes = _back(design, state, PortId(tap.tag, opening), circulated)
    if not pipes:
        return
    legs = [
        attempt(lambda length, s: (length, s.bore_m, s.outside_m), design.plant.length(p), design.plant.pipe_size(p))
        for p in pipes
    ]
    needs = unique(t for k in legs for t in k.needs)
    assumes = unique(t for k in legs for t in k.assumes)
    leg = work(dead_leg, Known(needs=needs) if needs else Known(tuple(k.value for k in legs), assumes))
    yield Size("hot-water", tap.tag, leg, pipes=tuple(p.index for p in pipes))
    factor = attempt(_metal_factor, design.plant.pipe_size(pipes[-1]))
    yield Size("hot-water", tap.tag, work(wait, leg, listed(tap, "draw-off"), factor))


def _metal_factor(size) -> float:
    return METAL_FACTOR.get(f"{1e3 * size.outside_m:g}", 1.0) if size.material == "copper" else PLASTIC_FACTOR


def _back(design: Design, state: InState, port: PortId, circulated: set[int]) -> list[Pipe]:
    """Pipes from a tap back to what keeps hot, the tap's own first; [] if they do not come from there."""
    found: list[Pipe] = []
    while len(found) <= len(design.network.pipes):
        pipe = next((p for p in design.network.pipes_at.get(port, ()) if p.index in state.pipe_ways), None)
        if pipe is None:
            return []
        found.append(pipe)
        port = design.network.far_end(pipe, port)
        part = design.network.parts[port.tag]
        if design.graph.point[port] in circulated or part.kind.store or port.port in ("hot-out",):
            return found
        if part.kind.driver or part.kind.giver:
            return []
        inlet = _inlet(design, state, part, port)
        if inlet is None:
            return []
        port = inlet
    return []


def _inlet(design: Design, state: InState, part: Part, out: PortId) -> PortId | None:
    if part.kind.name in MIXERS:
        return PortId(part.tag, MIXERS[part.kind.name][0])
    for name in part.kind.ports:
        port = PortId(part.tag, name)
        for pipe in design.network.pipes_at.get(port, ()):
            w = state.pipe_ways.get(pipe.index)
            if port != out and w is not None and _enters(design, state, w, pipe, port):
                return port
    return None


def _enters(design: Design, state: InState, w: int, pipe: Pipe, port: PortId) -> bool:
    return (pipe.end == port) == (upstream(state, w) == design.graph.point[pipe.start])
