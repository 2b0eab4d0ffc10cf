"""What a hydraulic network is made of: links between named nodes, each with its element. All in SI."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.operation.pump_curves import PumpSetting


@dataclass(frozen=True, slots=True)
class Tube:
    """Straight pipe of round bore with local losses `loss_coefficient` [-] at the velocity in that bore."""

    length_m: float
    bore_m: float
    roughness_m: float
    density_kgm3: float
    viscosity_pas: float
    loss_coefficient: float = 0.0


@dataclass(frozen=True, slots=True)
class Resistance:
    """Loss [Pa] = `factor`·flow·|flow|, factor in [Pa/(m³/s)²]."""

    factor: float


@dataclass(frozen=True, slots=True)
class Pump:
    """A running pump from `start` to `end`; a pump at rest is a closed link."""

    setting: PumpSetting


Element = Tube | Resistance | Pump


@dataclass(frozen=True, slots=True)
class Link:
    """One way for water from node `start` to node `end`.

    `one_way` passes nothing from end to start (check valve). `opening_pa` > 0 passes nothing until the pressure
    difference exceeds it (bypass valve), one way. `limit_m3s` is the most that a flow limiter lets through.
    """

    name: str
    start: str
    end: str
    element: Element
    closed: bool = False
    one_way: bool = False
    opening_pa: float = 0.0
    limit_m3s: float = math.inf


def resistance_from_kv(kv_m3h: float, density_kgm3: float = 1000.0) -> Resistance:
    """A valve's resistance from its Kv [m³/h at 1 bar, water of 1000 kg/m³]. Raises BadInput for a Kv ≤ 0.

    Source: definition of the flow coefficient Kv, as in valve makers' tables.
    """
    above_zero(Kv=kv_m3h)
    return Resistance(1e5 * density_kgm3 / 1000 * (3600 / kv_m3h) ** 2)


def resistance_from_point(loss_pa: float, flow_m3s: float) -> Resistance:
    """A part's resistance from a maker's figure "this loss at this flow". Raises BadInput for a figure ≤ 0."""
    above_zero(loss_pa=loss_pa, flow_m3s=flow_m3s)
    return Resistance(loss_pa / flow_m3s**2)


def check(link: Link) -> None:
    """Raises BadInput for a link whose data no solve can use."""
    if link.start == link.end:
        raise BadInput("link", f"joins {link.start} to itself", "give it two different ends")
    not_negative(opening_pa=link.opening_pa)
    above_zero(limit_m3s=min(link.limit_m3s, 1.0))
    match link.element:
        case Tube() as tube:
            not_negative(length_m=tube.length_m, roughness_m=tube.roughness_m, loss_coefficient=tube.loss_coefficient)
            above_zero(bore_m=tube.bore_m, density_kgm3=tube.density_kgm3, viscosity_pas=tube.viscosity_pas)
            if tube.length_m == 0 and tube.loss_coefficient == 0:
                raise BadInput("length", "and loss coefficient are both zero", "give the pipe a length")
            if tube.roughness_m > 0.05 * tube.bore_m:
                raise BadInput("roughness", "is more than a twentieth of the bore", "give both in the same unit")
        case Resistance(factor):
            above_zero(resistance=factor)
