"""Radiators and underfloor heating at the temperatures that really reach them; weather compensation."""

import math

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid

EN_442 = "EN 442, rating at 75/65/20 °C; n 1.3 unless the maker says otherwise"
COMPENSATION = f"{EN_442}; load in proportion to the outdoor difference"
USUAL_N = 1.3
N_ASSUMED = {"exponent": "radiator exponent 1.3"}
LOG_MEAN_BELOW = 0.7
"""(return − room)/(flow − room) below which the logarithmic mean is taken: EN 442 threshold, from memory."""
RATED_LOG_MEAN_K = 10 / math.log(55 / 45)


def mean_excess_k(flow_c: float, return_c: float, room_c: float, logarithmic: bool = False) -> float:
    """Mean of the water over the room [K], arithmetic, or logarithmic scaled so that 75/65/20 gives 50 K.

    Raises BadInput unless flow ≥ return > room.
    """
    hotter("return temperature", return_c, "room temperature", room_c)
    if flow_c < return_c:
        problem = f"of {quantity(flow_c, '°C')} lies below the return of {quantity(return_c, '°C')}"
        raise BadInput("flow temperature", problem, "swap them")
    if not logarithmic or flow_c == return_c:
        return (flow_c + return_c) / 2 - room_c
    return (flow_c - return_c) / math.log((flow_c - room_c) / (return_c - room_c)) * 50 / RATED_LOG_MEAN_K


def needs_log_mean(flow_c: float, return_c: float, room_c: float) -> bool:
    """True where the arithmetic mean reads too high. Source: EN 442 threshold, from memory."""
    return (return_c - room_c) / (flow_c - room_c) < LOG_MEAN_BELOW


@calculation("radiator factor", "-", EN_442, assumes=N_ASSUMED)
def radiator_factor(excess_k: float, exponent: float = USUAL_N) -> Figure:
    """Output over rated output [-] at a mean excess over the room [K]. Flagged for an exponent outside 1.1…1.5."""
    not_negative(mean_excess_k=excess_k)
    return worked((excess_k / 50) ** exponent, "({Δt}/50)^{n}", _n_flags(exponent), Δt=(excess_k, "K"), n=exponent)


@calculation("radiator output", "W", EN_442, assumes=N_ASSUMED)
def radiator_output(rated_w: float, flow_c: float, return_c: float, room_c: float, exponent: float = USUAL_N) -> Figure:
    """Output [W] of a radiator rated at 50 K, at flow, return and room temperature [°C].

    The mean is logarithmic where flow and return differ much. Raises BadInput unless flow ≥ return > room.
    """
    above_zero(rated_output_w=rated_w)
    mean_excess_k(flow_c, return_c, room_c)
    log = needs_log_mean(flow_c, return_c, room_c)
    excess = mean_excess_k(flow_c, return_c, room_c, log)
    return worked(
        rated_w * (excess / 50) ** exponent, "{Q}·({Δt}/50)^{n}", _n_flags(exponent), Q=(rated_w, "W"),
        Δt=(excess, "K"), n=exponent,
    )  # fmt: skip


@calculation("rated output needed", "W", EN_442, assumes=N_ASSUMED)
def rated_output_needed(
    heat_w: float, flow_c: float, return_c: float, room_c: float, exponent: float = USUAL_N
) -> Figure:
    """Rated output [W] at 50 K of a radiator that gives a heat [W] at flow, return and room temperature [°C]."""
    not_negative(heat_w=heat_w)
    excess = mean_excess_k(flow_c, return_c, room_c)
    return worked(
        heat_w / (excess / 50) ** exponent, "{Q}/({Δt}/50)^{n}", _n_flags(exponent), Q=(heat_w, "W"), Δt=(excess, "K"),
        n=exponent,
    )  # fmt: skip


@calculation("mean water temperature needed", "°C", EN_442, assumes=N_ASSUMED)
def mean_water_needed(heat_w: float, rated_w: float, room_c: float, exponent: float = USUAL_N) -> Figure:
    """Mean water temperature [°C] at which a radiator rated at 50 K gives a heat [W] to a room [°C]."""
    not_negative(heat_w=heat_w)
    above_zero(rated_output_w=rated_w)
    value = room_c + 50 * (heat_w / rated_w) ** (1 / exponent)
    return worked(
        value, "{ta} + 50·({Q}/{Q50})^(1/{n})", _n_flags(exponent), ta=(room_c, "°C"), Q=(heat_w, "W"),
        Q50=(rated_w, "W"), n=exponent,
    )  # fmt: skip


@calculation("radiator return temperature", "°C", EN_442, assumes=N_ASSUMED)
def radiator_return(
    rated_w: float, flow_c: float, room_c: float, flow_m3s: float, fluid: Fluid, exponent: float = USUAL_N,
    logarithmic: bool = False,
) -> Figure:  # fmt: skip
    """Return temperature [°C] of a radiator rated at 50 K, at a flow temperature [°C] and a flow [m³/s]."""
    above_zero(rated_output_w=rated_w, flow_m3s=flow_m3s)
    hotter("flow temperature", flow_c, "room temperature", room_c)
    capacity = flow_m3s * fluid.heat_per_volume
    low, high = room_c, flow_c
    for _ in range(80):
        middle = 0.5 * (low + high)
        excess = mean_excess_k(flow_c, middle, room_c, logarithmic) if middle > room_c else 0.0
        gives_more = rated_w * (excess / 50) ** exponent > capacity * (flow_c - middle)
        low, high = (low, middle) if gives_more else (middle, high)
    return worked(
        high, "{tf} − Q/({q}·{ρ}·{cp}) with Q = {Q50}·(Δt/50)^{n}", _n_flags(exponent), tf=(flow_c, "°C"),
        q=(flow_m3s, "m³/s"), ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"),
        Q50=(rated_w, "W"), n=exponent,
    )  # fmt: skip


PRACTICE = "common practice, no source"
EN_1264 = "EN 1264"
USUAL_DOWNWARD = 0.10
DOWNWARD = {"downward": "a tenth of the heat goes down (common practice, no source)"}


@calculation("loop length", "m", "geometry")
def loop_length(area_m2: float, spacing_m: float, tail_m: float) -> Figure:
    """Pipe [m] of an underfloor loop: area [m²] over spacing [m] and two tails [m]. Flagged above 100 and 120 m."""
    not_negative(area_m2=area_m2, tail_m=tail_m)
    above_zero(pipe_spacing_m=spacing_m)
    value = area_m2 / spacing_m + 2 * tail_m
    flags = ()
    if value > 120:
        flags = (f"loop of {quantity(value, 'm')} is longer than 120 m ({PRACTICE})",)
    elif value > 100:
        flags = (f"loop of {quantity(value, 'm')} is longer than 100 m, much for 16 mm pipe ({PRACTICE})",)
    return worked(value, "{A}/{s} + 2·{Lt}", flags, A=(area_m2, "m²"), s=(spacing_m, "m"), Lt=(tail_m, "m"))


@calculation("loop flow", "m³/s", "heat balance", shown_in="L/min", assumes=DOWNWARD)
def loop_flow(heat_w: float, fluid: Fluid, difference_k: float = 5.0, downward: float = USUAL_DOWNWARD) -> Figure:
    """Flow [m³/s] of an underfloor loop that gives a heat [W] upwards at a difference [K]."""
    not_negative(heat_w=heat_w, downward=downward)
    above_zero(temperature_difference_k=difference_k)
    return worked(
        heat_w * (1 + downward) / (fluid.heat_per_volume * difference_k), "{P}·(1 + {r})/({ρ}·{cp}·{ΔT})", fluid.flags,
        P=(heat_w, "W"), r=downward, ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"),
        ΔT=(difference_k, "K"),
    )  # fmt: skip


@calculation("heat given off by the floor", "W/m²", EN_1264)
def floor_heat(floor_c: float, room_c: float, edge: bool = False) -> Figure:
    """Heat [W/m²] of a floor surface over the room [°C]; flagged above 9 K, at the edge of the room above 15 K."""
    excess = floor_c - room_c
    not_negative(floor_over_room_k=excess)
    most = 15 if edge else 9
    over = f"floor {quantity(excess, 'K')} over the room: the limit is {most} K ({EN_1264})"
    flags = (over,) if excess > most + 1e-9 else ()
    return worked(8.92 * excess**1.1, "8.92·({tf} − {tr})^1.1", flags, tf=(floor_c, "°C"), tr=(room_c, "°C"))


@calculation("floor surface temperature", "°C", EN_1264)
def floor_temperature(heat_wm2: float, room_c: float, edge: bool = False) -> Figure:
    """Surface temperature [°C] of a floor that gives off a heat [W/m²]; flagged as in `floor_heat`."""
    not_negative(heat_wm2=heat_wm2)
    value = room_c + (heat_wm2 / 8.92) ** (1 / 1.1)
    return worked(
        value,
        "{tr} + ({q}/8.92)^(1/1.1)",
        floor_heat(value, room_c, edge).flags,
        tr=(room_c, "°C"),
        q=(heat_wm2, "W/m²"),
    )


@calculation("weather-compensated mean water temperature", "°C", COMPENSATION, assumes=N_ASSUMED)
def compensated_mean(
    outdoor_c: float, design_outdoor_c: float, room_c: float, design_heat_w: float, rated_w: float,
    exponent: float = USUAL_N,
) -> Figure:  # fmt: skip
    """Mean water temperature [°C] that meets the load at an outdoor temperature [°C].

    Outdoors not colder than the room makes a figure that is not available: heating is off.
    """
    hotter("room temperature", room_c, "design outdoor temperature", design_outdoor_c)
    above_zero(design_heat_w=design_heat_w, rated_output_w=rated_w)
    if outdoor_c >= room_c:
        return Figure("", None, "", needs=("an outdoor temperature below the room; heating is off",))
    share = (room_c - outdoor_c) / (room_c - design_outdoor_c)
    value = room_c + 50 * (share * design_heat_w / rated_w) ** (1 / exponent)
    return worked(
        value, "{ta} + 50·({φ}·{Q}/{Q50})^(1/{n})", _n_flags(exponent), ta=(room_c, "°C"), φ=share,
        Q=(design_heat_w, "W"), Q50=(rated_w, "W"), n=exponent,
    )  # fmt: skip


def _n_flags(exponent: float) -> tuple[str, ...]:
    above_zero(radiator_exponent=exponent)
    return () if 1.1 <= exponent <= 1.5 else (f"radiator exponent {exponent:g} is outside 1.1 to 1.5",)
