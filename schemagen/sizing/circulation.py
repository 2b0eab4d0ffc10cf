"""Hot-water distribution: heat loss of pipes, circulation, dead legs."""

import math

from schemagen.base.bad_input import above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, number, worked
from schemagen.sizing.water import Fluid

AMBIENT = {"ambient_c": "surroundings at 20 °C (common practice, no source)"}


@calculation("heat loss of pipe", "W/m", "conduction through a cylinder and transfer to still air")
def pipe_heat_loss(
    outside_m: float,
    thickness_m: float,
    flow_c: float,
    ambient_c: float,
    conductivity_wmk: float = 0.035,
    transfer_wm2k: float = 10.0,
) -> Figure:
    """Loss [W/m] of a pipe of an outside diameter [m] under insulation of a thickness [m], 0 for bare pipe.

    Conductivity of the insulation [W/(m·K)], transfer at its surface [W/(m²·K)]. Flagged above 0.06 W/(m·K) and where
    thin insulation would lose more than none. Raises BadInput for a negative thickness.
    """
    above_zero(outside_diameter_m=outside_m, conductivity_wmk=conductivity_wmk, transfer_wm2k=transfer_wm2k)
    not_negative(insulation_thickness_m=thickness_m)
    hotter("flow temperature", flow_c, "ambient temperature", ambient_c)
    flags = []
    if conductivity_wmk > 0.06:
        flags.append("conductivity above 0.06 W/(m·K): poor insulation")
    if thickness_m > 0 and conductivity_wmk / transfer_wm2k > outside_m / 2:
        flags.append("pipe thinner than the critical radius: thin insulation may lose more than none")
    full = outside_m + 2 * thickness_m
    resistance = math.log(full / outside_m) / (2 * math.pi * conductivity_wmk) + 1 / (transfer_wm2k * math.pi * full)
    return worked(
        (flow_c - ambient_c) / resistance, "({tf} − {ta})/(ln({Do}/{Di})/(2·π·{λ}) + 1/({h}·π·{Do}))", tuple(flags),
        tf=(flow_c, "°C"), ta=(ambient_c, "°C"), Do=(full, "m"), Di=(outside_m, "m"), λ=(conductivity_wmk, "W/(m·K)"),
        h=(transfer_wm2k, "W/(m²·K)"),
    )  # fmt: skip


_LOSS_LIMITS = {8: 7.06, 10: 7.23, 12: 7.35, 15: 7.89, 22: 9.12, 28: 10.07, 35: 11.08, 42: 12.19, 54: 14.12}


@calculation(
    "most heat loss of hot-water pipe",
    "W/m",
    "Domestic Building Services Compliance Guide (from memory), 60 °C in 15 °C",
)
def pipe_loss_limit(outside_m: float) -> Figure:
    """Greatest loss [W/m] of an insulated pipe of an outside diameter [m]; between sizes the smaller size's value."""
    above_zero(outside_diameter_m=outside_m)
    mm = 1e3 * outside_m + 1e-6
    size = max((s for s in _LOSS_LIMITS if s <= mm), default=8)
    return worked(_LOSS_LIMITS[size], f"table, {size} mm", D=(outside_m, "m"))


@calculation("insulation thickness to meet the limit", "m", "heat loss of pipe at 60 °C in 15 °C", shown_in="mm")
def thickness_for_limit(
    outside_m: float, limit_wm: float, conductivity_wmk: float = 0.035, transfer_wm2k: float = 10.0
) -> Figure:
    """Thickness [m] at which a pipe of an outside diameter [m] at 60 °C loses a limit [W/m] at most; up to 0.2 m."""
    above_zero(outside_diameter_m=outside_m, limit_wm=limit_wm)
    low, high = 0.0, 0.2
    for _ in range(60):
        middle = 0.5 * (low + high)
        loss = float(pipe_heat_loss(outside_m, middle, 60.0, 15.0, conductivity_wmk, transfer_wm2k))
        low, high = (middle, high) if loss > limit_wm else (low, middle)
    return worked(high, "", D=(outside_m, "m"), q=(limit_wm, "W/m"), λ=(conductivity_wmk, "W/(m·K)"))


@calculation("heat loss of the circulation", "W", "sum of lengths times loss per metre")
def circulation_loss(runs: tuple[tuple[float, float], ...]) -> Figure:
    """Loss [W] of runs of pipe, each length [m] and loss [W/m]."""
    for length, loss in runs:
        not_negative(length_m=length, loss_wm=loss)
    return worked(sum(length * loss for length, loss in runs), " + ".join(f"{number(a)}·{number(b)}" for a, b in runs))


@calculation(
    "circulation flow", "m³/s", "heat balance, linear", shown_in="L/min",
    assumes={"drop_k": "a drop of 5 K round the loop (common practice, no source)"},
)  # fmt: skip
def circulation_flow(loss_w: float, fluid: Fluid, drop_k: float = 5.0) -> Figure:
    """Flow [m³/s] that makes up a heat loss [W] at a drop [K] round the loop."""
    not_negative(loss_w=loss_w)
    above_zero(temperature_drop_k=drop_k)
    return worked(
        loss_w / (fluid.heat_per_volume * drop_k), "{Q}/({ρ}·{cp}·{ΔT})", fluid.flags, Q=(loss_w, "W"),
        ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), ΔT=(drop_k, "K"),
    )  # fmt: skip


@calculation("temperature at the end of a run", "°C", "exponential cooling along the pipe", assumes=AMBIENT)
def end_temperature(
    start_c: float,
    length_m: float,
    loss_wmk: float,
    flow_kgs: float,
    specific_heat_jkgk: float,
    ambient_c: float = 20.0,
) -> Figure:
    """Temperature [°C] at the end of a run [m] that loses so many W per metre and kelvin, at a flow [kg/s].

    No flow makes a figure that is not available.
    """
    not_negative(length_m=length_m, loss_wmk=loss_wmk, flow_kgs=flow_kgs)
    if flow_kgs == 0:
        return Figure("", None, "", needs=("a flow; water at rest cools to its surroundings",))
    value = ambient_c + (start_c - ambient_c) * math.exp(-loss_wmk * length_m / (flow_kgs * specific_heat_jkgk))
    return worked(
        value, "{Ta} + ({T0} − {Ta})·exp(−{U}·{L}/({m}·{cp}))", Ta=(ambient_c, "°C"), T0=(start_c, "°C"),
        U=(loss_wmk, "W/(m·K)"), L=(length_m, "m"), m=(flow_kgs, "kg/s"), cp=(specific_heat_jkgk, "J/(kg·K)"),
    )  # fmt: skip


@calculation("circulation energy per year", "J", "definition", shown_in="kWh")
def loss_per_year(loss_w: float) -> Figure:
    """Heat [J] lost in 8760 hours at a loss [W]."""
    not_negative(loss_w=loss_w)
    return worked(8760 * 3600 * loss_w, "8760·3600·{Q}", Q=(loss_w, "W"))


LARGE_SOURCE = "DVGW W 551, as quoted"


METAL_FACTOR = {"10": 1.243, "15": 1.180, "22": 1.155, "28": 1.118}
"""Waiting time over plug flow for copper tube, from the heat the metal takes (8940 kg/m³, 385 J/(kg·K))."""
PLASTIC_FACTOR = 1.1

_DRAW_OFF_LENGTHS = ((0.012, 20.0), (0.022, 12.0), (0.028, 8.0), (math.inf, 3.0))
DRAW_OFF_SOURCE = "Water Regulations guidance, uninsulated draw-off pipes, as quoted"
MOST_DEAD_LEG_M3 = 3e-3


@calculation("dead leg", "m³", "geometry", shown_in="L")
def dead_leg(legs: tuple[tuple[float, float, float], ...]) -> Figure:
    """Water [m³] between hot pipe and tap: pieces of (length [m], bore [m], outside diameter [m]) one after the other.

    Flagged if longer than usual for its largest outside diameter, if above 3 L, and if of mixed sizes.
    """
    for length, bore, _ in legs:
        not_negative(length_m=length)
        above_zero(bore_m=bore)
    value = sum(math.pi / 4 * bore**2 * length for length, bore, _ in legs)
    length, widest = sum(length for length, _, _ in legs), max(outside for _, _, outside in legs)
    most = longest_draw_off_m(widest)
    flags = []
    if length > most:
        usual = f"the {quantity(most, 'm')} for {quantity(widest, 'mm')} pipe"
        flags.append(f"{quantity(length, 'm')} is longer than {usual} ({DRAW_OFF_SOURCE})")
    if value > MOST_DEAD_LEG_M3:
        flags.append(f"more than 3 L ({LARGE_SOURCE})")
    if len({outside for _, _, outside in legs}) > 1:
        flags.append("mixed sizes: the length is judged by the largest")
    return worked(value, " + ".join(f"π/4·{number(b)}²·{number(a)}" for a, b, _ in legs), tuple(flags))


def longest_draw_off_m(outside_m: float) -> float:
    """Longest uninsulated draw-off pipe [m] of an outside diameter [m]. Source: DRAW_OFF_SOURCE."""
    return next(length for size, length in _DRAW_OFF_LENGTHS if outside_m <= size + 1e-9)


@calculation("wait for hot water", "s", "plug flow times the heat that the pipe takes")
def wait(leg_m3: float, flow_m3s: float, metal_factor: float = 1.0) -> Figure:
    """Time [s] until hot water arrives through a dead leg [m³] at a flow [m³/s].

    `metal_factor` from METAL_FACTOR or PLASTIC_FACTOR. No flow makes a figure that is not available. Flagged above
    30 s (Water Regulations guide G18.4) and 1 min (HSE).
    """
    not_negative(leg_m3=leg_m3)
    if flow_m3s <= 0:
        return Figure("", None, "", needs=("the flow at the tap",))
    value = leg_m3 / flow_m3s * metal_factor
    flags = ()
    if value > 60:
        flags = (f"{quantity(value, 's')}: more than 1 min (HSE)",)
    elif value > 30:
        flags = (f"{quantity(value, 's')}: more than 30 s (Water Regulations guide G18.4, where practicable)",)
    return worked(value, "{V}/{q}·{F}", flags, V=(leg_m3, "m³"), q=(flow_m3s, "m³/s"), F=metal_factor)
