"""How water spreads through a network of links, from their resistances and pumps: the global gradient method.

Source: Todini and Pilati's gradient method for looped networks (from memory). It seeks the flows whose losses agree
with one pressure per node; with losses that never fall as the flow rises there is one answer, and a line search
along each Newton step makes sure that it is found.

All is SI: m³/s, Pa, m. Pressures are free of static height (p + ρ·g·z), so heights cancel.
"""

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass, replace

import numpy as np

from schemagen.base.bad_input import BadInput, about
from schemagen.operation.linear import connected, solve_nodes
from schemagen.operation.links import Link, Pump, check
from schemagen.operation.losses import STEEP, Losses
from schemagen.operation.pump_curves import ConstantPressure, Duty, ProportionalPressure

SLOPE_FLOOR = 1e2
"""Slope [Pa/(m³/s)] given in the matrix to pumps at constant pressure, which have none; it steers the steps only."""

FLOW_TOLERANCE_M3S = 1e-12
CHATTER_M3S = 1e-11
"""What is accepted after `_PATIENT_STEPS`: a check valve on the very edge of opening may flip below this flow."""

_PATIENT_STEPS = 60
_MOST_STEPS = 300
_MOST_PUMP_ROUNDS = 80


@dataclass(frozen=True, slots=True)
class Solution:
    """Flow of every link [m³/s], positive from start to end, and pressure of every node [Pa].

    A body of water without a fixed pressure has its pressures counted from its first node; `without_level` lists the
    first node of each. `notes` are warnings in words.
    """

    flow_m3s: Mapping[str, float]
    pressure_pa: Mapping[str, float]
    without_level: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    steps: int = 0

    def rise_pa(self, link: Link) -> float:
        """How much higher the pressure is at the link's end than at its start [Pa]."""
        return self.pressure_pa[link.end] - self.pressure_pa[link.start]


def solve(
    links: Sequence[Link],
    fixed_pa: Mapping[str, float] | None = None,
    drawn_m3s: Mapping[str, float] | None = None,
) -> Solution:
    """Flows and pressures of a network of links.

    `fixed_pa` are nodes of known pressure (the expansion vessel, a main) [Pa]; `drawn_m3s` is what leaves at a node
    (a tap) [m³/s], negative if it enters. Nodes are named by the links.
    Raises BadInput, naming link or node, for a duplicate name, a link from a node to itself, impossible data, a link
    without any loss, a drawn flow or duty that cannot get round.
    """
    fixed, drawn = dict(fixed_pa or {}), dict(drawn_m3s or {})
    for link in links:
        with about(link.name):
            check(link)
    _check_names(links, fixed, drawn)
    _check_pump_rings(links)
    nodes = list(dict.fromkeys(n for link in links for n in (link.start, link.end)))
    duties = {link.name: link.element.setting.flow_m3s for link in links if _is_duty(link)}
    for link in links:
        if link.name in duties:
            drawn[link.start] = drawn.get(link.start, 0.0) + duties[link.name]
            drawn[link.end] = drawn.get(link.end, 0.0) - duties[link.name]
    open_links = [link for link in links if not link.closed and link.name not in duties]
    flow, pressure, without_level, steps = _with_pump_controls(open_links, nodes, fixed, drawn, duties)
    shut = _shut(open_links, flow)
    if shut:
        rest = [link for link in open_links if link.name not in shut]
        flow, exact, _, more = _with_pump_controls(rest, nodes, fixed, drawn, duties, flow)
        steps += more
        cut_off = _cut_off(links, shut, duties, nodes, fixed)
        pressure = {n: pressure[n] if n in cut_off else exact[n] for n in nodes}
    flows = {link.name: duties.get(link.name, _reported(link, flow.get(link.name, 0.0))) for link in links}
    return Solution(flows, pressure, without_level, _notes(links, flows), steps)


def _reported(link: Link, flow_m3s: float) -> float:
    """The flow without what is only rounding, or seeps back through a valve that passes one way."""
    one_way = link.one_way or link.opening_pa > 0
    return 0.0 if abs(flow_m3s) < FLOW_TOLERANCE_M3S or (one_way and flow_m3s < 0) else flow_m3s


def _is_duty(link: Link) -> bool:
    return isinstance(link.element, Pump) and isinstance(link.element.setting, Duty) and not link.closed


def _check_names(links: Sequence[Link], fixed: Mapping[str, float], drawn: Mapping[str, float]) -> None:
    seen: set[str] = set()
    nodes: set[str] = set()
    for link in links:
        if link.name in seen:
            raise BadInput("link", "is listed twice", "name each link once", link.name)
        seen.add(link.name)
        nodes |= {link.start, link.end}
    for kind, given in (("fixed pressure", fixed), ("drawn flow", drawn)):
        for node, value in given.items():
            if node not in nodes:
                raise BadInput(kind, "is given at a node that no link reaches", "", node)
            if not math.isfinite(value):
                raise BadInput(kind, f"must be a finite number, not {value:g}", "", node)


def _check_pump_rings(links: Sequence[Link]) -> None:
    """Pumps that give the same pressure at any flow must have some resistance in their ring."""
    group: dict[str, str] = {}

    def top(node: str) -> str:
        while group.setdefault(node, node) != node:
            node = group[node]
        return node

    for link in links:
        setting = link.element.setting if isinstance(link.element, Pump) and not link.closed else None
        if isinstance(setting, ConstantPressure | ProportionalPressure) and setting.limit is None:
            start, end = top(link.start), top(link.end)
            if start == end:
                raise BadInput(
                    "pump", "stands in a ring of pumps with no resistance in it",
                    "list the pipes between the pumps, or their full-speed curves", link.name,
                )  # fmt: skip
            group[end] = start


def _with_pump_controls(links, nodes, fixed, drawn, duties, start=None):
    """Solve again and again with the pressure that each proportional pump holds, until it no longer changes."""
    controls = {
        link.name: link.element.setting
        for link in links
        if isinstance(link.element, Pump) and isinstance(link.element.setting, ProportionalPressure)
    }
    flow, steps = dict(start or {}), 0
    for _ in range(_MOST_PUMP_ROUNDS):
        held = {n: Pump(control.held_at(flow.get(n, control.design_flow_m3s))) for n, control in controls.items()}
        now = [replace(link, element=held[link.name]) if link.name in held else link for link in links]
        before = flow
        flow, pressure, without_level, more = _solve_open(now, nodes, fixed, drawn, duties, flow)
        steps += more
        if all(abs(flow[n] - before.get(n, math.inf)) <= FLOW_TOLERANCE_M3S for n in controls):
            return flow, pressure, without_level, steps
    raise BadInput("pump control", "finds no steady state", "set the pump to constant pressure", next(iter(controls)))


def _solve_open(links, nodes, fixed, drawn, duties, start):
    """The solve of links that are all open, from `start` flows if they cover every link."""
    place = {n: i for i, n in enumerate(nodes)}
    a = np.array([place[link.start] for link in links], dtype=int)
    b = np.array([place[link.end] for link in links], dtype=int)
    taken, head, is_fixed = np.zeros(len(nodes)), np.zeros(len(nodes)), np.zeros(len(nodes), dtype=bool)
    for node, flow in drawn.items():
        taken[place[node]] += flow
    for node, pressure in fixed.items():
        is_fixed[place[node]], head[place[node]] = True, pressure
    without_level = _pin_bodies(connected(len(nodes), a.tolist(), b.tolist()), is_fixed, taken, nodes, duties)
    if not links:
        return {}, dict(zip(nodes, head.tolist(), strict=True)), without_level, 0
    losses = Losses(links)
    q = np.array([start.get(link.name, math.nan) for link in links])
    if np.isnan(q).any():
        q = losses.usual_flow()
    q, head, steps = _newton(losses, q, head, is_fixed, taken, a, b, [link.name for link in links])
    flows = dict(zip((link.name for link in links), q.tolist(), strict=True))
    return flows, dict(zip(nodes, head.tolist(), strict=True)), without_level, steps


def _newton(losses, q, head, is_fixed, taken, a, b, names):
    """Flows and pressures by Newton's steps: the first makes the nodes balance, the others make the losses agree."""
    fixed, starts, ends = is_fixed.tolist(), a.tolist(), b.tolist()
    known = np.where(is_fixed, head, 0.0)

    def out_of_nodes(flow):
        return np.bincount(a, flow, len(head)) - np.bincount(b, flow, len(head))

    for step in range(1, _MOST_STEPS + 1):
        loss, slope = losses.at(q)
        conductance = 1 / np.where(losses.is_pump, np.maximum(slope, SLOPE_FLOOR), slope)
        push = conductance * (known[a] - known[b] - loss)
        right = -(taken + out_of_nodes(q) + out_of_nodes(push))
        head = known + np.array(solve_nodes(fixed, starts, ends, conductance.tolist(), right.tolist()))
        change = conductance * (head[a] - head[b] - loss)
        share = _share_of_step(losses, q, change, known[a] - known[b]) if step > 1 else 1.0
        q = q + share * change
        rounding = 4 * np.finfo(float).eps * np.abs(head).max() * conductance
        tolerance = FLOW_TOLERANCE_M3S if step <= _PATIENT_STEPS else CHATTER_M3S
        if share == 1.0 and np.all(np.abs(change) <= tolerance + rounding):
            return q, head, step
    worst = names[int(np.abs(change).argmax())]
    raise BadInput("flow", "does not settle", "look at its resistance and at those beside it", worst)


def _pin_bodies(body, is_fixed, taken, nodes, duties) -> tuple[str, ...]:
    """Give each body without a fixed pressure its first node as datum; its drawn flows must balance."""
    without: list[str] = []
    first: dict[int, int] = {}
    for i, number in enumerate(body):
        first.setdefault(number, i)
    total = np.bincount(body, taken, len(nodes))
    has_level = np.bincount(body, is_fixed, len(nodes)) > 0
    for number, i in first.items():
        if has_level[number]:
            continue
        if abs(total[number]) > FLOW_TOLERANCE_M3S:
            cure = "open a way round for the pump" if duties else "give a node of fixed pressure, or open the way to it"
            raise BadInput("drawn flow", "has no way in or out of its body of water", cure, nodes[i])
        is_fixed[i] = True
        without.append(nodes[i])
    return tuple(without)


def _share_of_step(losses: Losses, q, change, known) -> float:
    """How much of the step to take: where the pull along it has gone, by bracketing; 1 unless it overshoots."""

    def pull(share: float) -> float:
        return float(((losses.at(q + share * change)[0] - known) * change).sum())

    start, end = pull(0.0), pull(1.0)
    if not (start < 0 and end > 0 and end > 0.5 * -start):
        return 1.0
    low, high, f_low, f_high = 0.0, 1.0, start, end
    for _ in range(30):
        middle = 0.5 * (low + high)
        secant = low + (high - low) * f_low / (f_low - f_high)
        share = min(max(secant, low + 0.05 * (middle - low)), high - 0.05 * (high - middle))
        value = pull(share)
        if abs(value) <= 0.1 * -start:
            return share
        if value < 0:
            low, f_low, f_high = share, value, 0.5 * f_high
        else:
            high, f_high, f_low = share, value, 0.5 * f_low
    return max(low, 1e-3)


def _shut(links: Sequence[Link], flow: Mapping[str, float]) -> set[str]:
    """The one-way links that pass nothing: check valves pressed shut, bypass valves not yet open."""
    return {
        link.name
        for link in links
        if (link.one_way or link.opening_pa > 0) and flow[link.name] <= link.opening_pa / STEEP
    }


def _cut_off(links, shut, duties, nodes, fixed) -> set[str]:
    """Nodes that only shut valves join to a fixed pressure: what seeps past them sets their pressure."""
    place = {n: i for i, n in enumerate(nodes)}
    whole = [link for link in links if not link.closed and link.name not in duties]
    rest = [link for link in whole if link.name not in shut]

    def bodies(some) -> list[int]:
        return connected(len(nodes), [place[s.start] for s in some], [place[s.end] for s in some])

    before, after = bodies(whole), bodies(rest)
    kept: dict[int, int] = {}
    for node in (*fixed, *nodes):
        kept.setdefault(before[place[node]], after[place[node]])
    levels = {after[place[n]] for n in fixed} | set(kept.values())
    return {n for n in nodes if after[place[n]] not in levels}


def _notes(links: Sequence[Link], flow: Mapping[str, float]) -> tuple[str, ...]:
    notes = []
    for link in links:
        if not isinstance(link.element, Pump) or link.closed:
            continue
        if flow[link.name] < 0:
            notes.append(f"{link.name}: pump overpowered, water goes through it backwards")
        elif flow[link.name] == 0:
            notes.append(f"{link.name}: pump runs and moves no water")
    return tuple(notes)
