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

from schemagen.base.bad_input import BadInput, about, above_zero, not_negative
from schemagen.operation.friction import factor_and_slope
from schemagen.operation.linear import connected, solve_symmetric
from schemagen.operation.pump_curves import ConstantPressure, Duty, ProportionalPressure, PumpSetting

STEEP = 1e15
"""Resistance [Pa/(m³/s)] that stands for "does not pass": 1 bar drives 1e-10 m³/s, which is then set to nothing."""

SLOPE_FLOOR = 1e2
"""Slope [Pa/(m³/s)] given in the matrix to pumps at constant pressure, which have none; it steers the steps only."""

CREEP_PA = 1e-6
"""Below this loss [Pa] a resistance is taken as linear, so that links at rest keep a slope."""

LEAST_SLOPE = 30.0
"""Linear resistance [Pa/(m³/s)] added to every resistance: 0.03 Pa at 1 l/s, so that none is free of loss."""

FLOW_TOLERANCE_M3S = 1e-12
CHATTER_M3S = 1e-11
"""What is accepted after `_PATIENT_STEPS`: a check valve on the very edge of opening may flip below this flow."""

_PATIENT_STEPS = 60
_MOST_STEPS = 300
_MOST_PUMP_ROUNDS = 80


@dataclass(frozen=True, slots=True)
class Tube:
    """Straight pipe of round bore with local losses `loss_coefficient` [-] at the velocity in that bore."""

    length_m: float
    bore_m: float
    roughness_m: float
    density_kgm3: float
    viscosity_pas: float
    loss_coefficient: float = 0.0


@dataclass(frozen=True, slots=True)
class Resistance:
    """Loss [Pa] = `factor`·flow·|flow|, factor in [Pa/(m³/s)²]."""

    factor: float


@dataclass(frozen=True, slots=True)
class Pump:
    """A running pump from `start` to `end`; a pump at rest is a closed link."""

    setting: PumpSetting


Element = Tube | Resistance | Pump


@dataclass(frozen=True, slots=True)
class Link:
    """One way for water from node `start` to node `end`.

    `one_way` passes nothing from end to start (check valve). `opening_pa` > 0 passes nothing until the pressure
    difference exceeds it (bypass valve), one way. `limit_m3s` is the most that a flow limiter lets through.
    """

    name: str
    start: str
    end: str
    element: Element
    closed: bool = False
    one_way: bool = False
    opening_pa: float = 0.0
    limit_m3s: float = math.inf


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


def resistance_from_kv(kv_m3h: float, density_kgm3: float = 1000.0) -> Resistance:
    """A valve's resistance from its Kv [m³/h at 1 bar, water of 1000 kg/m³]. Raises BadInput for a Kv ≤ 0.

    Source: definition of the flow coefficient Kv, as in valve makers' tables.
    """
    above_zero(Kv=kv_m3h)
    return Resistance(1e5 * density_kgm3 / 1000 * (3600 / kv_m3h) ** 2)


def resistance_from_point(loss_pa: float, flow_m3s: float) -> Resistance:
    """A part's resistance from a maker's figure "this loss at this flow". Raises BadInput for a figure ≤ 0."""
    above_zero(loss_pa=loss_pa, flow_m3s=flow_m3s)
    return Resistance(loss_pa / flow_m3s**2)


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
            _check(link)
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
    flows = {link.name: duties.get(link.name, flow.get(link.name, 0.0)) for link in links}
    flows = {name: 0.0 if abs(q) < FLOW_TOLERANCE_M3S else q for name, q in flows.items()}
    return Solution(flows, pressure, without_level, _notes(links, flows), steps)


def _is_duty(link: Link) -> bool:
    return isinstance(link.element, Pump) and isinstance(link.element.setting, Duty) and not link.closed


def _check(link: Link) -> None:
    if link.start == link.end:
        raise BadInput("link", f"joins {link.start} to itself", "give it two different ends")
    not_negative(opening_pa=link.opening_pa)
    above_zero(limit_m3s=min(link.limit_m3s, 1.0))
    match link.element:
        case Tube() as tube:
            not_negative(length_m=tube.length_m, roughness_m=tube.roughness_m, loss_coefficient=tube.loss_coefficient)
            above_zero(bore_m=tube.bore_m, density_kgm3=tube.density_kgm3, viscosity_pas=tube.viscosity_pas)
            if tube.length_m == 0 and tube.loss_coefficient == 0:
                raise BadInput("length", "and loss coefficient are both zero", "give the pipe a length")
            if tube.roughness_m > 0.05 * tube.bore_m:
                raise BadInput("roughness", "is more than a twentieth of the bore", "give both in the same unit")
        case Resistance(factor):
            above_zero(resistance=factor)


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
    place = {n: i for i, n in enumerate(nodes)}
    a = np.array([place[link.start] for link in links], dtype=int)
    b = np.array([place[link.end] for link in links], dtype=int)
    taken = np.zeros(len(nodes))
    for node, q in drawn.items():
        taken[place[node]] += q
    is_fixed = np.zeros(len(nodes), dtype=bool)
    head = np.zeros(len(nodes))
    for node, p in fixed.items():
        is_fixed[place[node]], head[place[node]] = True, p
    body = connected(len(nodes), a, b)
    without_level = _pin_bodies(body, is_fixed, taken, nodes, duties)
    if not links:
        return {}, dict(zip(nodes, head.tolist(), strict=True)), without_level, 0
    laws = _Laws(links)
    q = np.array([start.get(link.name, math.nan) for link in links])
    guess = laws.usual_flow()
    warm = not np.isnan(q).any()
    q = q if warm else guess
    free = ~is_fixed
    number = np.cumsum(free) - 1
    feasible = False
    for step in range(1, _MOST_STEPS + 1):
        loss, slope = laws.loss(q)
        conductance = 1 / np.where(laws.is_pump, np.maximum(slope, SLOPE_FLOOR), slope)
        balance = taken + np.bincount(a, q, len(nodes)) - np.bincount(b, q, len(nodes))
        known = np.where(is_fixed, head, 0.0)
        push = conductance * (known[a] - known[b] - loss)
        out = np.bincount(a, push, len(nodes)) - np.bincount(b, push, len(nodes))
        solved = solve_symmetric(number, free, a, b, conductance, -(balance + out)[free])
        head[free] = solved
        change = conductance * (head[a] - head[b] - loss)
        share = _share_of_step(laws, q, change, known[a] - known[b]) if feasible else 1.0
        q = q + share * change
        feasible = True
        rounding = 4 * np.finfo(float).eps * np.abs(head).max() * conductance
        tolerance = FLOW_TOLERANCE_M3S if step <= _PATIENT_STEPS else CHATTER_M3S
        if share == 1.0 and np.all(np.abs(change) <= tolerance + rounding):
            pressures = dict(zip(nodes, head.tolist(), strict=True))
            return dict(zip((link.name for link in links), q.tolist(), strict=True)), pressures, without_level, step
    worst = links[int(np.abs(change).argmax())].name
    raise BadInput("flow", "does not settle", "look at its resistance and at its neighbours'", worst)


def _pin_bodies(body, is_fixed, taken, nodes, duties) -> tuple[str, ...]:
    """Give each body without a fixed pressure its first node as datum; its drawn flows must balance."""
    without: list[str] = []
    first: dict[int, int] = {}
    for i, number in enumerate(body.tolist()):
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


def _share_of_step(laws: "_Laws", q, change, known) -> float:
    """How much of the step to take: where the pull along it has gone, by bracketing; 1 unless it overshoots."""

    def pull(share: float) -> float:
        return float(((laws.loss(q + share * change)[0] - known) * change).sum())

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


class _Laws:
    """Loss [Pa] and slope [Pa·s/m³] of all links at once; no loss falls as its flow rises."""

    def __init__(self, links: Sequence[Link]) -> None:
        n = len(links)
        self.quadratic = np.zeros(n)
        self.is_pump = np.array([isinstance(link.element, Pump) for link in links])
        self.pumps = [(i, link.element.setting) for i, link in enumerate(links) if isinstance(link.element, Pump)]
        tubes = [(i, link.element) for i, link in enumerate(links) if isinstance(link.element, Tube)]
        for i, link in enumerate(links):
            if isinstance(link.element, Resistance):
                self.quadratic[i] = link.element.factor
        columns = [
            (i, t.length_m, t.bore_m, t.roughness_m, t.density_kgm3, t.viscosity_pas, t.loss_coefficient)
            for i, t in tubes
        ]
        at, length, bore, rough, density, viscosity, local = np.array(columns).reshape(-1, 7).T
        area = math.pi / 4 * bore**2
        self.tubes = at.astype(int)
        self.quadratic[self.tubes] = local * density / (2 * area**2)
        self.creep = np.sqrt(CREEP_PA / np.where(self.quadratic > 0, self.quadratic, np.inf))
        self.least = np.where(self.is_pump, 0.0, LEAST_SLOPE)
        self.least[self.tubes] = 0.0
        self.friction = length / bore * density / (2 * area**2)
        self.reynolds = density * bore / (viscosity * area)
        self.rough = rough / bore
        self.laminar = length / bore**2 * 32 * viscosity / area
        self.bore_area = area
        self.one_way = np.array([link.one_way or link.opening_pa > 0 for link in links])
        self.opening = np.array([link.opening_pa for link in links])
        self.limit = np.array([link.limit_m3s for link in links])
        self.limited = bool(np.isfinite(self.limit).any())
        self.at_limit = self._plain(np.where(np.isfinite(self.limit), self.limit, 0.0))[0]
        self.at_rest = self._plain(np.zeros(n))[0] + self.opening

    def usual_flow(self) -> np.ndarray:
        """Where to start: half a metre a second in tubes, elsewhere what 1 kPa drives."""
        flow = np.sqrt(1e3 / np.where(self.quadratic > 0, self.quadratic, 1e11))
        flow[self.tubes] = 0.5 * self.bore_area
        return np.minimum(flow, self.limit)

    def loss(self, q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        sealed = self.opening / STEEP
        value, slope = self._plain(q - sealed)
        value = value + self.opening
        back = self.one_way & (q < sealed)
        value = np.where(back, self.at_rest + STEEP * (q - sealed), value)
        slope = np.where(back, STEEP, slope)
        if self.limited:
            over = q > self.limit
            beyond = self.at_limit + self.opening + STEEP * (q - np.where(over, self.limit, 0.0))
            value, slope = np.where(over, beyond, value), np.where(over, STEEP, slope)
        return value, slope

    def _plain(self, q: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
        size = np.abs(q)
        creeps = size < self.creep
        value = q * (self.least + self.quadratic * np.where(creeps, self.creep, size))
        slope = self.least + self.quadratic * np.where(creeps, self.creep, 2 * size)
        if len(self.tubes):
            flow = size[self.tubes]
            re = np.minimum(self.reynolds * flow, 1e8)
            factor, factor_slope = factor_and_slope(re, self.rough)
            still = re < 1.0
            friction = np.where(still, self.laminar * flow, self.friction * factor * flow**2)
            rise = self.friction * (2 * factor * flow + factor_slope * self.reynolds * flow**2)
            value[self.tubes] += np.sign(q[self.tubes]) * friction
            slope[self.tubes] += np.where(still, self.laminar, rise)
        for i, setting in self.pumps:
            rise_pa, rise_slope = setting.rise(float(q[i]))
            value[i] -= rise_pa
            slope[i] -= rise_slope
        return value, slope


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
        return connected(len(nodes), [place[s.start] for s in some], [place[s.end] for s in some]).tolist()

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
