"""Heat carried by flowing water."""

from dataclasses import replace

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.sizing.figure import Figure, calculation, number, worked
from schemagen.sizing.water import Fluid

BALANCE = "heat balance, within 0.05 % for differences up to 20 K"


@calculation("flow that carries the heat", "m³/s", BALANCE, shown_in="L/min")
def flow_for_heat(heat_w: float, difference_k: float, fluid: Fluid) -> Figure:
    """Flow [m³/s] that carries `heat_w` [W] at a difference of flow and return `difference_k` [K].

    `fluid` at the mean of flow and return. Raises BadInput for a negative heat or a difference ≤ 0.
    """
    not_negative(heat_w=heat_w)
    above_zero(temperature_difference_k=difference_k)
    flags = fluid.flags
    if difference_k < 2:
        flags += ("difference below 2 K: a small error of temperature is a large one of flow",)
    value = heat_w / (fluid.heat_per_volume * difference_k)
    return worked(
        value, "{Q}/({ρ}·{cp}·{ΔT})", flags, Q=(heat_w, "W"), ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), ΔT=(difference_k, "K"),
    )  # fmt: skip


@calculation("heat that the flow carries", "W", BALANCE, shown_in="kW")
def heat_for_flow(flow_m3s: float, difference_k: float, fluid: Fluid) -> Figure:
    """Heat [W] carried by a flow [m³/s] at a difference [K]. Raises BadInput for a negative flow or difference."""
    not_negative(flow_m3s=flow_m3s, temperature_difference_k=difference_k)
    value = flow_m3s * fluid.heat_per_volume * difference_k
    return worked(
        value, "{q}·{ρ}·{cp}·{ΔT}", fluid.flags, q=(flow_m3s, "m³/s"), ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), ΔT=(difference_k, "K"),
    )  # fmt: skip


@calculation("temperature difference", "K", BALANCE)
def difference_for_flow(heat_w: float, flow_m3s: float, fluid: Fluid) -> Figure:
    """Difference of flow and return [K] for a heat [W] and a flow [m³/s]. Raises BadInput for a flow ≤ 0."""
    not_negative(heat_w=heat_w)
    if flow_m3s <= 0:
        raise BadInput("flow", "must be above zero to carry heat", "look where the water is held up")
    value = heat_w / (fluid.heat_per_volume * flow_m3s)
    return worked(
        value, "{Q}/({ρ}·{cp}·{q})", fluid.flags, Q=(heat_w, "W"), ρ=(fluid.density_kgm3, "kg/m³"),
        cp=(fluid.specific_heat_jkgk, "J/(kg·K)"), q=(flow_m3s, "m³/s"),
    )  # fmt: skip


@calculation("carried flow", "m³/s", "continuity", shown_in="L/min")
def carried_flow(flows: tuple[tuple[str, float, float], ...]) -> Figure:
    """Flow [m³/s] as the sum of design flows, each with its name, how often it counts and its value [m³/s]."""
    value = sum(count * flow for _, count, flow in flows)
    names = " + ".join(name if count == 1 else f"({number(count)}·{name})" for name, count, _ in flows)
    terms = " + ".join(number(count * flow) for _, count, flow in flows)
    return replace(worked(abs(value), ""), formula=names, working=terms)
