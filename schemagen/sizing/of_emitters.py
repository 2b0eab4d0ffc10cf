"""Emitters of a design at the temperatures that really reach them: radiators, underfloor loops."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.network.network import Part
from schemagen.sizing.design import Design
from schemagen.sizing.emitters import floor_temperature, loop_length, radiator_return
from schemagen.sizing.flow import heat_for_flow
from schemagen.sizing.known import Known, attempt, known_of, listed, work
from schemagen.sizing.of_flows import as_figure, states, upstream
from schemagen.sizing.pipes import UNDERFLOOR_LOOP_MOST_PA, limit_flags, limits, loss_per_metre, velocity
from schemagen.sizing.resistances import loop_pipe
from schemagen.sizing.sizes import Size
from schemagen.sizing.ways import is_emitter

_TAIL_M = 0.0


def emitter_sizes(design: Design) -> Iterator[Size]:
    """Heat of every emitter by design, and in each state by the temperature that reaches it; underfloor loops."""
    for part in design.demand.emitters:
        yield Size("emitter", part.tag, as_figure(design.demand.heat(part), "design heat", "W"))
        if part.kind.name.startswith("underfloor"):
            yield from _underfloor(design, part)
    for state in states(design):
        for w, way in enumerate(state.ways):
            part = design.network.parts.get(way.tag)
            if part and is_emitter(part) and "rated-difference" in part.kind.attributes and way.a in part.kind.takes:
                yield from _radiator(design, state, w, part)


def _radiator(design: Design, state, w: int, part: Part) -> Iterator[Size]:
    arrives = state.temperature_c.get(upstream(state, w))
    if arrives is None:
        return
    exponent, rated = design.demand.rating(part)
    fluid, flow = design.plant.fluid(state.ways[w].body), state.figure(w)
    supply = Known(arrives, state.assumes)
    back = work(radiator_return, rated, supply, design.plant.room_c(part), flow, fluid, exponent)
    yield Size("emitter", part.tag, back, state.state.name)
    heat = work(heat_for_flow, flow, attempt(lambda a, b: a - b, supply, back), fluid)
    yield Size("emitter", part.tag, replace(heat, name="heat given in this state"), state.state.name)


def _underfloor(design: Design, part: Part) -> Iterator[Size]:
    area, spacing = listed(part, "area"), listed(part, "spacing")
    length = listed(part, "length")
    if not length and "length" in part.kind.attributes:
        tails = Known(_TAIL_M, ("no tails to the manifold",))
        figure = work(loop_length, area, spacing, tails)
        yield Size("emitter", part.tag, figure)
        length = known_of(figure)
    flux = attempt(lambda q, a: q / a, known_of(design.demand.heat(part)), area)
    yield Size("emitter", part.tag, work(floor_temperature, flux, design.plant.room_c(part)))
    if part.kind.name == "underfloor-loop":
        yield from _loop(design, part, length)


def _loop(design: Design, part: Part, length: Known) -> Iterator[Size]:
    body = design.plant.body_at(part.tag, *part.kind.takes)
    fluid = design.plant.fluid(body) if body is not None else Known(needs=(f"a pipe at {part.tag}",))
    size, flow = loop_pipe(part), known_of(design.demand.flow(part))
    bore, rough = (attempt(lambda s, k=k: getattr(s, k), size) for k in ("bore_m", "roughness_m"))
    speed, per_metre = work(velocity, flow, bore), work(loss_per_metre, flow, bore, rough, fluid)
    if speed.value is not None:
        speed = replace(speed, flags=(*speed.flags, *limit_flags(speed.value, 0.0, limits("underfloor"))))
    yield Size("emitter", part.tag, speed)
    yield Size("emitter", part.tag, per_metre)
    loss = attempt(lambda r, length: r * length, per_metre, length)
    figure = as_figure(loss, "loss of the loop", "Pa", "kPa")
    if loss and loss.value > UNDERFLOOR_LOOP_MOST_PA:
        figure = replace(figure, flags=("more than 25 kPa over one loop (common practice, no source)",))
    yield Size("emitter", part.tag, replace(figure, source="loss per metre times length", formula="R·L"))
