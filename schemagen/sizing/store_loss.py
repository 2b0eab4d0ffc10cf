"""Standing loss of a hot-water store: declared, by energy class, or undeclared; and how it cools."""

import math

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid


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
