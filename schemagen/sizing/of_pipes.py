"""Pipes of a design: velocity and loss against what is usual, content, and the pumps' duties on the index circuit."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from schemagen.base.units import quantity
from schemagen.network.network import Part, Pipe, PortId
from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.balancing import balancing_kv
from schemagen.sizing.design import Design
from schemagen.sizing.figure import Figure
from schemagen.sizing.in_state import InState
from schemagen.sizing.known import Known, attempt, unique, work
from schemagen.sizing.of_flows import design_states, states
from schemagen.sizing.pipes import largest_flow, limit_flags, limits, loss_per_metre, pipe_content, velocity
from schemagen.sizing.plant import HEATED, Plant, Run
from schemagen.sizing.pumps import Path, head, hydraulic_power, index_path, operating_flow, pump_duty
from schemagen.sizing.resistances import fluid_in, loss_at, part_element, pipe_element, pump_curve, some
from schemagen.sizing.sizes import Size
from schemagen.sizing.solved import SOURCE

_SHORT = 0.02
"""A flow that falls short by less than this share is as wanted. Common practice, no source."""

_BALANCING = ("balancing-valve", "lockshield-valve", "flow-regulator")


def pipe_sizes(design: Design) -> Iterator[Size]:
    """Velocity, loss per metre, largest usual flow and content of every run, at its greatest flow of all states."""
    for run in design.plant.runs:
        most = _greatest(design, run)
        size = design.plant.pipe_size(run.pipes[0])
        if most is not None and run.pipes[0].size_text:
            yield from _speed(design, run, *most, size)
        if any(p.values.get("length") is not None for p in run.pipes):
            yield Size("content", run.name, content_of(design.plant, run.pipes), pipes=run.indices)


def _greatest(design: Design, run: Run) -> tuple[InState, int] | None:
    found = None
    for state in states(design):
        w = state.pipe_ways.get(run.pipes[0].index)
        flow = None if w is None else state.flow(w)
        if flow is not None and (found is None or abs(flow) > 1.000001 * found[0]):
            found = abs(flow), state, w
    return found and found[1:]


def _speed(design: Design, run: Run, state: InState, w: int, size: Known) -> Iterator[Size]:
    pipe, flow = run.pipes[0], state.figure(w)
    fluid = fluid_in(design.plant, pipe)
    bore, roughness = (attempt(lambda s, k=k: getattr(s, k), size) for k in ("bore_m", "roughness_m"))
    speed, loss = work(velocity, flow, bore), work(loss_per_metre, flow, bore, roughness, fluid)
    duty = _duty(design.plant, pipe, size)
    if duty and speed.value is not None and loss.value is not None:
        limit = limits(duty, bore.value)
        speed = replace(speed, flags=(*speed.flags, *limit_flags(speed.value, 0.0, limit)))
        loss = replace(loss, flags=(*loss.flags, *limit_flags(0.0, loss.value, limit)))
    yield Size("pipe", run.name, speed, state.state.name, run.indices)
    yield Size("pipe", run.name, loss, state.state.name, run.indices)
    if duty.startswith("heating"):
        yield Size("pipe", run.name, work(largest_flow, bore, roughness, fluid), pipes=run.indices)


def _duty(plant: Plant, pipe: Pipe, size: Known) -> str:
    medium, section = plant.waters.medium[pipe.index], plant.waters.section[pipe.index]
    if section == "circulation":
        return "circulation"
    if medium in HEATED:
        return "heating"
    if medium == "hot":
        return "hot service copper" if size and size.value.material == "copper" else "service"
    return "service" if medium in ("cold", "tempered") else ""


def content_of(plant: Plant, pipes: tuple[Pipe, ...]) -> Figure:
    """Water [m³] in pipes of one size."""
    lengths = [plant.length(p) for p in pipes]
    needs = unique(t for k in lengths for t in k.needs)
    length = Known(needs=needs) if needs else Known(sum(k.value for k in lengths))
    return work(pipe_content, length, attempt(lambda s: s.bore_m, plant.pipe_size(pipes[0])))


# pumps


@dataclass(frozen=True, slots=True)
class Loss:
    """The loss [Pa] of one pipe or part on a path, or what it needs."""

    name: str
    loss: Known


def pump_sizes(design: Design) -> Iterator[Size]:
    """Duty of every running pump in its fullest state, its head and power, and the balancing valves on its circuits;
    and what it does in the real network of each state."""
    fullest: dict[str, tuple[InState, int]] = {}
    for state in design_states(design):
        for w, way in enumerate(state.ways):
            part, flow = design.network.parts.get(way.tag), state.flow(w)
            if part and flow and _drives(state, part, way.b):
                known = fullest.get(way.tag)
                if known is None or abs(flow) > 1.000001 * abs(known[0].flow(known[1])):
                    fullest[way.tag] = state, w
    for tag, (state, w) in fullest.items():
        yield from _of_pump(design, state, w, design.network.parts[tag])
    for state in states(design):
        yield from _in_network(design, state)


def _in_network(design: Design, state: InState) -> Iterator[Size]:
    """Flow and pressure of each pump in the real network, and what the bypass valves pass."""
    wanted = design.of(state.state)
    for w in sorted(state.solved):
        tag = state.ways[w].tag
        part = design.network.parts.get(tag)
        if part and tag in state.network.rise_pa and _drives(state, part, state.ways[w].b):
            flow, duty = state.figure(w), wanted.flow(wanted.way_inside(tag, state.ways[w].a, state.ways[w].b))
            short = duty is not None and flow.value < (1 - _SHORT) * abs(duty)
            flags = (f"less than the {quantity(abs(duty), 'L/min')} wanted",) if short else ()
            notes = tuple(text for text in state.network.notes if text.startswith(f"{tag} "))
            told = replace(flow, name="pump in the network, flow", flags=flags, notes=notes)
            yield Size("pump", tag, told, state.state.name)
            rise = Figure("pump in the network, pressure", state.network.rise_pa[tag], "Pa", "kPa", source=SOURCE)
            yield Size("pump", tag, replace(rise, assumptions=flow.assumptions), state.state.name)
        elif part and part.kind.name == "bypass-valve":
            yield Size("pump", tag, replace(state.figure(w), name="bypass in the network, flow"), state.state.name)


def _drives(state: InState, part: Part, outlet: str) -> bool:
    pumps = part.kind.driver == "pump" and outlet in ("load-flow", "out")
    return part.tag in state.state.pumps_on and (pumps or bool(part.kind.giver))


def _of_pump(design: Design, state: InState, w: int, pump: Part) -> Iterator[Size]:
    flow, name = state.figure(w), state.state.name
    yield Size("pump", pump.tag, replace(flow, name="pump duty, flow"), name)
    paths = _paths(design, state, w)
    losses = [loss for _, there in paths for loss in there]
    needs = some(unique(text for loss in losses for text in loss.loss.needs))
    assumes = unique(text for loss in losses for text in loss.loss.assumes)
    if needs or not paths:
        duty = work(pump_duty, Known(needs=needs or ("a way round from the pump to a load",)))
    else:
        duty = work(pump_duty, Known(tuple(_path(p, there) for p, there in paths), assumes))
    yield Size("pump", pump.tag, duty, name)
    fluid = fluid_in(design.plant, _pipe_at(design, pump))
    density = attempt(lambda f: f.density_kgm3, fluid)
    if duty.value is not None:
        yield Size("pump", pump.tag, work(head, duty, density), name)
        yield Size("pump", pump.tag, work(hydraulic_power, duty, flow), name)
        if curve := pump_curve(pump):
            system = attempt(lambda p, q: p / q**2, duty, flow)
            yield Size("pump", pump.tag, work(operating_flow, curve, system), name)
        yield from _balancing(design, state, paths, density)


def _path(name: str, losses: list[Loss]) -> Path:
    return Path(name, tuple((loss.name, loss.loss.value) for loss in losses))


def _pipe_at(design: Design, part: Part) -> Pipe:
    names = part.kind.gives or tuple(part.kind.ports)
    return next(p for n in names for p in design.network.pipes_at.get(PortId(part.tag, n), ()))


def _paths(design: Design, state: InState, pump: int) -> list[tuple[str, list[Loss]]]:
    """The ways round from a pump through each load that its flow serves, with the losses of pipes and parts."""
    sources = design.plant.source_tags
    own = [w for w in design.graph.beside(state.ways, pump) if w != pump or state.ways[w].tag in sources]
    found = []
    for k in state.carried.shares.get(pump, {}):
        along = [w for w in own if k in state.carried.shares.get(w, {})]
        found.append((state.given[k][0], [loss for w in along for loss in _losses(design, state, w)]))
    return found


@dataclass(frozen=True, slots=True)
class AtBypass:
    """A bypass at design flows: the greatest loss [Pa] of the ways beyond it, and the indices of those ways."""

    difference: Known
    beyond: frozenset[int] = frozenset()


def at_bypass(design: Design, state: InState, bypass: Part) -> AtBypass:
    """What a bypass valve finds between its ends at the design flows of a state."""
    start, end = (_on_path(design, state, bypass, name) for name in ("in", "out"))
    if start is None or end is None or start == end:
        return AtBypass(Known(needs=(f"water that moves beside {bypass.tag}",)))
    onward: dict[int, list[tuple[int, int]]] = {}
    for w, way in enumerate(state.ways):
        if flow := state.flow(w):
            here, there = (way.start, way.end) if flow > 0 else (way.end, way.start)
            onward.setdefault(here, []).append((w, there))
    return _most_lost(design, state, onward, start, end)


def _most_lost(design: Design, state: InState, onward, start: int, end: int) -> AtBypass:
    """The way from one point to another along which most is lost; of points upstream the last are settled first."""
    order, seen, todo = [], {start, end}, [(start, iter(onward.get(start, ())))]
    while todo:
        here, ways = todo[-1]
        there = next((there for _, there in ways if there not in seen), None)
        if there is None:
            order.append(here)
            todo.pop()
        else:
            seen.add(there)
            todo.append((there, iter(onward.get(there, ()))))
    lost: dict[int, Known] = {end: Known(0.0)}
    beyond = set()
    for here in order:
        found = []
        for w, there in onward.get(here, ()):
            if there in lost:
                beyond.add(w)
                own = (loss.loss for loss in _losses(design, state, w))
                found.append(attempt(lambda *each: sum(each), lost[there], *own))
        if found:
            needs = unique(text for known in found for text in known.needs)
            lost[here] = Known(needs=needs) if needs else max(found, key=lambda known: known.value)
    difference = lost.get(start, Known(needs=("a way past the bypass",)))
    return AtBypass(replace(difference, needs=some(difference.needs)), frozenset(beyond))


def _on_path(design: Design, state: InState, bypass: Part, name: str) -> int | None:
    """The point in moving water to which an opening of a still bypass leads."""
    moving = {p for w, way in enumerate(state.ways) if state.flow(w) for p in (way.start, way.end)}
    seen, queue = {PortId(bypass.tag, name)}, [PortId(bypass.tag, name)]
    while queue:
        port = queue.pop(0)
        if design.graph.point[port] in moving:
            return design.graph.point[port]
        part = design.network.parts[port.tag]
        near = [design.network.far_end(p, port) for p in design.network.pipes_at.get(port, ())]
        if port.tag != bypass.tag:
            near += [PortId(port.tag, b if a == port.port else a) for a, b in _ways_in(part) if port.port in (a, b)]
        queue += [other for other in near if other not in seen]
        seen.update(near)
    return None


def _ways_in(part: Part) -> list[tuple[str, str]]:
    return [(p.a, p.b) for p in part.kind.passages if p.sort in ("both", "one-way") and OUTSIDE not in (p.a, p.b)]


def _losses(design: Design, state: InState, w: int) -> Iterator[Loss]:
    way = state.ways[w]
    name = way.tag or design.network.pipes[way.pipe].name
    return (Loss(name, loss) for loss in losses_at(design, state, w, state.flow(w) or 0.0))


def losses_at(design: Design, state: InState, w: int, flow: float) -> Iterator[Known]:
    """What a way loses [Pa] at a flow [m³/s]; nothing from pumps and from valves that are still to be set."""
    way = state.ways[w]
    if way.pipe >= 0:
        yield loss_at(pipe_element(design.plant, design.network.pipes[way.pipe], 1 if flow >= 0 else -1), flow)
        return
    part = design.network.parts[way.tag]
    if part.kind.name not in _BALANCING and part.kind.driver != "pump":
        yield loss_at(part_element(design.plant, part, way.a, way.b), flow)


def _balancing(design: Design, state: InState, paths, density: Known) -> Iterator[Size]:
    """The Kv of each balancing valve that only one path passes."""
    index = index_path(tuple(_path(name, losses) for name, losses in paths))
    for way_index, way in enumerate(state.ways):
        part = design.network.parts.get(way.tag)
        if part is None or part.kind.name not in _BALANCING:
            continue
        carried = state.takers_of(way_index)
        branch = next((losses for name, losses in paths if carried == (name,)), None)
        if branch is not None and len(paths) > 1:
            loss = sum(item.loss.value for item in branch)
            flow = state.figure(way_index)
            figure = work(balancing_kv, flow, index.loss_pa, loss, density, part.value("kv"))
            yield Size("balancing", part.tag, figure, state.state.name)
