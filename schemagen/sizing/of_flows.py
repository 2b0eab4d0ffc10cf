"""Flows and temperatures of a design as sizes: what each part wants, what each run carries, where waters mix."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.network.network import Part
from schemagen.sizing.design import Design
from schemagen.sizing.figure import Figure
from schemagen.sizing.in_state import MOVING_STATES, InState
from schemagen.sizing.known import Known, listed, unique, work
from schemagen.sizing.mixing import BALANCE, header, hot_share, mixed_temperature
from schemagen.sizing.plant import MIXERS
from schemagen.sizing.resistances import some
from schemagen.sizing.sizes import Size, StateFlows
from schemagen.sizing.solved import SOURCE

_FOUR_PIPES = (("primary-flow", "primary-return", "secondary-flow", "secondary-return"),
               ("source-flow", "source-return", "load-flow", "load-return"))  # fmt: skip


def flow_sizes(design: Design) -> Iterator[Size]:
    """What emitters and sources want, and what every run carries in each state."""
    demand = design.demand
    for part in demand.emitters:
        yield Size("flow", part.tag, as_figure(demand.flow(part), "flow that carries the heat", "m³/s", "L/min"))
    for tag in design.plant.source_tags:
        flow = demand.source_flow(design.network.parts[tag])
        yield Size("flow", tag, as_figure(flow, "flow that carries the heat", "m³/s", "L/min"))
    for state in design_states(design):
        yield from _in_runs(design, state)
    for state in states(design):
        if state.solved:
            yield from (s for s in _in_runs(design, state) if s.figure.name == "flow in the network")
    yield from _unsolved(design)


def _in_runs(design: Design, state: InState) -> Iterator[Size]:
    for run in design.plant.runs:
        w = state.pipe_ways.get(run.pipes[0].index)
        if w is not None:
            yield Size("flow", run.name, state.figure(w), state.state.name, run.indices)


def _unsolved(design: Design) -> Iterator[Size]:
    """For each water that a pump moves and whose network cannot be solved: what that needs."""
    needs: dict[str, tuple[str, ...]] = {}
    for state in states(design):
        for name, lacks in state.network.lacks.items():
            needs[name] = unique((*needs.get(name, ()), *lacks))
    for name, lacks in needs.items():
        yield Size("flow", name, Figure("flows in the real network", None, "m³/s", source=SOURCE, needs=some(lacks)))


def temperature_sizes(design: Design) -> Iterator[Size]:
    """Temperatures at sources, takers, separators and mixing parts in each state, and where waters meet."""
    for state in states(design):
        for part in design.network.parts.values():
            if (
                part.kind.giver
                and part.kind.gives
                or part.kind.taker
                or part.kind.separates
                or part.kind.name in MIXERS
            ):
                yield from _at_part(design, state, part)
        yield from _at_joints(design, state)


def states(design: Design) -> Iterator[InState]:
    """The states in which water moves for heat or taps, as the real network has them where its data are known."""
    return (design.real(s) for s in design.plant.operation.of_sort(*MOVING_STATES))


def design_states(design: Design) -> Iterator[InState]:
    """The same states with what is wanted in them."""
    return (design.of(s) for s in design.plant.operation.of_sort(*MOVING_STATES))


def state_flows(state: InState) -> StateFlows:
    """Flow and temperature of each moving pipe."""
    flows, temperatures, open_ = {}, {}, {}
    for pipe, w in state.pipe_ways.items():
        flow, t = state.flow(w), state.temperature_c.get(upstream(state, w))
        if flow is None:
            open_[pipe] = "needs " + ", ".join(state.needs(w))
        else:
            flows[pipe] = flow
        if t is not None:
            temperatures[pipe] = t
    return StateFlows(flows, temperatures, open_)


def upstream(state: InState, w: int) -> int:
    """The point from which the water of a way comes."""
    way, flow = state.ways[w], state.flow(w)
    return way.start if (flow if flow else way.sign) > 0 else way.end


def as_figure(given: Known | Figure, name: str, unit: str, shown_in: str = "") -> Figure:
    """A known value as a figure: worked out, or as it is listed."""
    if isinstance(given, Figure):
        return given
    source = "as listed" if given else ""
    return Figure(name, given.value, unit, shown_in, source=source, assumptions=given.assumes, needs=given.needs)


def _at_part(design: Design, state: InState, part: Part) -> Iterator[Size]:
    for name in part.kind.ports:
        pipes = design.network.pipes_at.get((part.tag, name), ())
        ways = [state.pipe_ways[p.index] for p in pipes if p.index in state.pipe_ways]
        if ways:
            t = state.temperature_c.get(upstream(state, ways[0]))
            yield Size(
                "temperature",
                f"{part.tag}.{name}",
                _temperature(state, ways[0], t),
                state.state.name,
                (pipes[0].index,),
            )
    if part.kind.separates:
        yield from _separator(design, state, part)
    if part.kind.name in MIXERS:
        yield from _mixer(design, state, part)


def _temperature(state: InState, w: int, value: float | None) -> Figure:
    needs = (
        ()
        if value is not None
        else unique(state.needs(w) if state.flow(w) is None else ("what warms it in this state",))
    )
    assumes = unique((*state.assumes, *(t for k in state.carried.shares.get(w, {}) for t in state.given[k][1].assumes)))
    return Figure("temperature", value, "°C", source=BALANCE, assumptions=assumes, needs=needs)


def _separator(design: Design, state: InState, part: Part) -> Iterator[Size]:
    names = next((f for f in _FOUR_PIPES if f[0] in part.kind.ports), None)
    if names is None:
        return
    at = [_at_port(design, state, part.tag, n) for n in names]
    (primary, primary_c), _, (secondary, _), (_, return_c) = at
    if None in (primary, primary_c, secondary, return_c) or part.kind.name == "cylinder-and-buffer":
        return
    body = design.plant.fluid(design.plant.body_at(part.tag, *names))
    if not body:
        return
    done = header(primary * body.value.density_kgm3, primary_c, secondary * body.value.density_kgm3, return_c)
    for figure in (done.secondary_flow, done.primary_return, done.downward):
        yield Size(
            "temperature",
            part.tag,
            replace(figure, assumptions=unique((*figure.assumptions, *state.assumes))),
            state.state.name,
        )


def _mixer(design: Design, state: InState, part: Part) -> Iterator[Size]:
    hot, cold, _ = MIXERS[part.kind.name]
    (_, hot_c), (_, cold_c) = (_at_port(design, state, part.tag, n) for n in (hot, cold))
    if not any(way.tag == part.tag for way in state.ways):
        return
    thermostatic = part.kind.name == "thermostatic-mixing-valve"
    figure = work(
        hot_share,
        listed(part, "setting"),
        _arrives(hot_c, part, hot, state),
        _arrives(cold_c, part, cold, state),
        thermostatic,
    )
    yield Size("temperature", part.tag, figure, state.state.name)


def _arrives(value: float | None, part: Part, name: str, state: InState) -> Known:
    return Known(value, state.assumes) if value is not None else Known(needs=(f"temperature at {part.tag}.{name}",))


def _at_port(design: Design, state: InState, tag: str, name: str) -> tuple[float | None, float | None]:
    """Flow [m³/s] and temperature [°C] of the pipe at an opening; 0 if it stands still."""
    pipes = design.network.pipes_at.get((tag, name), ())
    w = next((state.pipe_ways[p.index] for p in pipes if p.index in state.pipe_ways), None)
    if w is None:
        return 0.0, None
    flow = state.flow(w)
    return (None if flow is None else abs(flow)), state.temperature_c.get(upstream(state, w))


def _at_joints(design: Design, state: InState) -> Iterator[Size]:
    """Where two or more waters of different temperature meet at a tee."""
    arriving: dict[int, list[int]] = {}
    for w in state.pipe_ways.values():
        way = state.ways[w]
        arriving.setdefault(way.end if upstream(state, w) == way.start else way.start, []).append(w)
    for point, ways in arriving.items():
        tag = _tag_at(design, state, ways[0], point)
        streams = [(state.flow(w), state.temperature_c.get(upstream(state, w))) for w in ways]
        if len(ways) < 2 or not design.network.parts[tag].kind.plain or any(None in s for s in streams):
            continue
        if max(t for _, t in streams) - min(t for _, t in streams) > 0.05:
            figure = work(mixed_temperature, tuple((abs(q) * 6e4, t) for q, t in streams))
            yield Size(
                "temperature",
                tag,
                replace(figure, notes=("flows in L/min",), assumptions=state.assumes),
                state.state.name,
            )


def _tag_at(design: Design, state: InState, w: int, point: int) -> str:
    pipe = design.network.pipes[state.ways[w].pipe]
    return pipe.end.tag if design.graph.point[pipe.end] == point else pipe.start.tag
