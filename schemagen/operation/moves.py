"""Where the water moves in one state, and which way; linear resistances stand for the real ones."""

from collections import deque
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Literal, NamedTuple

import numpy as np

from schemagen.network.network import Network, Pipe, PortId
from schemagen.operation.balance import balance, linear_flow
from schemagen.operation.circuit import Body, Circuit, Setting, is_joint
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE

LEAST = 0.02
"""Water moves from this share on of what the strongest driver gives each taker. Common practice, no source."""

VARIANTS = (0.1, 10.0)
"""Takers are also tried with these times their resistance; a direction that then turns is uncertain."""

DEAD_HEAD = 1 - 1e-6
"""A bypass valve opens where its pump has no other way: at this share of the pump's head across it."""

_TAKER_BLOCKS = 1e9

Side = Literal["flow", "return", "mixed", ""]


class Inside(NamedTuple):
    """The way inside a part from one opening to another (or "outside"), in either order."""

    tag: str
    a: str
    b: str


Edge = Pipe | Inside


class Flow:
    """The water of one state: for pipes, ways inside parts, openings and whole parts."""

    def __init__(self, circuit: Circuit, state: State, share: np.ndarray, turns: np.ndarray, bypasses: frozenset[str]):
        self.network = circuit.network
        self.state = state
        self.open_bypasses = bypasses
        """Tags of the bypass valves that pressure holds open."""
        self._circuit = circuit
        self._share = share
        self._turns = turns

    def amount(self, edge: Edge) -> float:
        """Flow in the listed direction (from a to b inside a part), in shares of what the driver gives each taker."""
        link, way = self._find(edge)
        return 0.0 if link < 0 else way * float(self._share[link])

    def moves(self, edge: Edge) -> bool:
        return self.direction(edge) != 0

    def direction(self, edge: Edge) -> int:
        """+1 if water moves as listed (from a to b inside a part), -1 if it moves the other way, 0 if it stands."""
        if isinstance(edge, Inside) and self._is_joint(edge.tag):
            return self._across(edge)
        amount = self.amount(edge)
        return 0 if abs(amount) < LEAST else 1 if amount > 0 else -1

    def uncertain(self, edge: Edge) -> bool:
        """True if the direction depends on how much the takers resist."""
        if isinstance(edge, Inside) and self._is_joint(edge.tag):
            return any(self.uncertain(p) for n in (edge.a, edge.b) for p in self._pipes(edge.tag, n))
        link, _ = self._find(edge)
        return link >= 0 and bool(self._turns[link])

    def into(self, port: PortId) -> int:
        """+1 if water enters the part at this opening, -1 if it leaves there, 0 if it stands."""
        amount = sum(self.amount(p) * (1 if p.end == port else -1) for p in self._pipes(port.tag, port.port))
        return 0 if abs(amount) < LEAST else 1 if amount > 0 else -1

    def part_moves(self, tag: str, openings: Iterable[str] | None = None) -> bool:
        """True if water moves through a part (between these of its openings)."""
        kind = self.network.parts[tag].kind
        names = set(kind.ports) | {OUTSIDE} if openings is None else set(openings)
        ways = {(p.a, p.b) for p in kind.passages if p.a in names and p.b in names}
        return any(self.moves(Inside(tag, a, b)) for a, b in ways)

    @cached_property
    def sides(self) -> Mapping[int, Side]:
        """By pipe index: flow side (before the first taker), return side or mixed; absent where neither is so."""
        return _sides(self)

    def _across(self, way: Inside) -> int:
        first, second = (self.into(PortId(way.tag, n)) for n in (way.a, way.b))
        return first if first == -second else 0

    def _is_joint(self, tag: str) -> bool:
        return is_joint(self.network.parts[tag].kind)

    def _pipes(self, tag: str, name: str) -> tuple[Pipe, ...]:
        return self.network.pipes_at.get(PortId(tag, name), ())

    def _find(self, edge: Edge) -> tuple[int, int]:
        if isinstance(edge, Pipe):
            return edge.index, 1
        inside = self._circuit.inside
        if edge in inside:
            return inside[edge], 1
        return inside.get(Inside(edge.tag, edge.b, edge.a), -1), -1


class Solver:
    """Finds the flow of any state of one network. Waters that stand alike in two states are solved once."""

    def __init__(self, network: Network, filling: bool = False) -> None:
        self.circuit = Circuit(network, filling)
        self._solved: dict[tuple[int, bytes], tuple[np.ndarray, np.ndarray, np.ndarray]] = {}

    @cached_property
    def carried(self) -> np.ndarray:
        """How many takers' water each branch carries when all of them draw, at least 1: a measure of its size."""
        circuit = self.circuit
        carried = np.ones(len(circuit.ends))
        for body in circuit.bodies:
            carried[body.branches] = np.maximum(1.0, np.abs(self._loaded(body)))
        return carried

    def _loaded(self, body: Body) -> np.ndarray:
        loads = self.circuit.loads[body.branches]
        plain = self.circuit.plain_resistance[body.branches]
        resistance = np.where(loads != 0, _TAKER_BLOCKS, plain)
        flow, _ = linear_flow(body.a, body.b, body.points, resistance, loads * resistance, np.ones(len(loads), bool))
        return flow

    def flow(self, state: State) -> Flow:
        circuit = self.circuit
        setting = circuit.setting(state)
        share, turns = np.zeros(len(circuit.ends)), np.zeros(len(circuit.ends), bool)
        open_bypass = np.zeros(len(circuit.ends), bool)
        for n, body in enumerate(circuit.bodies):
            branches = body.branches
            share[branches], turns[branches], open_bypass[branches] = self._body(n, body, setting)
        return self._flow(state, share, turns, open_bypass)

    def _flow(self, state: State, share: np.ndarray, turns: np.ndarray, open_bypass: np.ndarray) -> Flow:
        circuit = self.circuit
        on = circuit.branch >= 0
        branch = circuit.branch[on]
        link_share, link_turns = np.zeros(len(circuit.links)), np.zeros(len(circuit.links), bool)
        link_share[on] = share[branch] * circuit.sign[on]
        link_turns[on] = turns[branch]
        bypasses = frozenset(
            link.tag for e, link in enumerate(circuit.links)
            if link.role == "bypass" and on[e] and open_bypass[circuit.branch[e]]
        )  # fmt: skip
        return Flow(circuit, state, link_share, link_turns, bypasses)

    def _body(self, number: int, body: Body, setting: Setting) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        parts = [values[body.branches] for values in _arrays(setting)]
        is_open, head = parts[0], parts[1]
        if not (head[is_open] != 0).any():
            none = np.zeros(len(body.branches), bool)
            return np.zeros(len(body.branches)), none, none
        key = number, b"".join(values.tobytes() for values in parts)
        if key not in self._solved:
            self._solved[key] = self._solve(body, *parts)
        return self._solved[key]

    def _solve(self, body, is_open, head, forward, backward, bypass) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
        shut = is_open & ~bypass
        carried = self.carried[body.branches]
        plain, taker = (r[body.branches] for r in (self.circuit.plain_resistance, self.circuit.taker_resistance))

        def balanced(now: np.ndarray, factor: float = 1.0):
            resistance = (plain + factor * taker) / carried**2
            return balance(body.a, body.b, body.points, resistance, head, now, forward, backward)

        first = balanced(shut)
        across = first.point_head[body.a] - first.point_head[body.b]
        pushed = is_open & bypass & (((across >= DEAD_HEAD) & forward) | ((across <= -DEAD_HEAD) & backward))
        now = shut | pushed
        base = balanced(now).flow if pushed.any() else first.flow
        signs = [_signs(flow, head, carried) for flow in (base, *(balanced(now, f).flow for f in VARIANTS))]
        turns = (np.minimum.reduce(signs) < 0) & (np.maximum.reduce(signs) > 0)
        turns |= (signs[0] == 0) & np.logical_or.reduce([s != 0 for s in signs[1:]])
        unit = _unit(base, head, carried)
        return (base / unit if unit else base * 0.0), turns, pushed


def _arrays(setting: Setting) -> tuple[np.ndarray, ...]:
    return setting.open, setting.head, setting.forward, setting.backward, setting.bypass


def _unit(flow: np.ndarray, head: np.ndarray, carried: np.ndarray) -> float:
    """What the strongest driver gives for each taker that it is there for."""
    return float((np.abs(flow) / carried)[head != 0].max(initial=0.0))


def _signs(flow: np.ndarray, head: np.ndarray, carried: np.ndarray) -> np.ndarray:
    unit = _unit(flow, head, carried)
    return np.where(np.abs(flow) >= LEAST * unit, np.sign(flow), 0.0) if unit else flow * 0.0


# sides


_THROUGH = ("close-tees", "buffer-two-pipe")
"""Separating parts that lie in a run, so that water keeps its side on the way through."""


def _sides(flow: Flow) -> dict[int, Side]:
    hot = _followed(flow, _starts(flow, "flow"), "return")
    cold = _followed(flow, _starts(flow, "return"), "flow")
    return {i: "mixed" if i in hot and i in cold else "flow" if i in hot else "return" for i in sorted(hot | cold)}


def _begins(flow: Flow, port: PortId) -> Side:
    """Which side begins where water leaves here: a giver at work, a taker, or the hot or cold end of a separator."""
    kind = flow.network.parts[port.tag].kind
    if port.port in kind.takes:
        return "return"
    if port.port in kind.gives and port.tag in flow.state.sources_on:
        return "flow"
    if kind.separates and kind.name not in _THROUGH and kind.ports[port.port].media == "H":
        return {"flow": "flow", "top": "flow", "return": "return", "bottom": "return"}.get(port.port.split("-")[-1], "")
    return ""


def _starts(flow: Flow, side: Side) -> list[PortId]:
    return [port for port in flow.network.ports() if _begins(flow, port) == side and flow.into(port) < 0]


def _ends(flow: Flow, port: PortId, other: Side) -> bool:
    """True if water that enters here changes sides, or enters the body of a separator."""
    begins = _begins(flow, port)
    return begins == other or bool(begins and flow.network.parts[port.tag].kind.separates)


def _followed(flow: Flow, starts: list[PortId], until: Side) -> set[int]:
    """Indices of the pipes that water from these outlets runs through until the other side begins."""
    pipes: set[int] = set()
    queue = deque(starts)
    seen = set(starts)
    while queue:
        port = queue.popleft()
        for pipe in flow.network.pipes_at.get(port, ()):
            if flow.direction(pipe) * (1 if pipe.start == port else -1) > 0:
                pipes.add(pipe.index)
                far = flow.network.far_end(pipe, port)
                if not _ends(flow, far, until):
                    onward = [o for o in _onward(flow, far) if o not in seen]
                    seen.update(onward)
                    queue.extend(onward)
    return pipes


def _onward(flow: Flow, port: PortId) -> list[PortId]:
    kind = flow.network.parts[port.tag].kind
    out = []
    reached = {port.port}
    todo = [port.port]
    while todo:
        here = todo.pop()
        for passage in kind.passages:
            for a, b in ((passage.a, passage.b), (passage.b, passage.a)):
                if a == here and b not in reached and b != OUTSIDE and flow.direction(Inside(port.tag, a, b)) > 0:
                    reached.add(b)
                    todo.append(b)
                    out.append(PortId(port.tag, b))
    return out
