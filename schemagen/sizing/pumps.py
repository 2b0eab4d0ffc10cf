"""Pumps: duty on the index circuit, operating point, speed; and resistances put together."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.operation.pump_curves import QuadraticCurve, TableCurve
from schemagen.sizing.figure import Figure, calculation, number, worked
from schemagen.sizing.water import GRAVITY_MS2


@dataclass(frozen=True, slots=True)
class Path:
    """One closed way from the pump through a load back to it: its losses [Pa] at design flow, in order, with names.

    `closed` if a valve on it is shut in this state; `pumps` on it, this one included.
    """

    name: str
    losses_pa: tuple[tuple[str, float], ...]
    closed: bool = False
    pumps: int = 1

    @property
    def loss_pa(self) -> float:
        return sum(loss for _, loss in self.losses_pa)


def index_path(paths: tuple[Path, ...]) -> Path:
    """The open path with the greatest loss, the first of equals. Raises BadInput if there is none."""
    open_paths = [path for path in paths if not path.closed]
    if not open_paths:
        raise BadInput("pump", "feeds nothing: every way from it back to it is closed", "open one, or stop the pump")
    return max(open_paths, key=lambda path: path.loss_pa)


@calculation("pump duty, pressure", "Pa", "greatest loss of the ways round; static height cancels", shown_in="kPa")
def pump_duty(paths: tuple[Path, ...], margin: float = 0.0) -> Figure:
    """Pressure [Pa] the pump must give at design flows, with a margin [-] on the losses.

    Raises BadInput if every path is closed. Flagged where two pumps share the index path.
    """
    not_negative(margin=margin)
    index = index_path(paths)
    flags = ()
    if index.pumps > 1:
        flags = (f"{index.pumps} pumps in series on {index.name}: they share this pressure",)
    total = " + ".join(f"{number(loss, 5)} ({name})" for name, loss in index.losses_pa)
    formula = total if not margin else f"({total})·(1 + {margin:g})"
    return worked(index.loss_pa * (1 + margin), formula, flags, (f"index circuit: {index.name}",))


@calculation("head", "m", "definition")
def head(pressure_pa: float, density_kgm3: float) -> Figure:
    """Head [m] of a pressure [Pa]."""
    above_zero(density_kgm3=density_kgm3)
    return worked(
        pressure_pa / (density_kgm3 * GRAVITY_MS2), "{Δp}/({ρ}·{g})",
        Δp=(pressure_pa, "Pa"), ρ=(density_kgm3, "kg/m³"), g=(GRAVITY_MS2, "m/s²"),
    )  # fmt: skip


@calculation("pressure of a head", "Pa", "definition", shown_in="kPa")
def pressure_of_head(head_m: float, density_kgm3: float) -> Figure:
    """Pressure [Pa] of a head [m]."""
    above_zero(density_kgm3=density_kgm3)
    return worked(
        head_m * density_kgm3 * GRAVITY_MS2, "{H}·{ρ}·{g}",
        H=(head_m, "m"), ρ=(density_kgm3, "kg/m³"), g=(GRAVITY_MS2, "m/s²"),
    )  # fmt: skip


@calculation("hydraulic power", "W", "definition")
def hydraulic_power(pressure_pa: float, flow_m3s: float) -> Figure:
    """Power [W] that the water takes from the pump."""
    not_negative(pressure_pa=pressure_pa, flow_m3s=flow_m3s)
    return worked(pressure_pa * flow_m3s, "{Δp}·{q}", Δp=(pressure_pa, "Pa"), q=(flow_m3s, "m³/s"))


@calculation("operating flow", "m³/s", "where pump curve and system curve meet", shown_in="L/min")
def operating_flow(curve: QuadraticCurve | TableCurve, system: float) -> Figure:
    """Flow [m³/s] at which a pump's curve meets a system that loses `system`·flow² [Pa/(m³/s)²].

    Of several crossings the one with the greatest flow. Flagged for a curve that does not fall throughout, and for a
    flow beyond the curve's last point.
    """
    above_zero(system_resistance=system)
    if isinstance(curve, QuadraticCurve):
        value = math.sqrt(curve.rise(0.0)[0] / (curve.fall + system))
        return worked(
            value, "√({A}/({B} + {C}))", A=(curve.rise(0.0)[0], "Pa"), B=(curve.fall, "Pa/(m³/s)²"),
            C=(system, "Pa/(m³/s)²"),
        )  # fmt: skip
    flags = () if curve.falls_throughout else ("the pump curve does not fall throughout: look at its points",)
    last = curve.last_flow_m3s

    def excess(flow: float) -> float:
        return curve.rise(flow)[0] - system * flow**2

    if excess(last) > 0:
        return worked(last, "", (*flags, "the system takes more than the curve shows: off the end of the curve"))
    steps = [last * i / 200 for i in range(201)]
    if excess(steps[0]) <= 0:
        raise BadInput("pump curve", "gives no pressure at no flow", "look at its points")
    low = max(flow for flow in steps if excess(flow) > 0)
    high = low + last / 200
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if excess(middle) > 0 else (low, middle)
    return worked(low, "", flags, C=(system, "Pa/(m³/s)²"))


@calculation("pump speed for a duty", "-", "affinity laws on a quadratic curve", shown_in="%")
def speed_for_duty(curve: QuadraticCurve, flow_m3s: float, pressure_pa: float, must_meet: bool = True) -> Figure:
    """Speed over full speed [-] at which a quadratic curve passes through a duty (flow [m³/s], pressure [Pa]).

    A duty above the curve raises BadInput, or is flagged if it need not be met.
    """
    not_negative(flow_m3s=flow_m3s, pressure_pa=pressure_pa)
    value = math.sqrt((pressure_pa + curve.fall * flow_m3s**2) / curve.shutoff_pa)
    flags = ()
    if value > 1:
        if must_meet:
            raise BadInput("pump", "cannot meet the duty at full speed", "choose a larger pump or less resistance")
        flags = ("the duty lies above the pump's curve",)
    return worked(
        value, "√(({Δp} + {B}·{q}²)/{A})", flags, Δp=(pressure_pa, "Pa"), B=(curve.fall, "Pa/(m³/s)²"),
        q=(flow_m3s, "m³/s"), A=(curve.shutoff_pa, "Pa"),
    )  # fmt: skip


def resistance_in_series(resistances: tuple[float, ...]) -> float:
    """Resistances C of Δp = C·q² one after the other: their sum, in the unit given."""
    above_zero(resistance=min(resistances))
    return sum(resistances)


def resistance_in_parallel(resistances: tuple[float, ...]) -> float:
    """Resistances C of Δp = C·q² side by side: 1/√C adds, in the unit given."""
    above_zero(resistance=min(resistances))
    return sum(c**-0.5 for c in resistances) ** -2
