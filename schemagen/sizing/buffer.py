"""Buffers: volume for run time and defrost, cycling at part load."""

from schemagen.base.bad_input import above_zero, not_negative
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid

PRACTICE = "heat balance; run time, temperature swing and limits are common practice, no source"
MOST_STARTS_PER_HOUR = 6.0
GOOD_STARTS_PER_HOUR = 3.0
DEFROST_WH_PER_W = 0.08
"""Heat taken by one defrost for each W of rated output, if the maker says nothing: common practice, no source."""


@calculation(
    "volume for run time", "m³", PRACTICE, shown_in="L",
    assumes={"run_s": "a run of 6 minutes at least", "swing_k": "a swing of 5 K"},
)  # fmt: skip
def run_time_volume(
    least_output_w: float, load_w: float, fluid: Fluid, run_s: float = 360.0, swing_k: float = 5.0
) -> Figure:
    """Volume [m³] that lets a source of a least output [W] run a time [s] at a load [W] within a swing [K].

    A load as large as the least output needs none: the source does not cycle.
    """
    above_zero(least_output_w=least_output_w, run_s=run_s, temperature_swing_k=swing_k)
    not_negative(load_w=load_w)
    if load_w >= least_output_w:
        return worked(
            0.0, "", (), ("no cycling: the load takes the least output",), P=(least_output_w, "W"), L=(load_w, "W")
        )
    value = (least_output_w - load_w) * run_s / (fluid.heat_per_volume * swing_k)
    return worked(
        value, "({P} − {L})·{t}/({ρ}·{cp}·{ΔT})", fluid.flags, P=(least_output_w, "W"), L=(load_w, "W"), t=(run_s, "s"),
        ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), ΔT=(swing_k, "K"),
    )  # fmt: skip


@calculation("heat taken by a defrost", "J", "0.08 kWh per kW rated: common practice, no source", shown_in="kWh")
def defrost_heat(rated_w: float) -> Figure:
    """Heat [J] that one defrost of a heat pump of a rated output [W] takes, where the maker says nothing."""
    above_zero(rated_w=rated_w)
    flags = ("estimated: ask the maker for the heat taken by a defrost",)
    return worked(DEFROST_WH_PER_W * rated_w * 3600, "0.08·{P}·3600", flags, P=(rated_w, "W"))


@calculation(
    "volume for defrost", "m³", PRACTICE, shown_in="L", assumes={"drop_k": "a drop of 8 K is allowed"}
)  # fmt: skip
def defrost_volume(defrost_j: float, fluid: Fluid, drop_k: float = 8.0) -> Figure:
    """Volume [m³] that gives a defrost's heat [J] within a drop [K]."""
    not_negative(defrost_j=defrost_j)
    above_zero(temperature_drop_k=drop_k)
    return worked(
        defrost_j / (fluid.heat_per_volume * drop_k), "{E}/({ρ}·{cp}·{ΔT})", fluid.flags, E=(defrost_j, "J"),
        ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), ΔT=(drop_k, "K"),
    )  # fmt: skip


@calculation("temperature drop by defrost", "K", "heat balance")
def defrost_drop(defrost_j: float, volume_m3: float, fluid: Fluid) -> Figure:
    """Drop [K] of a volume [m³] that gives a defrost's heat [J]."""
    not_negative(defrost_j=defrost_j)
    above_zero(volume_m3=volume_m3)
    return worked(
        defrost_j / (fluid.heat_per_volume * volume_m3), "{E}/({ρ}·{cp}·{V})", fluid.flags, E=(defrost_j, "J"),
        ρ=(fluid.density_kgm3, "kg/m³"), cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), V=(volume_m3, "m³"),
    )  # fmt: skip


@calculation("needed buffer", "m³", "greatest need less what is always open", shown_in="L")
def buffer_volume(needs_m3: tuple[float, ...], open_m3: float) -> Figure:
    """Buffer [m³] from the volumes needed [m³] and the water [m³] of circuits that cannot close.

    Flagged if nothing is always open: the buffer then stands for the whole volume.
    """
    for need in needs_m3:
        not_negative(needed_volume_m3=need)
    not_negative(open_volume_m3=open_m3)
    flags = ("no circuit is always open: the buffer must hold all of it",) if open_m3 == 0 else ()
    return worked(
        max(max(needs_m3) - open_m3, 0.0), "{V} − {Vo}, not below 0", flags, V=(max(needs_m3), "m³"), Vo=(open_m3, "m³")
    )


@calculation("run time at part load", "s", "heat balance", shown_in="min")
def on_time(output_w: float, load_w: float, volume_m3: float, swing_k: float, fluid: Fluid) -> Figure:
    """Time [s] that a source of an output [W] runs at a load [W] to warm a volume [m³] by a swing [K].

    A load as large as the output makes a figure that is not available: the source runs on.
    """
    heat = _stored(output_w, load_w, volume_m3, swing_k, fluid)
    if load_w >= output_w:
        return Figure("", None, "", needs=("a load below the output; the source runs on",))
    return worked(heat / (output_w - load_w), "{E}/({P} − {L})", E=(heat, "J"), P=(output_w, "W"), L=(load_w, "W"))


@calculation("standstill at part load", "s", "heat balance", shown_in="min")
def off_time(output_w: float, load_w: float, volume_m3: float, swing_k: float, fluid: Fluid) -> Figure:
    """Time [s] that the source then stands; not available without a load."""
    heat = _stored(output_w, load_w, volume_m3, swing_k, fluid)
    if load_w == 0:
        return Figure("", None, "", needs=("a load; without one the source stays off",))
    return worked(heat / load_w, "{E}/{L}", E=(heat, "J"), L=(load_w, "W"))


@calculation("starts per hour", "1/s", PRACTICE, shown_in="per hour")
def starts(output_w: float, load_w: float, volume_m3: float, swing_k: float, fluid: Fluid) -> Figure:
    """How often [1/s] the source starts at a load [W]; 0 if it runs on or has no load. Flagged above 3 an hour."""
    heat = _stored(output_w, load_w, volume_m3, swing_k, fluid)
    if load_w == 0 or load_w >= output_w:
        return worked(0.0, "", (), ("no load: one start, then off",) if load_w == 0 else ("runs on",))
    value = load_w * (output_w - load_w) / (output_w * heat)
    return worked(
        value, "{L}·({P} − {L})/({P}·{E})", _starts_flags(value), L=(load_w, "W"), P=(output_w, "W"), E=(heat, "J")
    )


@calculation("most starts per hour", "1/s", "worst at half load", shown_in="per hour")
def most_starts(output_w: float, volume_m3: float, swing_k: float, fluid: Fluid) -> Figure:
    """How often [1/s] the source starts at the worst load, half its output [W]."""
    heat = _stored(output_w, 0.0, volume_m3, swing_k, fluid)
    value = output_w / (4 * heat)
    return worked(value, "{P}/(4·{E})", _starts_flags(value), P=(output_w, "W"), E=(heat, "J"))


def _stored(output_w: float, load_w: float, volume_m3: float, swing_k: float, fluid: Fluid) -> float:
    above_zero(output_w=output_w, volume_m3=volume_m3, temperature_swing_k=swing_k)
    not_negative(load_w=load_w)
    return fluid.heat_per_volume * volume_m3 * swing_k


def _starts_flags(per_second: float) -> tuple[str, ...]:
    per_hour = 3600 * per_second
    if per_hour > MOST_STARTS_PER_HOUR:
        return (f"{per_hour:.1f} starts per hour: above {MOST_STARTS_PER_HOUR:g} (common practice, no source)",)
    if per_hour > GOOD_STARTS_PER_HOUR:
        return (f"{per_hour:.1f} starts per hour: {GOOD_STARTS_PER_HOUR:g} is the aim (common practice, no source)",)
    return ()
