"""Reheat of a hot-water store: by a constant power, and by a coil up to the flow limit of its source."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.coil import COIL
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid


@calculation("reheat time, constant power", "s", "heat balance; BS 6700 Annex C has the same form", shown_in="min")
def reheat_by_power(
    volume_m3: float, cold_c: float, hot_c: float, power_w: float, fluid: Fluid, loss_w: float = 0.0
) -> Figure:
    """Time [s] to warm a store [m³] from cold to hot [°C] with a power [W] less its loss [W].

    `fluid` at the mean of cold and hot. Raises BadInput if the power does not exceed the loss.
    """
    above_zero(volume_m3=volume_m3, power_w=power_w)
    not_negative(loss_w=loss_w)
    hotter("store temperature", hot_c, "cold temperature", cold_c)
    if power_w <= loss_w:
        problem = f"of {quantity(power_w, 'W')} does not exceed the loss of {quantity(loss_w, 'W')}"
        raise BadInput("power", problem, "give more power")
    value = fluid.heat_per_volume * volume_m3 * (hot_c - cold_c) / (power_w - loss_w)
    return worked(
        value, "{ρ}·{cp}·{V}·({th} − {tc})/({P} − {Pl})", ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), V=(volume_m3, "m³"), th=(hot_c, "°C"), tc=(cold_c, "°C"),
        P=(power_w, "W"), Pl=(loss_w, "W"),
    )  # fmt: skip


@calculation("reheat time, tabled factor", "s", "BS 6700 Annex C: minutes = litres·K/(14.3·kW)", shown_in="min")
def reheat_by_tabled_factor(volume_m3: float, cold_c: float, hot_c: float, power_w: float) -> Figure:
    """The same [s] by the standard's rounded factor."""
    above_zero(volume_m3=volume_m3, power_w=power_w)
    hotter("store temperature", hot_c, "cold temperature", cold_c)
    minutes = 1e3 * volume_m3 * (hot_c - cold_c) / (14.3 * power_w / 1e3)
    return worked(
        60 * minutes, "60·1000·{V}·({th} − {tc})/(14.3·{P}/1000)", V=(volume_m3, "m³"), th=(hot_c, "°C"),
        tc=(cold_c, "°C"), P=(power_w, "W"),
    )  # fmt: skip


@calculation("power for a reheat time", "W", "heat balance", shown_in="kW")
def power_for_reheat(volume_m3: float, cold_c: float, hot_c: float, time_s: float, fluid: Fluid) -> Figure:
    """Power [W] that warms a store [m³] from cold to hot [°C] in a time [s], without loss."""
    above_zero(volume_m3=volume_m3, time_s=time_s)
    hotter("store temperature", hot_c, "cold temperature", cold_c)
    value = fluid.heat_per_volume * volume_m3 * (hot_c - cold_c) / time_s
    return worked(
        value, "{ρ}·{cp}·{V}·({th} − {tc})/{t}", ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), V=(volume_m3, "m³"), th=(hot_c, "°C"), tc=(cold_c, "°C"),
        t=(time_s, "s"),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Reheat:
    """A reheat by coil: store temperature [°C] up to which the source gives its power, and times [s]."""

    switch: Figure
    at_power: Figure
    at_limit: Figure
    total: Figure


def reheat_by_coil(
    volume_m3: float,
    cold_c: float,
    hot_c: float,
    power_w: float,
    limit_c: float,
    conductance_wk: float | None,
    fluid: Fluid,
) -> Reheat:
    """Reheat of a store [m³] from cold to hot [°C] by a source of a power [W] and a highest flow temperature [°C].

    `conductance_wk` is the coil's (`coil_conductance`), `fluid` the store's water. Raises BadInput if the hot
    temperature is not below the limit. Source: heat balance with the coil as above.
    """
    given = (volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid)
    return Reheat(_switch(*given), _at_power(*given), _at_limit(*given), _reheat_total(*given))


def _phases(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid) -> tuple[float, float, float]:
    above_zero(volume_m3=volume_m3, power_w=power_w, conductance_wk=conductance_wk)
    hotter("store temperature", hot_c, "cold temperature", cold_c)
    if hot_c >= limit_c:
        problem = f"of {quantity(hot_c, '°C')} is never reached with a flow of {quantity(limit_c, '°C')} at most"
        raise BadInput("store temperature", problem, "lower it, or finish with an immersion heater")
    heat = fluid.heat_per_volume * volume_m3
    switch = limit_c - power_w / conductance_wk
    knee = min(max(switch, cold_c), hot_c)
    first = (knee - cold_c) * heat / power_w
    second = heat / conductance_wk * math.log((limit_c - knee) / (limit_c - hot_c))
    return switch, first, second


@calculation("store temperature at which the flow limit is reached", "°C", COIL)
def _switch(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid) -> Figure:
    value, _, _ = _phases(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid)
    return worked(value, "{Tf} − {P}/{g}", Tf=(limit_c, "°C"), P=(power_w, "W"), g=(conductance_wk, "W/K"))


@calculation("time at full power", "s", COIL, shown_in="min")
def _at_power(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid) -> Figure:
    switch, value, _ = _phases(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid)
    knee = min(max(switch, cold_c), hot_c)
    return worked(
        value, "({Tk} − {Tc})·{ρ}·{cp}·{V}/{P}", Tk=(knee, "°C"), Tc=(cold_c, "°C"), ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), V=(volume_m3, "m³"), P=(power_w, "W"),
    )  # fmt: skip


@calculation("time at the flow limit", "s", COIL, shown_in="min")
def _at_limit(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid) -> Figure:
    switch, _, value = _phases(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid)
    knee = min(max(switch, cold_c), hot_c)
    return worked(
        value, "{ρ}·{cp}·{V}/{g}·ln(({Tf} − {Tk})/({Tf} − {Ts}))", ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), V=(volume_m3, "m³"), g=(conductance_wk, "W/K"), Tf=(limit_c, "°C"),
        Tk=(knee, "°C"), Ts=(hot_c, "°C"),
    )  # fmt: skip


@calculation("reheat time by coil", "s", COIL, shown_in="min")
def _reheat_total(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid) -> Figure:
    _, first, second = _phases(volume_m3, cold_c, hot_c, power_w, limit_c, conductance_wk, fluid)
    return worked(first + second, "{t1} + {t2}", t1=(first, "s"), t2=(second, "s"))
