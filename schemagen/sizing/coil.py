"""Heat through the coil of a hot-water store, and what its rating on a test tells of it."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import water

COIL = "exchanger with one side at the store's temperature: effectiveness 1 − exp(−NTU)"


@calculation("effectiveness of the coil", "-", COIL)
def coil_effectiveness(ua_wk: float, flow_kgs: float, specific_heat_jkgk: float) -> Figure:
    """Effectiveness [-] of a coil of a UA [W/K] at a flow [kg/s]. Raises BadInput for a UA or flow ≤ 0."""
    above_zero(UA=ua_wk, flow_kgs=flow_kgs)
    value = 1 - math.exp(-ua_wk / (flow_kgs * specific_heat_jkgk))
    return worked(
        value, "1 − exp(−{UA}/({m}·{cp}))", UA=(ua_wk, "W/K"), m=(flow_kgs, "kg/s"),
        cp=(specific_heat_jkgk, "J/(kg·K)"),
    )  # fmt: skip


@calculation("conductance of the coil", "W/K", COIL)
def coil_conductance(ua_wk: float, flow_kgs: float, specific_heat_jkgk: float) -> Figure:
    """Heat [W/K] that a coil passes per kelvin of flow temperature over store temperature."""
    effectiveness = float(coil_effectiveness(ua_wk, flow_kgs, specific_heat_jkgk))
    return worked(
        effectiveness * flow_kgs * specific_heat_jkgk, "{ε}·{m}·{cp}", ε=effectiveness, m=(flow_kgs, "kg/s"),
        cp=(specific_heat_jkgk, "J/(kg·K)"),
    )  # fmt: skip


@calculation("heat through the coil", "W", COIL, shown_in="kW")
def coil_heat(ua_wk: float, flow_kgs: float, specific_heat_jkgk: float, flow_c: float, store_c: float) -> Figure:
    """Heat [W] that a coil passes at a flow temperature and a store temperature [°C].

    Flagged below 15 K: natural convection weakens, take 0.8 of it (common practice, no source).
    """
    hotter("flow temperature", flow_c, "store temperature", store_c)
    g = float(coil_conductance(ua_wk, flow_kgs, specific_heat_jkgk))
    flags = ()
    if flow_c - store_c < 15:
        flags = ("less than 15 K over the store: the coil may pass only 0.8 of this (common practice, no source)",)
    return worked(
        g * (flow_c - store_c), "{g}·({tf} − {ts})", flags, g=(g, "W/K"), tf=(flow_c, "°C"), ts=(store_c, "°C")
    )


@calculation("flow temperature for a heat", "°C", COIL)
def flow_temperature_for_coil(
    heat_w: float, ua_wk: float, flow_kgs: float, specific_heat_jkgk: float, store_c: float
) -> Figure:
    """Flow temperature [°C] that pushes a heat [W] through a coil into a store [°C]."""
    not_negative(heat_w=heat_w)
    g = float(coil_conductance(ua_wk, flow_kgs, specific_heat_jkgk))
    return worked(store_c + heat_w / g, "{ts} + {P}/{g}", ts=(store_c, "°C"), P=(heat_w, "W"), g=(g, "W/K"))


@dataclass(frozen=True, slots=True)
class Rating:
    """A coil's mean heat [W] on a test: its flow temperature [°C], flow [m³/s], store from cold to hot [°C].

    Defaults: EN 12897 (from memory): 80 °C, 15 L/min, 10 to 60 °C.
    """

    heat_w: float
    flow_c: float = 80.0
    flow_m3s: float = 0.25e-3
    cold_c: float = 10.0
    hot_c: float = 60.0


@calculation("rated conductance of the coil", "W/K", "EN 12897 test (from memory)")
def rated_conductance(rating: Rating) -> Figure:
    """Heat per kelvin [W/K] of a coil, from its rating."""
    above_zero(rated_heat_w=rating.heat_w)
    hotter("store temperature", rating.hot_c, "cold temperature", rating.cold_c)
    hotter("flow temperature", rating.flow_c, "store temperature", rating.hot_c)
    value = rating.heat_w * math.log((rating.flow_c - rating.cold_c) / (rating.flow_c - rating.hot_c))
    return worked(
        value / (rating.hot_c - rating.cold_c), "{Q}·ln(({tf} − {t0})/({tf} − {t1}))/({t1} − {t0})",
        Q=(rating.heat_w, "W"), tf=(rating.flow_c, "°C"), t0=(rating.cold_c, "°C"), t1=(rating.hot_c, "°C"),
    )  # fmt: skip


@calculation("UA of the coil", "W/K", f"{COIL}; EN 12897 test (from memory)")
def coil_ua(rating: Rating) -> Figure:
    """UA [W/K] of a coil from its rating. Raises BadInput if the rated flow cannot carry the rated heat."""
    g = float(rated_conductance(rating))
    capacity = rating.flow_m3s * water(rating.flow_c).heat_per_volume
    if g >= capacity:
        raise BadInput("coil rating", "needs more flow than it states", "look at the rated flow and flow temperature")
    return worked(-capacity * math.log(1 - g / capacity), "−{C}·ln(1 − {g}/{C})", C=(capacity, "W/K"), g=(g, "W/K"))
