"""What pipes, parts and pumps do to water in numbers: the elements of the network solve, from the data of a list."""

import math
from dataclasses import replace

from schemagen.base.bad_input import BadInput
from schemagen.base.units import UnitError, parse
from schemagen.network.network import Part, Pipe, PortId
from schemagen.operation.circuit import is_joint
from schemagen.operation.links import Element, Resistance, Tube, resistance_from_kv, resistance_from_point
from schemagen.operation.pump_curves import ConstantPressure, Duty, ProportionalPressure, PumpSetting, TableCurve
from schemagen.sizing.fittings import LOSS_COEFFICIENTS
from schemagen.sizing.known import Known, attempt, listed
from schemagen.sizing.pipes import find_pipe
from schemagen.sizing.plant import HEATED, Plant
from schemagen.sizing.water import Fluid, water

_FITTINGS = {"isolating-valve": "full-bore valve", "check-valve": "check valve", "double-check-valve": "check valve"}
_HOT_C = 60.0
_BODY = Resistance(1e7)
"""The open body of a separator: 1 Pa at 20 L/min, next to nothing. Common practice, no source."""


def fluid_in(plant: Plant, pipe: Pipe) -> Known:
    """The liquid in a pipe at the temperature at which it is reckoned."""
    medium = plant.waters.medium[pipe.index]
    if medium in HEATED:
        return plant.fluid(plant.waters.body[pipe.index])
    if medium in ("hot", "tempered"):
        return Known(water(_HOT_C), (f"hot water at {_HOT_C:g} °C",))
    return attempt(water, plant.cold_c)


def pipe_element(plant: Plant, pipe: Pipe, moves: int) -> Known:
    """A pipe as a Tube, with its bends and the tees at its ends; `moves` +1 if water goes as listed, -1 if back."""
    bends = int(pipe.values.get("bends") or 0)
    last = pipe.end if moves >= 0 else pipe.start
    k = bends * LOSS_COEFFICIENTS["elbow"] + sum(_tee_k(plant, end, end == last) for end in (pipe.start, pipe.end))
    return attempt(
        lambda length, size, fluid: _tube(length, size, fluid, k),
        plant.length(pipe), plant.pipe_size(pipe), fluid_in(plant, pipe),
    )  # fmt: skip


def _tube(length_m: float, size, fluid: Fluid, k: float) -> Tube:
    return Tube(length_m, size.bore_m, size.roughness_m, fluid.density_kgm3, fluid.viscosity_pas, k)


def _tee_k(plant: Plant, end: PortId, enters: bool) -> float:
    """K [-] of a tee at a pipe's end: its branch, or the run where water enters the tee."""
    if not is_joint(plant.network.parts[end.tag].kind):
        return 0.0
    if end.port == "branch":
        return LOSS_COEFFICIENTS["tee branch"]
    return LOSS_COEFFICIENTS["tee run"] if enters else 0.0


def part_element(plant: Plant, part: Part, a: str, b: str) -> Known:
    """The way inside a part from `a` to `b` as a Resistance or a Tube: by Kv, a maker's point, or as a fitting."""
    names = (a, b, *part.kind.ports)
    pipe = next((p for n in names for p in plant.network.pipes_at.get(PortId(part.tag, n), ())), None)
    fluid = fluid_in(plant, pipe) if pipe else Known(needs=(f"a pipe at {part.tag}",))
    kv = part.value("kv") or part.value("coil-kv")
    if kv is not None:
        return attempt(lambda k, f: resistance_from_kv(k, f.density_kgm3), kv, fluid)
    drop = part.value("pressure-drop")
    if drop is not None:
        return attempt(resistance_from_point, drop, listed(part, "pressure-drop-at"))
    if part.kind.name == "underfloor-loop":
        size = loop_pipe(part)
        return attempt(lambda length, s, f: _tube(length, s, f, 0.0), loop_length_of(part), size, fluid)
    if part.kind.separates and {a, b}.isdisjoint(part.kind.takes):
        return Known(_BODY, (f"the body of {part.tag} loses no pressure",))
    fitting = _FITTINGS.get(part.kind.name)
    if fitting and pipe:
        k = LOSS_COEFFICIENTS[fitting]
        tube = attempt(lambda s, f: _tube(0.0, s, f, k), plant.pipe_size(pipe), fluid)
        return Known(tube.value, (*tube.assumes, f"{fitting} with K {k:g} at {part.tag}"), tube.needs) if tube else tube
    return Known(needs=(f"kv or pressure-drop of {part.tag}",))


def loop_pipe(part: Part) -> Known:
    """The pipe of an underfloor loop as listed, "16x2" or "16x2 multilayer"; 16×2.0 of PE-X where nothing is said."""
    text = part.value("pipe")
    if not text:
        return Known(find_pipe("16×2.0", "pe-x"), (f"{part.tag} is laid in 16×2.0 PE-X (common practice, no source)",))
    size, _, material = str(text).partition(" ")
    return attempt(find_pipe, size, material.strip() or "pe-x")


def loop_length_of(part: Part) -> Known:
    """Length [m] of an underfloor loop: its own, or its area over its spacing."""
    own = listed(part, "length")
    return own if own else attempt(lambda area, spacing: area / spacing, listed(part, "area"), listed(part, "spacing"))


def loss_at(element: Known, flow_m3s: float) -> Known:
    """Loss [Pa] of an element at a flow."""
    return attempt(lambda e: element_loss(e, flow_m3s), element)


def element_loss(element: Element, flow_m3s: float) -> float:
    """Loss [Pa] of a Tube or Resistance at a flow [m³/s], never negative."""
    if isinstance(element, Resistance):
        return element.factor * flow_m3s**2
    from schemagen.operation.friction import friction_factor

    speed = abs(flow_m3s) / (math.pi / 4 * element.bore_m**2)
    reynolds = element.density_kgm3 * speed * element.bore_m / element.viscosity_pas
    factor = float(friction_factor(reynolds, element.roughness_m / element.bore_m))
    lengths = factor * element.length_m / element.bore_m + element.loss_coefficient
    return lengths * element.density_kgm3 * speed**2 / 2


# pumps


def pump_curve(pump: Part) -> Known:
    """A pump's curve at full speed from the pairs of the list; falsy, without needs, if it has none."""
    pairs = pump.value("curve") or pump.value("pump-curve")
    if not pairs:
        return Known()
    try:
        points = sorted((parse(q, "flow", "L/min"), parse(p, "pressure", "kPa")) for q, p in pairs.items())
        return Known(TableCurve(*(tuple(values) for values in zip(*points, strict=True))))
    except (UnitError, BadInput) as bad:
        return Known(needs=(f"curve of {pump.tag}: {bad}",))


def pump_setting(pump: Part) -> Known:
    """What a running pump gives, as it is governed: by its curve and speed, at constant or proportional pressure, or
    at a fixed flow; a pump inside a source by its curve."""
    curve = pump_curve(pump)
    if curve.needs:
        return curve
    mode = str(pump.value("mode") or "fixed-speed")
    if mode == "fixed-flow":
        return attempt(Duty, listed(pump, "flow"))
    if mode == "constant-pressure":
        return attempt(lambda rise: ConstantPressure(rise, curve.value), listed(pump, "head"))
    if mode == "proportional-pressure":
        head, flow = listed(pump, "head"), listed(pump, "flow")
        return attempt(lambda rise, q: ProportionalPressure(rise, q, curve.value), head, flow)
    if not curve:
        key = "curve" if "curve" in pump.kind.attributes else "pump-curve"
        return Known(needs=(f"{key} of {pump.tag}",))
    speed = pump.value("speed")
    full = (f"{pump.tag} runs at full speed",) if speed is None else ()
    return Known(replace(curve.value, speed=1.0 if speed is None else speed), full)


def rise_at(setting: PumpSetting, flow_m3s: float) -> float:
    """Pressure [Pa] that a running pump adds at a flow. Raises BadInput for a pump that holds its flow."""
    if isinstance(setting, Duty):
        raise BadInput("pump", "holds its flow at any pressure", "no bypass on pressure is needed")
    pump = setting.held_at(flow_m3s) if isinstance(setting, ProportionalPressure) else setting
    return pump.rise(flow_m3s)[0]


def some(needs: tuple[str, ...]) -> tuple[str, ...]:
    """The first few things that are needed, and how many more."""
    return needs if len(needs) <= 5 else (*needs[:5], f"{len(needs) - 5} more of the kind")
