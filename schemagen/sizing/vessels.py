"""System content, expansion, expansion vessels and their pressures.

Pressures are gauge, in Pa; the atmosphere is 1 bar.
"""

import math

from schemagen.base.bad_input import BadInput, above_zero, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, number, worked
from schemagen.sizing.glycol import Liquid
from schemagen.sizing.water import GRAVITY_MS2

ATMOSPHERE_PA = 1e5
"""As the vessel standards take it."""

BOYLE = "Boyle's law"
EN_12828 = "EN 12828 (wording from memory; the algebra is Boyle's law)"
FILL_C = 10.0
FILLED_COLD = {"fill_c": "filled at 10 °C (common practice, no source)"}

LITRES_PER_KW = {
    "panel radiators": 11.0, "fan coils": 8.0, "perimeter convectors": 6.0, "cast iron radiators": 14.0,
    "underfloor": 23.0,
}  # fmt: skip
"""Content of a whole system per kW of load: a water-treatment guidance page."""


@calculation("system content", "m³", "sum of pipes and parts", shown_in="L")
def system_content(contents_m3: tuple[tuple[str, float], ...]) -> Figure:
    """Content [m³] as the sum of named contents [m³] of pipes and parts."""
    for name, content in contents_m3:
        if content < 0:
            raise BadInput("content", f"must not be negative, not {content:g} m³", component=name)
    terms = " + ".join(f"{number(1e3 * content, 5)} L ({name})" for name, content in contents_m3)
    return worked(sum(content for _, content in contents_m3), terms)


@calculation("system content, estimated", "m³", "water-treatment guidance page, litres per kW", shown_in="L")
def system_content_by_load(loads_w: tuple[tuple[str, float], ...]) -> Figure:
    """Content [m³] guessed from loads [W] by sort of emitter (see LITRES_PER_KW). Always flagged."""
    total = 0.0
    for sort, load in loads_w:
        if sort not in LITRES_PER_KW:
            raise BadInput("sort of emitter", f"{sort!r} is not known", f"write {' or '.join(LITRES_PER_KW)}")
        not_negative(load_w=load)
        total += LITRES_PER_KW[sort] * load / 1e6
    terms = " + ".join(f"{load / 1e3:g} kW·{LITRES_PER_KW[sort]:g} L/kW ({sort})" for sort, load in loads_w)
    return worked(total, terms, ("estimated from the load: list the contents of the parts",))


@calculation("dose", "m³", "maker's share of the content; 1 % is common practice, no source", shown_in="L")
def dose(content_m3: float, share: float = 0.01) -> Figure:
    """Inhibitor or other additive [m³] for a content [m³]."""
    not_negative(content_m3=content_m3, share=share)
    return worked(share * content_m3, "{x}·{V}", x=share, V=(content_m3, "m³"))


@calculation("expansion", "-", "density of the liquid", shown_in="%", assumes=FILLED_COLD)
def expansion(liquid: Liquid, highest_c: float, fill_c: float = FILL_C) -> Figure:
    """By what share [-] the liquid grows from the temperature of filling to the highest that any part can reach [°C].

    Raises BadInput unless the highest lies above the fill temperature and within 110 °C.
    """
    hotter("highest temperature", highest_c, "fill temperature", fill_c)
    cold, hot = liquid.density_kgm3(fill_c), liquid.density_kgm3(highest_c)
    return worked(cold / hot - 1, "{ρ1}/{ρ2} − 1", liquid.at(highest_c).flags, ρ1=(cold, "kg/m³"), ρ2=(hot, "kg/m³"))


@calculation("expansion volume", "m³", "density of the liquid", shown_in="L", assumes=FILLED_COLD)
def expansion_volume(content_m3: float, liquid: Liquid, highest_c: float, fill_c: float = FILL_C) -> Figure:
    """What the content [m³] grows by [m³]; see `expansion`."""
    not_negative(content_m3=content_m3)
    share = expansion(liquid, highest_c, fill_c)
    return worked(float(share) * content_m3, "{e}·{V}", share.flags, e=float(share), V=(content_m3, "m³"))


@calculation("highest working pressure", "Pa", EN_12828, shown_in="bar")
def end_pressure(relief_pa: float) -> Figure:
    """Pressure [Pa] up to which a vessel may be filled under a relief valve set to `relief_pa`."""
    above_zero(relief_pa=relief_pa)
    gap = max(0.5e5, 0.1 * relief_pa)
    return worked(relief_pa - gap, "{psv} − {gap}", psv=(relief_pa, "Pa"), gap=(gap, "Pa"))


@calculation("static pressure", "Pa", "hydrostatics, water at 10 °C", shown_in="bar")
def static_pressure(height_m: float, density_kgm3: float = 999.75) -> Figure:
    """Pressure [Pa] of a height [m] of water from the vessel to the highest point."""
    not_negative(height_m=height_m)
    return worked(
        density_kgm3 * GRAVITY_MS2 * height_m, "{ρ}·{g}·{h}",
        ρ=(density_kgm3, "kg/m³"), g=(GRAVITY_MS2, "m/s²"), h=(height_m, "m"),
    )  # fmt: skip


@calculation("pre-charge", "Pa", "EN 12828 practice (from memory)", shown_in="bar")
def precharge(height_m: float, margin_pa: float = 0.3e5, least_pa: float = 0.7e5) -> Figure:
    """Gas pressure [Pa] of the empty vessel: static pressure of the height [m] and a margin, rounded up to 0.1 bar."""
    static = float(static_pressure(height_m))
    exact = max(static + margin_pa, least_pa)
    value = math.ceil(round(exact / 1e4, 6)) * 1e4
    return worked(
        value, "{p} + {m}, at least {pl}, rounded up to 0.1 bar",
        p=(static, "Pa"), m=(margin_pa, "Pa"), pl=(least_pa, "Pa"),
    )  # fmt: skip


@calculation("water reserve", "m³", EN_12828, shown_in="L")
def water_reserve(content_m3: float) -> Figure:
    """Water [m³] to be held in a vessel above 15 L when the system is cold: 0.5 % of the content, 3 L at least."""
    not_negative(content_m3=content_m3)
    return worked(max(0.005 * content_m3, 3e-3), "the greater of 0.005·{V} and 0.003", V=(content_m3, "m³"))


@calculation("heating expansion vessel", "m³", EN_12828, shown_in="L")
def heating_vessel(expansion_m3: float, content_m3: float, precharge_pa: float, end_pa: float) -> Figure:
    """Least nominal volume [m³] with a reserve of 0.5 % of the content, 3 L at least.

    Raises BadInput if the end pressure does not lie above the pre-charge.
    """
    not_negative(expansion_m3=expansion_m3)
    _check_range(precharge_pa, end_pa)
    reserve = float(water_reserve(content_m3))
    value = (expansion_m3 + reserve) * (end_pa + ATMOSPHERE_PA) / (end_pa - precharge_pa)
    return worked(
        value, "({Ve} + {Vr})·({pe} + 100000)/({pe} − {p0})", Ve=(expansion_m3, "m³"), Vr=(reserve, "m³"),
        pe=(end_pa, "Pa"), p0=(precharge_pa, "Pa"),
    )  # fmt: skip


@calculation("small heating expansion vessel", "m³", EN_12828, shown_in="L")
def small_heating_vessel(expansion_m3: float, precharge_pa: float, end_pa: float) -> Figure:
    """Least nominal volume [m³] of a vessel up to 15 L, a fifth of which is reserve; flagged above 15 L."""
    not_negative(expansion_m3=expansion_m3)
    _check_range(precharge_pa, end_pa)
    usable = (end_pa - precharge_pa) / (end_pa + ATMOSPHERE_PA) - 0.2
    if usable <= 0:
        raise BadInput(
            "pre-charge", "leaves no working range with a fifth of the vessel in reserve", "use a larger vessel"
        )
    value = expansion_m3 / usable
    flags = ("above 15 L: this rule does not apply",) if value > 15e-3 else ()
    return worked(
        value, "{Ve}/(({pe} − {p0})/({pe} + 100000) − 0.2)", flags,
        Ve=(expansion_m3, "m³"), pe=(end_pa, "Pa"), p0=(precharge_pa, "Pa"),
    )  # fmt: skip


@calculation("heating expansion vessel, older rule", "m³", "BS 7074-1 and BS 5449, no reserve", shown_in="L")
def heating_vessel_older_rule(expansion_m3: float, fill_pa: float, relief_pa: float) -> Figure:
    """Least nominal volume [m³] from the fill pressure and 0.35 bar below the relief valve's setting [Pa]."""
    not_negative(expansion_m3=expansion_m3)
    end = relief_pa - 0.35e5
    _check_range(fill_pa, end)
    first, last = fill_pa + ATMOSPHERE_PA, end + ATMOSPHERE_PA
    return worked(
        expansion_m3 / (1 - first / last), "{Ve}/(1 − {Pi}/{Pf})",
        Ve=(expansion_m3, "m³"), Pi=(first, "Pa abs"), Pf=(last, "Pa abs"),
    )  # fmt: skip


@calculation("drinking-water expansion vessel", "m³", "DIN 4807-5, as on a public reference page", shown_in="L")
def potable_vessel(expansion_m3: float, inlet_pa: float, relief_pa: float) -> Figure:
    """Least nominal volume [m³] behind a reducing valve set to `inlet_pa`, pre-charged 0.2 bar below it.

    Raises BadInput if 0.8 of the relief setting does not lie above the inlet pressure.
    """
    not_negative(expansion_m3=expansion_m3)
    above_zero(inlet_pa=inlet_pa, relief_pa=relief_pa)
    p0, pe = inlet_pa - 0.2e5, 0.8 * relief_pa
    if pe <= inlet_pa:
        raise BadInput("reducing valve", "is set too close to the relief valve", "set it lower")
    value = expansion_m3 * (inlet_pa + ATMOSPHERE_PA) * (pe + ATMOSPHERE_PA) / ((p0 + ATMOSPHERE_PA) * (pe - inlet_pa))
    return worked(
        value, "{Ve}·({pa} + 100000)·({pe} + 100000)/(({p0} + 100000)·({pe} − {pa}))", Ve=(expansion_m3, "m³"),
        pa=(inlet_pa, "Pa"), pe=(pe, "Pa"), p0=(p0, "Pa"),
    )  # fmt: skip


@calculation("least fill pressure", "Pa", BOYLE, shown_in="bar")
def fill_pressure(vessel_m3: float, reserve_m3: float, precharge_pa: float) -> Figure:
    """Cold pressure [Pa] at which a vessel holds its water reserve [m³]."""
    above_zero(vessel_m3=vessel_m3)
    not_negative(reserve_m3=reserve_m3)
    if reserve_m3 >= vessel_m3:
        raise BadInput("vessel", "is not larger than the water reserve it must hold", "choose a larger vessel")
    value = vessel_m3 * (precharge_pa + ATMOSPHERE_PA) / (vessel_m3 - reserve_m3) - ATMOSPHERE_PA
    return worked(
        value, "{VN}·({p0} + 100000)/({VN} − {Vr}) − 100000", VN=(vessel_m3, "m³"), p0=(precharge_pa, "Pa"),
        Vr=(reserve_m3, "m³"),
    )  # fmt: skip


@calculation("water in the vessel when cold", "m³", BOYLE, shown_in="L")
def cold_water_in_vessel(vessel_m3: float, precharge_pa: float, fill_pa: float) -> Figure:
    """Water [m³] that a vessel holds at the fill pressure [Pa]; below the pre-charge none, and flagged."""
    above_zero(vessel_m3=vessel_m3)
    value = vessel_m3 * (1 - (precharge_pa + ATMOSPHERE_PA) / (fill_pa + ATMOSPHERE_PA))
    flags = ("fill pressure below the pre-charge: the vessel is empty when cold",) if fill_pa < precharge_pa else ()
    return worked(
        max(value, 0.0), "{VN}·(1 − ({p0} + 100000)/({pf} + 100000))", flags,
        VN=(vessel_m3, "m³"), p0=(precharge_pa, "Pa"), pf=(fill_pa, "Pa"),
    )  # fmt: skip


@calculation("hot pressure", "Pa", BOYLE, shown_in="bar")
def hot_pressure(
    vessel_m3: float, precharge_pa: float, fill_pa: float, expansion_m3: float, end_pa: float | None = None
) -> Figure:
    """Pressure [Pa] when the water has grown by `expansion_m3`; flagged above the end pressure.

    Raises BadInput if the vessel cannot take the water at all.
    """
    not_negative(expansion_m3=expansion_m3)
    cold = cold_water_in_vessel(vessel_m3, precharge_pa, fill_pa)
    gas = vessel_m3 - float(cold) - expansion_m3
    if gas <= 0:
        raise BadInput("vessel", "is full before the water is hot", "choose a larger vessel")
    value = vessel_m3 * (precharge_pa + ATMOSPHERE_PA) / gas - ATMOSPHERE_PA
    flags = cold.flags
    if end_pa is not None and value > end_pa:
        over = f"hot pressure {quantity(value, 'bar')} is above {quantity(end_pa, 'bar')}"
        flags += (f"{over}: the relief valve will lift",)
    return worked(
        value, "{VN}·({p0} + 100000)/({VN} − {Vw} − {Ve}) − 100000", flags, VN=(vessel_m3, "m³"),
        p0=(precharge_pa, "Pa"), Vw=(float(cold), "m³"), Ve=(expansion_m3, "m³"),
    )  # fmt: skip


@calculation("pressure at a point", "Pa", "hydrostatics and the network's losses", shown_in="bar")
def point_pressure(vessel_pa: float, above_vessel_m: float, density_kgm3: float, from_pumps_pa: float = 0.0) -> Figure:
    """Gauge pressure [Pa] at a point so many metres above the vessel connection (negative below it).

    `from_pumps_pa` is how far running pumps raise it over the vessel connection. Flagged below 0.3 bar (common
    practice, no source).
    """
    value = vessel_pa - density_kgm3 * GRAVITY_MS2 * above_vessel_m + from_pumps_pa
    flags = (f"{quantity(value, 'bar')}: below 0.3 bar air may be drawn in",) if value < 0.3e5 else ()
    return worked(
        value, "{pv} − {ρ}·{g}·{h} + {Δp}", flags, pv=(vessel_pa, "Pa"), ρ=(density_kgm3, "kg/m³"),
        g=(GRAVITY_MS2, "m/s²"), h=(above_vessel_m, "m"), Δp=(from_pumps_pa, "Pa"),
    )  # fmt: skip


def _check_range(low_pa: float, high_pa: float) -> None:
    not_negative(precharge_pa=low_pa)
    if high_pa <= low_pa:
        problem = f"of {quantity(low_pa, 'bar')} leaves no working range below {quantity(high_pa, 'bar')}"
        raise BadInput("pre-charge", problem, "lower it, or choose a higher relief setting if the parts allow it")


def check_precharge(precharge_pa: float, height_m: float) -> None:
    """Raises BadInput if the pre-charge [Pa] lies below the static pressure of the height [m]."""
    static = float(static_pressure(height_m))
    if precharge_pa < static:
        problem = f"of {quantity(precharge_pa, 'bar')} is below the static pressure of {quantity(static, 'bar')}"
        raise BadInput("pre-charge", problem, "raise it")


def vessel_flags(chosen_m3: float, least_m3: float, hot: Figure) -> tuple[str, ...]:
    """What is wrong with a chosen vessel, in words: it is smaller than the least volume."""
    if chosen_m3 >= least_m3:
        return ()
    reached = f"; hot pressure would be {hot.text}" if hot.value is not None else ""
    return (f"vessel of {quantity(chosen_m3, 'L')} is smaller than the {quantity(least_m3, 'L')} needed{reached}",)
