"""Temperatures where waters meet: tees, mixing valves, headers and buffers between unequal flows."""

from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, hotter, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, number, worked

BALANCE = "heat balance at constant specific heat, within 0.02 K for water from 10 to 60 °C"


@calculation("mixed temperature", "°C", BALANCE)
def mixed_temperature(streams: tuple[tuple[float, float], ...]) -> Figure:
    """Temperature [°C] of streams (flow in any one unit of mass, temperature [°C]) that join.

    No inflow at all makes a figure that is not available. Raises BadInput for a negative flow.
    """
    for flow, _ in streams:
        not_negative(flow=flow)
    total = sum(flow for flow, _ in streams)
    if total == 0:
        return Figure("", None, "", needs=("a stream that flows in",))
    value = sum(flow * t for flow, t in streams) / total
    tops = " + ".join(f"{number(flow, 6)}·{number(t, 5)}" for flow, t in streams)
    return worked(value, f"({tops})/({' + '.join(number(flow, 6) for flow, _ in streams)})")


@calculation("share from the hot port", "-", BALANCE, shown_in="%")
def hot_share(mixed_c: float, hot_c: float, cold_c: float, thermostatic: bool = False) -> Figure:
    """Share [-] of the mixed flow that a mixing valve draws from its hot port.

    Raises BadInput if the mixed temperature lies outside hot and cold. A thermostatic tap mixing valve is flagged if
    hot is less than 10 K above mixed (common practice, no source).
    """
    hotter("hot temperature", hot_c, "cold temperature", cold_c)
    if not cold_c <= mixed_c <= hot_c:
        problem = f"of {quantity(mixed_c, '°C')} cannot be reached from {cold_c:g} and {quantity(hot_c, '°C')}"
        raise BadInput("mixed temperature", problem, "raise the supply or lower the setting")
    flags = ()
    if thermostatic and hot_c < mixed_c + 10:
        flags = ("hot is less than 10 K above mixed: a thermostatic valve may not hold its setting",)
    return worked(
        (mixed_c - cold_c) / (hot_c - cold_c), "({tm} − {tc})/({th} − {tc})", flags,
        tm=(mixed_c, "°C"), tc=(cold_c, "°C"), th=(hot_c, "°C"),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Header:
    """A low-loss header or four-pipe buffer in one state; temperatures [°C], `downward` [kg/s] from top to bottom."""

    secondary_flow: Figure
    primary_return: Figure
    downward: Figure

    @property
    def flags(self) -> tuple[str, ...]:
        return self.secondary_flow.flags


def header(primary_kgs: float, primary_flow_c: float, secondary_kgs: float, secondary_return_c: float) -> Header:
    """What leaves a header that keeps hot above cold, from its two flows [kg/s] and what enters it [°C].

    With no primary flow, or with none at all, its temperatures are not available: a store then discharges. Raises
    BadInput for a negative flow. Source: heat balance.
    """
    not_negative(primary_flow_kgs=primary_kgs, secondary_flow_kgs=secondary_kgs)
    return Header(
        _secondary_flow(primary_kgs, primary_flow_c, secondary_kgs, secondary_return_c),
        _primary_return(primary_kgs, primary_flow_c, secondary_kgs, secondary_return_c),
        _downward(primary_kgs, secondary_kgs),
    )


def header_with_load(primary_kgs: float, flow_c: float, secondary_kgs: float, heat_w: float, specific_heat_jkgk: float):
    """The same from the heat [W] that the secondary side takes: `Header` and the secondary return temperature [°C].

    Raises BadInput for no flow on either side.
    """
    not_negative(heat_w=heat_w)
    if primary_kgs <= 0 or secondary_kgs <= 0:
        raise BadInput("header", "carries no heat without flow on both sides", "treat it as a store that discharges")
    supply = flow_c
    if secondary_kgs > primary_kgs:
        primary_return = flow_c - heat_w / (primary_kgs * specific_heat_jkgk)
        supply = primary_return + heat_w / (secondary_kgs * specific_heat_jkgk)
    secondary_return = supply - heat_w / (secondary_kgs * specific_heat_jkgk)
    return header(primary_kgs, flow_c, secondary_kgs, secondary_return), secondary_return


_STORE = ("flow on the primary side; without it the store discharges",)


@calculation("supply from the header", "°C", BALANCE)
def _secondary_flow(primary_kgs: float, primary_c: float, secondary_kgs: float, return_c: float) -> Figure:
    if secondary_kgs == 0 or primary_kgs == 0:
        return Figure("", None, "", needs=_STORE)
    terms = {
        "mp": (primary_kgs, "kg/s"),
        "tpf": (primary_c, "°C"),
        "ms": (secondary_kgs, "kg/s"),
        "tsr": (return_c, "°C"),
    }
    if primary_kgs >= secondary_kgs:
        return worked(primary_c, "{tpf}", **terms)
    value = (primary_kgs * primary_c + (secondary_kgs - primary_kgs) * return_c) / secondary_kgs
    flags = (f"supply degraded by {quantity(primary_c - value, 'K')}: the secondary flow exceeds the primary flow",)
    return worked(value, "({mp}·{tpf} + ({ms} − {mp})·{tsr})/{ms}", flags, **terms)


@calculation("return to the source", "°C", BALANCE)
def _primary_return(primary_kgs: float, primary_c: float, secondary_kgs: float, return_c: float) -> Figure:
    if primary_kgs == 0:
        return Figure("", None, "", needs=_STORE)
    terms = {
        "mp": (primary_kgs, "kg/s"),
        "tpf": (primary_c, "°C"),
        "ms": (secondary_kgs, "kg/s"),
        "tsr": (return_c, "°C"),
    }
    if primary_kgs <= secondary_kgs:
        return worked(return_c, "{tsr}", **terms)
    value = (secondary_kgs * return_c + (primary_kgs - secondary_kgs) * primary_c) / primary_kgs
    return worked(value, "({ms}·{tsr} + ({mp} − {ms})·{tpf})/{mp}", **terms)


@calculation("flow down through the header", "kg/s", "continuity")
def _downward(primary_kgs: float, secondary_kgs: float) -> Figure:
    return worked(
        primary_kgs - secondary_kgs, "{mp} − {ms}", mp=(primary_kgs, "kg/s"), ms=(secondary_kgs, "kg/s")
    )  # fmt: skip
