"""Hot-water stores: reheat, coil, usable hot water, standing loss."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid, water

COIL = "exchanger with one side at the store's temperature: effectiveness 1 − exp(−NTU)"


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


@calculation(
    "usable hot water, ideal", "m³", "heat balance; EU Regulation 814/2013 (wording from memory)", shown_in="L"
)
def mixed_volume(volume_m3: float, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Mixed water [m³] from a full store [m³] if none of its water mixes with the cold that follows.

    A store not above the mixed temperature gives none, and is flagged. Raises BadInput unless mixed lies above cold.
    """
    above_zero(volume_m3=volume_m3)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    terms = {"V": (volume_m3, "m³"), "Ts": (store_c, "°C"), "Tc": (cold_c, "°C"), "Tm": (mixed_c, "°C")}
    if store_c <= mixed_c:
        return worked(0.0, "", _too_cool(store_c, mixed_c), **terms)
    return worked(volume_m3 * (store_c - cold_c) / (mixed_c - cold_c), "{V}·({Ts} − {Tc})/({Tm} − {Tc})", **terms)


def _too_cool(store_c: float, mixed_c: float) -> tuple[str, ...]:
    return (f"the store at {quantity(store_c, '°C')} gives no water at {quantity(mixed_c, '°C')}",)


@calculation("needed store", "m³", "heat balance", shown_in="L")
def store_for_mixed(mixed_m3: float, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Store [m³] whose ideal yield is a volume [m³] of mixed water."""
    not_negative(mixed_m3=mixed_m3)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    hotter("store temperature", store_c, "mixed temperature", mixed_c)
    return worked(
        mixed_m3 * (mixed_c - cold_c) / (store_c - cold_c), "{V}·({Tm} − {Tc})/({Ts} − {Tc})",
        V=(mixed_m3, "m³"), Tm=(mixed_c, "°C"), Tc=(cold_c, "°C"), Ts=(store_c, "°C"),
    )  # fmt: skip


@calculation("time of drawing", "s", "mixed volume over flow", shown_in="min")
def drawing_time(mixed_m3: float, flow_m3s: float) -> Figure:
    """How long [s] a volume [m³] of mixed water lasts at a flow [m³/s]."""
    not_negative(mixed_m3=mixed_m3)
    above_zero(flow_m3s=flow_m3s)
    return worked(mixed_m3 / flow_m3s, "{V}/{q}", V=(mixed_m3, "m³"), q=(flow_m3s, "m³/s"))


LAYERS = {"tall with diffuser": 20, "plain": 10, "horizontal": 1}
"""Equal mixed layers that stand for a store's stratification: common practice, no source."""


@calculation("temperature drawn from the store", "°C", "equal mixed layers in series")
def drawn_temperature(layers: int, drawn: float, store_c: float, cold_c: float) -> Figure:
    """Outlet temperature [°C] after `drawn` store volumes [-] have been drawn from `layers` mixed layers.

    Raises BadInput for less than one layer.
    """
    _check_layers(layers)
    not_negative(drawn_volumes=drawn)
    share = _tail(layers, layers * drawn)
    return worked(
        cold_c + (store_c - cold_c) * share, "{Tc} + ({Th} − {Tc})·{Q}", Tc=(cold_c, "°C"), Th=(store_c, "°C"), Q=share
    )


@calculation("usable hot water over store volume", "-", "equal mixed layers in series")
def usable_share(layers: int, store_c: float, cold_c: float, mixed_c: float = 40.0) -> Figure:
    """Mixed water [-] per store volume, drawn until the outlet falls to the mixed temperature [°C].

    A store not above the mixed temperature gives none. Raises BadInput for less than one layer.
    """
    _check_layers(layers)
    hotter("mixed temperature", mixed_c, "cold temperature", cold_c)
    if mixed_c >= store_c:
        return worked(0.0, "", _too_cool(store_c, mixed_c))
    wanted = (mixed_c - cold_c) / (store_c - cold_c)
    low, high = 0.0, 10.0
    for _ in range(80):
        middle = 0.5 * (low + high)
        low, high = (middle, high) if _tail(layers, layers * middle) > wanted else (low, middle)
    heat = sum(1 - _tail(k + 1, layers * low) for k in range(layers)) / layers
    return worked(
        heat / wanted, "∫(T − {Tc})/({Tm} − {Tc}) over {θ} store volumes", Tc=(cold_c, "°C"), Tm=(mixed_c, "°C"), θ=low
    )


def _check_layers(layers: int) -> None:
    if layers < 1 or layers != int(layers):
        raise BadInput("layers", f"must be a whole number of 1 or more, not {layers:g}")


def _tail(n: int, x: float) -> float:
    """Regularised upper incomplete gamma function Q(n, x) for a whole n: exp(−x)·Σ x^k/k!."""
    term = total = 1.0
    for k in range(1, int(n)):
        term *= x / k
        total += term
    return math.exp(-x) * total


@calculation("loss coefficient of the store", "W/K", "EN 12897 test: 65 °C in 20 °C (from memory)")
def standing_ua(standing_w: float) -> Figure:
    """UA [W/K] of a store from its declared standing loss [W]."""
    not_negative(standing_loss_w=standing_w)
    return worked(standing_w / 45, "{S}/45", S=(standing_w, "W"))


@calculation("standing loss", "W", "EN 12897 test: 65 °C in 20 °C (from memory)")
def standing_loss(standing_w: float, store_c: float, ambient_c: float) -> Figure:
    """Loss [W] at a store and an ambient temperature [°C], from the declared standing loss [W]."""
    ua = float(standing_ua(standing_w))
    hotter("store temperature", store_c, "ambient temperature", ambient_c)
    return worked(
        ua * (store_c - ambient_c), "{UA}·({T} − {Ta})", UA=(ua, "W/K"), T=(store_c, "°C"), Ta=(ambient_c, "°C")
    )


@calculation("loss per day", "J", "definition", shown_in="kWh")
def loss_per_day(loss_w: float) -> Figure:
    """Heat [J] lost in 24 hours at a loss [W]."""
    not_negative(loss_w=loss_w)
    return worked(86400 * loss_w, "86400·{W}", W=(loss_w, "W"))


@calculation("temperature after standing", "°C", "exponential cooling")
def cooled(store_c: float, ambient_c: float, ua_wk: float, volume_m3: float, fluid: Fluid, time_s: float) -> Figure:
    """Store temperature [°C] after a time [s] without heat, from its UA [W/K] and volume [m³]."""
    above_zero(volume_m3=volume_m3)
    not_negative(UA=ua_wk, time_s=time_s)
    heat = fluid.heat_per_volume * volume_m3
    return worked(
        ambient_c + (store_c - ambient_c) * math.exp(-ua_wk * time_s / heat), "{Ta} + ({T0} − {Ta})·exp(−{UA}·{t}/{C})",
        Ta=(ambient_c, "°C"), T0=(store_c, "°C"), UA=(ua_wk, "W/K"), t=(time_s, "s"), C=(heat, "J/K"),
    )  # fmt: skip


_CLASSES = (("A+", 5.5, 3.16), ("A", 8.5, 4.25), ("B", 12.0, 5.93), ("C", 16.66, 8.33))


@calculation("standing loss limit of a class", "W", "EU Regulation 812/2013")
def class_limit(label: str, volume_m3: float) -> Figure:
    """Greatest standing loss [W] of an energy class "A+", "A", "B" or "C" for a store [m³]; flagged above 2000 L."""
    above_zero(volume_m3=volume_m3)
    for name, fixed, factor in _CLASSES:
        if name == label:
            flags = ("above 2000 L: outside the regulation",) if volume_m3 > 2.0 else ()
            return worked(
                fixed + factor * (1e3 * volume_m3) ** 0.4, "{a} + {b}·(1000·{V})^0.4", flags, a=fixed, b=factor,
                V=(volume_m3, "m³"),
            )  # fmt: skip
    raise BadInput("energy class", f"{label!r} is not known", f"write {' or '.join(name for name, _, _ in _CLASSES)}")


def energy_class(standing_w: float, volume_m3: float) -> str:
    """The best of A+, A, B, C whose limit a standing loss [W] keeps for a store [m³]; "" if none."""
    for name, _, _ in _CLASSES:
        if standing_w <= float(class_limit(name, volume_m3)):
            return name
    return ""


@calculation("standing loss per day, undeclared", "J", "SAP 10.2, Table 2 and 2a, as quoted", shown_in="kWh")
def undeclared_loss(volume_m3: float, insulation_m: float, temperature_factor: float = 1.0) -> Figure:
    """Heat [J] lost in a day by a store [m³] of unknown loss with an insulation [m]; factor 0.6 with thermostat."""
    above_zero(volume_m3=volume_m3)
    not_negative(insulation_m=insulation_m, temperature_factor=temperature_factor)
    litres, mm = 1e3 * volume_m3, 1e3 * insulation_m
    value = litres * (0.005 + 0.55 / (mm + 4)) * (120 / litres) ** (1 / 3) * temperature_factor
    return worked(
        3.6e6 * value, "3600000·{V}·(0.005 + 0.55/({t} + 4))·(120/{V})^(1/3)·{F}", V=(litres, "L"), t=(mm, "mm"),
        F=temperature_factor,
    )  # fmt: skip
