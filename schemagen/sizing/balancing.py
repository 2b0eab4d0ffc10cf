"""Least source flow against open zones, the bypass, and balancing valves."""

import itertools
import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.fittings import KV_SOURCE

MOST_ZONES_ENUMERATED = 12
LEAST_MEASURABLE_PA = 3e3
"""Common practice, no source."""


@dataclass(frozen=True, slots=True)
class Zone:
    """A circuit with its design flow [m³/s] and content [m³]; `closes` if a valve can shut it."""

    name: str
    flow_m3s: float
    content_m3: float = 0.0
    closes: bool = True


@dataclass(frozen=True, slots=True)
class ZoneState:
    """One combination of open zones.

    It gives the flow through the source [m³/s] and whether it suffices, and the open water [m³].
    """

    open_zones: tuple[str, ...]
    flow_m3s: float
    content_m3: float
    enough_flow: bool


def zone_states(
    zones: tuple[Zone, ...], least_flow_m3s: float, separated_m3s: float | None = None
) -> tuple[ZoneState, ...]:
    """Every combination of open zones with at least one open, the fullest first, against a least flow [m³/s].

    `separated_m3s` is the source's own flow where a header or buffer separates it from the zones. With more than
    twelve zones that close only the worst are given: each alone, and all together. Source: continuity.
    """
    above_zero(least_flow_m3s=least_flow_m3s)
    for zone in zones:
        not_negative(flow_m3s=zone.flow_m3s, content_m3=zone.content_m3)
    closing = [zone for zone in zones if zone.closes]
    always = [zone for zone in zones if not zone.closes]
    if len(closing) <= MOST_ZONES_ENUMERATED:
        choices = [c for n in range(len(closing), -1, -1) for c in itertools.combinations(closing, n)]
    else:
        choices = [tuple(closing), *((zone,) for zone in closing)]
    return tuple(
        _zone_state([z for z in zones if z in always or z in choice], least_flow_m3s, separated_m3s)
        for choice in choices
        if choice or always
    )


def _zone_state(open_zones, least_flow_m3s, separated_m3s) -> ZoneState:
    flow = separated_m3s if separated_m3s is not None else sum(zone.flow_m3s for zone in open_zones)
    content = sum(zone.content_m3 for zone in open_zones)
    return ZoneState(tuple(z.name for z in open_zones), flow, content, flow >= least_flow_m3s)


@calculation("least source flow", "m³/s", "continuity", shown_in="L/min")
def source_flow(flow_m3s: float, least_flow_m3s: float) -> Figure:
    """Flow through the source [m³/s] against its least flow [m³/s]; flagged if it falls short.

    An unknown least flow makes a figure that is not available: it is never guessed.
    """
    not_negative(flow_m3s=flow_m3s)
    above_zero(least_flow_m3s=least_flow_m3s)
    short = 1 - flow_m3s / least_flow_m3s
    flags = (f"short of the source's least flow by {100 * short:.1f} %",) if short > 0 else ()
    return worked(flow_m3s, "{q}, least {qmin}", flags, q=(flow_m3s, "m³/s"), qmin=(least_flow_m3s, "m³/s"))


@calculation("bypass flow", "m³/s", "continuity", shown_in="L/min")
def bypass_flow(least_flow_m3s: float, open_m3s: float, separated: bool = False) -> Figure:
    """Flow [m³/s] a bypass must pass when only the circuits that cannot close take `open_m3s` [m³/s].

    Behind a header or buffer none is required, and a note says so.
    """
    above_zero(least_flow_m3s=least_flow_m3s)
    not_negative(open_flow_m3s=open_m3s)
    terms = {"qmin": (least_flow_m3s, "m³/s"), "qo": (open_m3s, "m³/s")}
    if separated:
        return worked(
            0.0, "", (), ("not required: the source has a circuit of its own through the header or buffer",), **terms
        )
    value = max(least_flow_m3s - open_m3s, 0.0)
    return worked(value, "{qmin} − {qo}, not below 0", (), () if value else ("not required",), **terms)


@calculation("bypass setting", "Pa", "common practice, no source: a tenth above the design difference", shown_in="kPa")
def bypass_setting(
    rise_at_least_flow_pa: float,
    source_loss_pa: float,
    design_difference_pa: float,
    pump_setting_pa: float | None = None,
) -> Figure:
    """Pressure difference [Pa] at which an automatic bypass must open.

    The pump's rise at the least flow less the loss on the source's side [Pa]; it must exceed the design difference at
    the bypass by a tenth. `pump_setting_pa` is a pump's constant pressure: below the opening, the bypass never opens.
    """
    not_negative(source_loss_pa=source_loss_pa, design_difference_pa=design_difference_pa)
    available = rise_at_least_flow_pa - source_loss_pa
    if available <= 0:
        raise BadInput("pump", "gives no pressure over the bypass at the least flow", "choose a larger pump")
    flags = []
    if available < 1.1 * design_difference_pa:
        flags.append("less than a tenth above the design difference: the bypass would open in normal running")
    if pump_setting_pa is not None and pump_setting_pa - source_loss_pa < available:
        flags.append("the pump's pressure stays below the setting: the bypass never opens")
    return worked(
        available, "{H} − {Δps}", tuple(flags), H=(rise_at_least_flow_pa, "Pa"), Δps=(source_loss_pa, "Pa"),
        Δpd=(design_difference_pa, "Pa"),
    )  # fmt: skip


@calculation("balancing valve", "m³/h", f"{KV_SOURCE}; 3 kPa to measure is common practice, no source")
def balancing_kv(
    flow_m3s: float,
    index_pa: float,
    branch_pa: float,
    density_kgm3: float = 1000.0,
    open_kv_m3h: float | None = None,
) -> Figure:
    """Kv [m³/h] of a valve that takes up what a branch [Pa] loses less than the index circuit [Pa] at its flow [m³/s].

    A branch that loses as much as the index makes a figure that is not available: its valve is fully open. Flagged
    below 3 kPa over the valve and above the Kv of the open valve.
    """
    above_zero(flow_m3s=flow_m3s, density_kgm3=density_kgm3)
    not_negative(branch_pa=branch_pa)
    excess = index_pa - branch_pa
    if excess <= 0:
        return Figure("", None, "", needs=("a loss below the index circuit's; leave the valve fully open",))
    value = 3600 * flow_m3s * math.sqrt(density_kgm3 / 1000 * 1e5 / excess)
    flags = []
    if excess < LEAST_MEASURABLE_PA:
        flags.append(f"{quantity(excess, 'kPa')} over the valve is too little to measure")
    if open_kv_m3h is not None and value > open_kv_m3h:
        flags.append(f"more than the open valve passes (Kv {open_kv_m3h:g})")
    return worked(
        value, "3600·{q}·√({ρ}/1000·100000/({Δpi} − {Δpb}))", tuple(flags), q=(flow_m3s, "m³/s"),
        ρ=(density_kgm3, "kg/m³"), Δpi=(index_pa, "Pa"), Δpb=(branch_pa, "Pa"),
    )  # fmt: skip


def valve_setting(kv_m3h: float, table: tuple[tuple[float, float], ...]) -> float:
    """Setting number for a Kv [m³/h] from a maker's table of (setting, Kv), by straight lines.

    Raises BadInput outside the table or if its Kv does not rise.
    """
    if any(b[1] <= a[1] or b[0] <= a[0] for a, b in zip(table, table[1:], strict=False)) or len(table) < 2:
        raise BadInput("valve table", "needs two settings at least, with rising Kv")
    if not table[0][1] <= kv_m3h <= table[-1][1]:
        raise BadInput("Kv", f"of {kv_m3h:.2f} is outside the valve's {table[0][1]:g} to {table[-1][1]:g}")
    for (s1, k1), (s2, k2) in zip(table, table[1:], strict=False):
        if kv_m3h <= k2:
            return s1 + (s2 - s1) * (kv_m3h - k1) / (k2 - k1)
    raise AssertionError
