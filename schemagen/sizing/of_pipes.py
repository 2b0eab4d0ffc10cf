"""Pipes of a design: velocity and loss against what is usual, content, and the pumps' duties on the index circuit."""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from schemagen.base.bad_input import BadInput
from schemagen.base.units import UnitError, parse
from schemagen.network.network import Part, Pipe, PortId
from schemagen.operation.circuit import is_joint
from schemagen.operation.pump_curves import TableCurve
from schemagen.sizing.balancing import balancing_kv
from schemagen.sizing.design import Design, InState
from schemagen.sizing.figure import Figure
from schemagen.sizing.fittings import LOSS_COEFFICIENTS, fitting_loss, part_loss, valve_loss
from schemagen.sizing.known import Known, attempt, known_of, unique, work
from schemagen.sizing.of_flows import states
from schemagen.sizing.pipes import largest_flow, limit_flags, limits, loss_per_metre, pipe_content, velocity
from schemagen.sizing.plant import HEATED, Plant, Run
from schemagen.sizing.pumps import Path, head, hydraulic_power, index_path, operating_flow, pump_duty
from schemagen.sizing.sizes import Size
from schemagen.sizing.water import water

_BALANCING = ("balancing-valve", "lockshield-valve", "flow-regulator")
_FITTINGS = {"isolating-valve": "full-bore valve", "check-valve": "check valve", "double-check-valve": "check valve"}
_HOT_C = 60.0


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


def fluid_in(plant: Plant, pipe: Pipe) -> Known:
    """The liquid in a pipe at the temperature at which it is reckoned."""
    medium = plant.waters.medium[pipe.index]
    if medium in HEATED:
        return plant.fluid(plant.waters.body[pipe.index])
    if medium in ("hot", "tempered"):
        return Known(water(_HOT_C), (f"hot water at {_HOT_C:g} °C",))
    return attempt(water, plant.cold_c)


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
    """Duty of every running pump in its fullest state, its head and power, and the balancing valves on its circuits."""
    done: set[str] = set()
    for state in states(design):
        for w, way in enumerate(state.ways):
            part = design.network.parts.get(way.tag)
            if part and way.tag not in done and state.flow(w) and _drives(state, part, way.b):
                done.add(way.tag)
                yield from _of_pump(design, state, w, part)


def _drives(state: InState, part: Part, outlet: str) -> bool:
    pumps = part.kind.driver == "pump" and outlet in ("load-flow", "out")
    return part.tag in state.state.pumps_on and (pumps or bool(part.kind.giver))


def _of_pump(design: Design, state: InState, w: int, pump: Part) -> Iterator[Size]:
    flow, name = state.figure(w), state.state.name
    yield Size("pump", pump.tag, replace(flow, name="pump duty, flow"), name)
    paths = _paths(design, state, w)
    losses = [loss for _, there in paths for loss in there]
    needs = _some(unique(text for loss in losses for text in loss.loss.needs))
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


def _some(needs: tuple[str, ...]) -> tuple[str, ...]:
    return needs if len(needs) <= 5 else (*needs[:5], f"{len(needs) - 5} more of the kind")


def _pipe_at(design: Design, part: Part) -> Pipe:
    names = part.kind.gives or tuple(part.kind.ports)
    return next(p for n in names for p in design.network.pipes_at.get(PortId(part.tag, n), ()))


def pump_curve(pump: Part) -> Known:
    """A pump's curve at full speed from the pairs of the list; falsy without one."""
    pairs = pump.value("curve") or pump.value("pump-curve")
    if not pairs:
        return Known()
    try:
        points = sorted((parse(q, "flow", "l/min"), parse(p, "pressure", "kPa")) for q, p in pairs.items())
        return Known(TableCurve(*(tuple(values) for values in zip(*points, strict=True))))
    except (UnitError, BadInput) as bad:
        return Known(needs=(f"curve of {pump.tag}: {bad}",))


def _paths(design: Design, state: InState, pump: int) -> list[tuple[str, list[Loss]]]:
    """The ways round from a pump through each load that its flow serves, with the losses of pipes and parts."""
    own = [w for w in design.beside(state.ways, pump) if w != pump or state.ways[w].tag in design.plant.source_tags]
    found = []
    for k in state.carried.shares.get(pump, {}):
        along = [w for w in own if k in state.carried.shares.get(w, {})]
        found.append((state.given[k][0], [loss for w in along for loss in _losses(design, state, w)]))
    return found


def _losses(design: Design, state: InState, w: int) -> Iterator[Loss]:
    way, flow = state.ways[w], abs(state.flow(w) or 0.0)
    if way.pipe >= 0:
        pipe = design.network.pipes[way.pipe]
        yield Loss(pipe.name, _pipe_loss(design, state, w, pipe, flow))
        return
    part = design.network.parts[way.tag]
    if part.kind.name in _BALANCING or part.kind.driver == "pump":
        return
    yield Loss(part.tag, _part_loss(design, part, flow))


def _pipe_loss(design: Design, state: InState, w: int, pipe: Pipe, flow: float) -> Known:
    size, fluid = design.plant.pipe_size(pipe), fluid_in(design.plant, pipe)
    straight = attempt(
        lambda length, s, f: length * float(loss_per_metre(flow, s.bore_m, s.roughness_m, f)),
        design.plant.length(pipe),
        size,
        fluid,
    )
    bends = int(pipe.values.get("bends") or 0)
    k = bends * LOSS_COEFFICIENTS["elbow"] + sum(_tee_k(design, state, w, end) for end in (pipe.start, pipe.end))
    local = attempt(lambda s, f: float(fitting_loss(k, float(velocity(flow, s.bore_m)), f)), size, fluid)
    return attempt(lambda a, b: a + b, straight, local)


def _tee_k(design: Design, state: InState, w: int, end: PortId) -> float:
    """K [-] of a tee at the pipe's end: its branch, or the run where the water enters."""
    if not is_joint(design.network.parts[end.tag].kind):
        return 0.0
    if end.port == "branch":
        return LOSS_COEFFICIENTS["tee branch"]
    way = state.ways[w]
    enters = design.point[end] == (way.end if (state.flow(w) or 0.0) >= 0 else way.start)
    return LOSS_COEFFICIENTS["tee run"] if enters else 0.0


def _part_loss(design: Design, part: Part, flow: float) -> Known:
    kv = part.value("kv") or part.value("coil-kv")
    if kv is not None:
        return known_of(work(valve_loss, flow, kv, 1000.0))
    drop, at = part.value("pressure-drop"), part.value("pressure-drop-at")
    if drop is not None:
        at_flow = Known(at) if at is not None else Known(needs=(f"pressure-drop-at of {part.tag}",))
        return known_of(work(part_loss, flow, drop, at_flow))
    fitting = _FITTINGS.get(part.kind.name)
    pipe = next((p for n in part.kind.ports for p in design.network.pipes_at.get(PortId(part.tag, n), ())), None)
    if fitting and pipe:
        k = LOSS_COEFFICIENTS[fitting]
        size, fluid = design.plant.pipe_size(pipe), fluid_in(design.plant, pipe)
        loss = attempt(lambda s, f: float(fitting_loss(k, float(velocity(flow, s.bore_m)), f)), size, fluid)
        return Known(loss.value, (*loss.assumes, f"{fitting} with K {k:g} at {part.tag}"), loss.needs) if loss else loss
    return Known(needs=(f"kv or pressure-drop of {part.tag}",))


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
