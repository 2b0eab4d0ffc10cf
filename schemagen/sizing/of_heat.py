"""Heat sources and buffers of a design: least flow in every combination of zones, bypass, run time, defrost, starts."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.base.units import quantity
from schemagen.network.network import Part
from schemagen.operation.states import State, has_own_pump
from schemagen.sizing.balancing import Zone, bypass_flow, bypass_setting, source_flow, zone_states
from schemagen.sizing.buffer import (
    buffer_volume,
    defrost_drop,
    defrost_heat,
    defrost_volume,
    most_starts,
    off_time,
    on_time,
    run_time_volume,
)
from schemagen.sizing.design import Design
from schemagen.sizing.figure import Figure
from schemagen.sizing.flow import difference_for_flow, heat_for_flow
from schemagen.sizing.in_state import InState
from schemagen.sizing.known import Known, attempt, listed, unique, work
from schemagen.sizing.of_flows import as_figure, states, upstream
from schemagen.sizing.of_pipes import at_bypass, losses_at
from schemagen.sizing.plant import HEAT_PUMPS, giving
from schemagen.sizing.resistances import pump_setting, rise_at, some
from schemagen.sizing.sizes import Size
from schemagen.sizing.ways import is_emitter

_TOLD_ZONES = 4
"""With more zones than this only each alone, and all together, are told."""

_CLOSERS = ("zone-valve", "thermostatic-radiator-valve")
_HALF = "load of half the least output"
_USUAL_SWING_K = 5.0


def source_sizes(design: Design) -> Iterator[Size]:
    """Of every heat source: difference and heat in each state, and its least flow against the open zones."""
    for tag in design.plant.source_tags:
        source = design.network.parts[tag]
        running = [(state, w) for state in states(design) for w in [_way(state, source)] if w is not None]
        for state, w in running:
            if tag in state.state.sources_on:
                yield from _in_state(design, state, w, source)
        if "min-flow" in source.kind.attributes:
            yield from _least_flow(design, source, running)


def _way(state: InState, source: Part) -> int | None:
    inside = {(p.a, p.b) for p in giving(source)}
    return next((w for w, way in enumerate(state.ways) if way.tag == source.tag and (way.a, way.b) in inside), None)


def _in_state(design: Design, state: InState, w: int, source: Part) -> Iterator[Size]:
    fluid, flow = design.plant.fluid(state.ways[w].body), state.figure(w)
    out_c, back_c = (state.temperature_c.get(p) for p in _ends(state, w))
    name = state.state.name
    if None not in (out_c, back_c):
        heat = work(heat_for_flow, flow, Known(out_c - back_c, state.assumes), fluid)
        output = source.value("output")
        if heat.value is not None and output is not None and heat.value > 1.001 * output:
            text = f"more than the {quantity(output, 'kW')} that {source.tag} gives"
            heat = replace(heat, flags=(*heat.flags, text))
        yield Size("source", source.tag, heat, name)
    else:
        yield Size("source", source.tag, work(difference_for_flow, listed(source, "output"), flow, fluid), name)


def _ends(state: InState, w: int) -> tuple[int, int]:
    way = state.ways[w]
    start = upstream(state, w)
    return (way.end if start == way.start else way.start), start


def _least_flow(design: Design, source: Part, running: list[tuple[InState, int]]) -> Iterator[Size]:
    least = listed(source, "min-flow")
    if not least:
        yield Size("source", source.tag, work(source_flow, 0.0, least))
        return
    heated = [(state, w) for state, w in running if source.tag in state.state.sources_on]
    for state, w in heated:
        flow = state.figure(w)
        yield Size("source", source.tag, work(source_flow, flow, least), state.state.name)
    wanted = [(full, w) for state, _ in heated for full in [design.of(state.state)] for w in [_way(full, source)]]
    zoned = max((pair for pair in wanted if pair[1] is not None), key=lambda p: len(_zones(design, *p)), default=None)
    zones = _zones(design, *zoned) if zoned else ()
    if zones:
        assumes = unique(t for _, known in zoned[0].given.values() for t in known.assumes)
        yield from _combinations(design, source, zoned[0].state, zones, least.value, assumes)
        open_m3s = sum(zone.flow_m3s for zone in zones if not zone.closes)
        yield Size("source", source.tag, work(bypass_flow, least, Known(open_m3s, assumes)))
        for bypass in design.plant.parts_in[zoned[0].ways[zoned[1]].body]:
            if bypass.kind.name == "bypass-valve":
                yield Size("source", bypass.tag, _bypass_setting(design, *zoned, source, least, bypass))
    elif any(_is_separated(design, *pair) for pair in heated):
        yield Size("source", source.tag, work(bypass_flow, least, 0.0, True))


def _zones(design: Design, state: InState, w: int) -> tuple[Zone, ...]:
    """The circuits beside a source, each by the valve that closes it or else by its emitter."""
    beside = design.graph.beside(state.ways, w)
    flows: dict[str, list[float]] = {}
    closes: dict[str, bool] = {}
    for k in beside:
        part = design.network.parts.get(state.ways[k].tag)
        if part and is_emitter(part) and k in state.given:
            closer = _closer(design, state, beside, part.tag)
            name = closer or part.tag
            flows.setdefault(name, []).append(abs(state.values[k]))
            closes[name] = closer is not None
    return tuple(Zone(name, sum(there), closes=closes[name]) for name, there in flows.items())


def _closer(design: Design, state: InState, beside: list[int], emitter: str) -> str | None:
    """The zone valve through which an emitter's water goes, else its own thermostatic valve."""
    for kind in _CLOSERS:
        for w in beside:
            tag = state.ways[w].tag
            if tag and design.network.parts[tag].kind.name == kind and emitter in state.takers_of(w):
                return tag
    return None


def _is_separated(design: Design, state: InState, w: int) -> bool:
    beside = set(design.graph.beside(state.ways, w))
    points = {p for k in beside for p in (state.ways[k].start, state.ways[k].end)}
    others = (way for k, way in enumerate(state.ways) if k not in beside)
    return any(design.graph.is_heart(way) and {way.start, way.end} & points for way in others)


def _combinations(
    design: Design, source: Part, full: State, zones: tuple[Zone, ...], least_m3s: float, assumes
) -> Iterator[Size]:  # fmt: skip
    """Flow of a source with some zones open: in the real network if its data are known, else the zones' design flow."""
    closing = [z for z in zones if z.closes]
    for zone_state in zone_states(zones, least_m3s):
        n = sum(z.name in zone_state.open_zones for z in closing)
        if len(closing) <= _TOLD_ZONES or n in (1, len(closing)):
            name = f"open: {', '.join(zone_state.open_zones)}"
            shut = {z.name: "shut" for z in closing if z.name not in zone_state.open_zones}
            real = design.real(replace(full, name=name, positions={**full.positions, **shut}))
            w = _way(real, source)
            if w in real.solved:
                yield Size("source", source.tag, work(source_flow, real.figure(w), least_m3s), name)
                continue
            figure = work(source_flow, Known(zone_state.flow_m3s, assumes), least_m3s)
            yield Size("source", source.tag, replace(figure, notes=("design flows of the open zones",)), name)


def _bypass_setting(design: Design, state: InState, w: int, source: Part, least: Known, bypass: Part) -> Figure:
    """From the pump in the source's own run, at the least flow, and what the way through the source loses then."""
    there = at_bypass(design, state, bypass)
    own = [k for k in design.graph.beside(state.ways, w) if k not in there.beyond and _same(state, k, w)]
    tags = [state.ways[k].tag for k in own if state.ways[k].tag]
    movers = [p for p in map(design.network.parts.get, tags) if p.kind.driver == "pump" or has_own_pump(p)]
    setting = pump_setting(movers[0]) if movers else Known(needs=(f"a pump in the run of {source.tag}",))
    rise = attempt(rise_at, setting, least)
    losses = [loss for k in own for loss in losses_at(design, state, k, least.value)]
    lost = attempt(lambda *each: sum(each), *losses)
    constant = Known(movers[0].value("head")) if movers and movers[0].value("mode") == "constant-pressure" else None
    figure = work(bypass_setting, rise, replace(lost, needs=some(lost.needs)), there.difference,
                  **({"pump_setting_pa": constant} if constant else {}))  # fmt: skip
    setting_pa = bypass.value("setting")
    if figure.value is not None and setting_pa is not None and setting_pa > figure.value:
        figure = replace(figure, flags=(*figure.flags, f"{bypass.tag} is set higher: it opens too late"))
    return figure


def _same(state: InState, k: int, w: int) -> bool:
    """True if two ways carry the same water."""
    return state.carried.shares.get(k, {}).keys() == state.carried.shares.get(w, {}).keys()


# buffers


def buffer_sizes(design: Design) -> Iterator[Size]:
    """Of every heat pump: the buffer that run time and defrost ask for, and what the listed buffer does."""
    for tag in design.plant.source_tags:
        source = design.network.parts[tag]
        if source.kind.name in HEAT_PUMPS:
            yield from _buffer(design, source)


def _buffer(design: Design, source: Part) -> Iterator[Size]:
    body = design.plant.body_at(source.tag, *source.kind.gives)
    if body is None:
        return
    fluid = design.plant.fluid(body)
    least = listed(source, "min-output")
    swing = listed(source, "control-band").but_assume(_USUAL_SWING_K, f"a swing of {_USUAL_SWING_K:g} K")
    more = {"run_s": source.value("min-run-time")} if source.value("min-run-time") else {}
    no_load = Known(0.0, ("no load while it runs at its least output",))
    run = work(run_time_volume, least, no_load, fluid, swing_k=swing, **more)
    yield Size("buffer", source.tag, run)
    wanted = [run]
    heat = _defrost_heat(source)
    if source.kind.name == "air-heat-pump":
        wanted.append(work(defrost_volume, heat, fluid))
        yield Size("buffer", source.tag, heat)
        yield Size("buffer", source.tag, wanted[-1])
    if source.value("min-volume") is not None:
        wanted.append(as_figure(listed(source, "min-volume"), "least volume of the maker", "m³", "L"))
    known = [f for f in wanted if f.value is not None]
    assumes = unique(t for f in known for t in f.assumptions)
    if known:
        none_open = Known(0.0, ("no circuit that stays open is counted",))
        needed = work(buffer_volume, Known(tuple(f.value for f in known), assumes), none_open)
        yield Size("buffer", source.tag, needed)
        for store in _buffers(design, body):
            yield from _of_store(store, needed, heat, least, swing, fluid, source.kind.name == "air-heat-pump")


def _defrost_heat(source: Part) -> Figure:
    if source.value("defrost-heat") is not None:
        return as_figure(Known(source.value("defrost-heat") * 3.6e6), "heat taken by a defrost", "J", "kWh")
    figure = work(defrost_heat, listed(source, "output"))
    return replace(figure, assumptions=(*figure.assumptions, f"a defrost takes 0.08 kWh per kW of {source.tag}"))


def _buffers(design: Design, body: int) -> Iterator[Part]:
    for part in design.plant.parts_in[body]:
        if part.kind.separates and (part.kind.store == "heating" or part.kind.name == "cylinder-and-buffer"):
            yield part


def _of_store(store: Part, needed: Figure, heat: Figure, least: Known, swing: Known, fluid: Known, thaws: bool):
    key = "buffer-volume" if "buffer-volume" in store.kind.attributes else "volume"
    volume = listed(store, key)
    if volume and needed.value is not None:
        short = volume.value < needed.value
        flags = (f"smaller than the {needed.text} needed",) if short else ()
        yield Size("buffer", store.tag, replace(as_figure(volume, "buffer", "m³", "L"), flags=flags))
    if thaws:
        yield Size("buffer", store.tag, work(defrost_drop, heat, volume, fluid))
    half = attempt(lambda p: p / 2, least)
    half = Known(half.value, (_HALF,), half.needs)
    for calculation in (on_time, off_time):
        yield Size("buffer", store.tag, work(calculation, least, half, volume, swing, fluid))
    yield Size("buffer", store.tag, work(most_starts, least, volume, swing, fluid))
