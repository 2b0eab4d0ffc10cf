"""Relief valves and discharge pipes. Size only: local codes and licensed practice decide."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import evaporation_heat_j_per_kg, steam_volume_m3_per_kg, water, water_expansion_per_k

ATMOSPHERE_PA = 1.01325e5


@calculation("steam to be relieved", "kg/s", "heat of evaporation at the relief pressure, IAPWS-95", shown_in="kg/h")
def relief_steam(heat_w: float, relief_pa: float) -> Figure:
    """Steam [kg/s] that a relief valve set to `relief_pa` [Pa gauge] must pass for a heat input [W].

    The heat input is the sum of all sources and heaters on that side of any isolating valve.
    """
    not_negative(heat_w=heat_w)
    evaporation = evaporation_heat_j_per_kg(relief_pa + ATMOSPHERE_PA)
    return worked(heat_w / evaporation, "{Q}/{h}", Q=(heat_w, "W"), h=(evaporation, "J/kg"))


@calculation("heat per effective seat area", "W/m²", "ISO 4126-1, critical flow of saturated steam")
def relief_heat_per_area(absolute_pa: float) -> Figure:
    """Heat [W/m²] that saturated steam carries off through one square metre of α·A0 at an absolute pressure [Pa]."""
    k = 1.135
    c = 3.948 * math.sqrt(k * (2 / (k + 1)) ** ((k + 1) / (k - 1)))
    volume, evaporation = steam_volume_m3_per_kg(absolute_pa), evaporation_heat_j_per_kg(absolute_pa)
    per_mm2_kgs = 0.2883 * c * math.sqrt(absolute_pa / 1e5 / volume) / 3600
    return worked(
        per_mm2_kgs * evaporation * 1e6, "0.2883·{C}·√({P}/100000/{v})/3600·{h}·1000000", C=c,
        P=(absolute_pa, "Pa abs"), v=(volume, "m³/kg"), h=(evaporation, "J/kg"),
    )  # fmt: skip


@calculation("effective seat area of the relief valve", "m²", "ISO 4126-1, critical flow of saturated steam", "mm²")
def relief_area(heat_w: float, absolute_pa: float) -> Figure:
    """Least α·A0 [m²] of a relief valve for a heat input [W] at an absolute pressure [Pa]."""
    not_negative(heat_w=heat_w)
    per_area = float(relief_heat_per_area(absolute_pa))
    return worked(heat_w / per_area, "{Q}/{w}", Q=(heat_w, "W"), w=(per_area, "W/m²"))


@calculation("relief valve inlet", "m", "TRD 721 by heat input; DN15, DN40 and DN50 from memory", shown_in="mm")
def relief_size(heat_w: float) -> Figure:
    """Nominal inlet size [m] of a steam-rated relief valve for a heat input [W], up to 900 kW.

    Raises BadInput above that.
    """
    not_negative(heat_w=heat_w)
    for most_w, size_mm in ((50e3, 15), (100e3, 20), (200e3, 25), (350e3, 32), (600e3, 40), (900e3, 50)):
        if heat_w <= most_w:
            return worked(size_mm / 1e3, f"DN{size_mm} up to {most_w / 1e3:g} kW, {{Q}}", Q=(heat_w, "W"))
    raise BadInput("heat input", f"of {quantity(heat_w, 'kW')} is above the table", "have the relief valves engineered")


@calculation("liquid expansion rate", "m³/J", "slope of the density of water", shown_in="L/h per kW")
def liquid_expansion_per_heat(temperature_c: float) -> Figure:
    """Volume [m³] by which water at a temperature [°C] grows per joule of heat put in."""
    fluid, per_k = water(temperature_c), water_expansion_per_k(temperature_c)
    return worked(
        per_k / fluid.heat_per_volume, "{β}/({ρ}·{cp})", fluid.flags, β=(per_k, "1/K"),
        ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"),
    )  # fmt: skip


def check_relief_setting(relief_pa: float, ratings_pa: tuple[tuple[str, float], ...]) -> None:
    """Raises BadInput if a relief valve's setting [Pa] exceeds the rating [Pa] of a part it protects."""
    above_zero(relief_pa=relief_pa)
    for name, rating in ratings_pa:
        if relief_pa > rating:
            problem = f"of {quantity(relief_pa, 'bar')} is above the {quantity(rating, 'bar')} that {name} may bear"
            raise BadInput("relief setting", problem, "choose a lower setting or a stronger part")


G3_SOURCE = "Approved Document G (2010/2015), Table 3.1, copper discharge pipes"
_OUTLETS = {
    # valve outlet: least D1 in mm, then D2 in mm, most straight length in m, length per elbow or bend in m
    "1/2": (15, ((22, 9.0, 0.8), (28, 18.0, 1.0), (35, 27.0, 1.4))),
    "3/4": (22, ((28, 9.0, 1.0), (35, 18.0, 1.4), (42, 27.0, 1.7))),
    "1": (28, ((35, 9.0, 1.4), (42, 18.0, 1.7), (54, 27.0, 2.3))),
}


@dataclass(frozen=True, slots=True)
class DischargePipe:
    """Least sizes of the discharge pipe from valve to tundish (D1) and on from the tundish (D2), in metres."""

    d1: Figure
    d2: Figure
    allowed: Figure


def discharge_pipe(outlet: str, length_m: float | None, bends: int | None) -> DischargePipe:
    """Least D1 and D2 for a valve outlet "1/2", "3/4" or "1" (inch, with or without G), D2 run [m] and number of bends.

    `allowed` is the straight length [m] that is left of the table's after the bends. Raises BadInput for another
    outlet, for bends that are no whole number or negative, and for a run beyond the table. Source: G3_SOURCE.
    """
    return DischargePipe(_d1(outlet), _d2(outlet, length_m, bends), _allowed(outlet, length_m, bends))


@calculation("discharge pipe D1", "m", G3_SOURCE, shown_in="mm")
def _d1(outlet: str) -> Figure:
    least, _ = _outlet(outlet)
    return worked(least / 1e3, "not less than the valve outlet")


@calculation("discharge pipe D2", "m", G3_SOURCE, shown_in="mm")
def _d2(outlet: str, length_m: float, bends: int) -> Figure:
    size, straight, bend = _row(outlet, length_m, bends)
    return worked(size / 1e3, "{S} − {n}·{r} ≥ {L}", S=(straight, "m"), n=bends, r=(bend, "m"), L=(length_m, "m"))


@calculation("allowed straight length of D2", "m", G3_SOURCE)
def _allowed(outlet: str, length_m: float, bends: int) -> Figure:
    _, straight, bend = _row(outlet, length_m, bends)
    return worked(straight - bends * bend, "{S} − {n}·{r}", S=(straight, "m"), n=bends, r=(bend, "m"))


def check_falling(d2_heights_m: tuple[float, ...]) -> None:
    """Raises BadInput if the discharge pipe rises anywhere; heights [m] along its way from the tundish."""
    if any(b > a for a, b in zip(d2_heights_m, d2_heights_m[1:], strict=False)):
        raise BadInput("discharge pipe D2", "rises on its way", "let it fall all the way")


@calculation("common discharge pipe D2", "m", "one size above the largest single D2 (from memory)", shown_in="mm")
def common_discharge(d2_m: tuple[float, ...]) -> Figure:
    """Least size [m] of a D2 that several units share, from their single D2 [m]. Raises BadInput beyond 54 mm."""
    largest = max(d2_m)
    for size_mm in (22, 28, 35, 42, 54):
        if size_mm / 1e3 > largest + 1e-6:
            return worked(size_mm / 1e3, "one size above {D}", D=(largest, "m"))
    raise BadInput("common discharge pipe", "is beyond the table", "have it engineered")


def _outlet(outlet: str):
    name = outlet.strip().upper().removeprefix("G").strip().replace("½", "1/2").replace("¾", "3/4")
    name = name.removesuffix("IN").removesuffix('"').strip()
    if name not in _OUTLETS:
        raise BadInput("valve outlet", f"{outlet!r} is not in the table", "write 1/2, 3/4 or 1")
    return _OUTLETS[name]


def _row(outlet: str, length_m: float, bends: int) -> tuple[int, float, float]:
    _, rows = _outlet(outlet)
    not_negative(length_m=length_m, bends=bends)
    if bends != int(bends):
        raise BadInput("bends", f"must be a whole number, not {bends:g}")
    for size, straight, bend in rows:
        if straight - bends * bend >= length_m:
            return size, straight, bend
    raise BadInput("discharge pipe D2", "is longer than the table allows", "shorten it or have it engineered")
