"""Where the water moves in one state, and which way; linear resistances stand for the real ones."""

from collections import deque
from collections.abc import Iterable, Mapping
from functools import cached_property
from typing import Literal, NamedTuple

from schemagen.network.network import Network, Pipe, PortId
from schemagen.operation.balance import Balance, balance, linear_flow, passes
from schemagen.operation.branches import Body
from schemagen.operation.circuit import Circuit, Setting, is_joint
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE

LEAST = 0.02
"""Water moves from this share on of what the strongest driver gives each taker. Common practice, no source."""

LEAST_FILLING = 1e-6
"""While a system is filled water comes wherever it can."""

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

    def __init__(self, circuit: Circuit, state: State, moves: "_Moves") -> None:
        self.network = circuit.network
        self.state = state
        self._circuit = circuit
        self._moves = moves
        self._least = LEAST_FILLING if state.sort == "filling" else LEAST

    def amount(self, edge: Edge) -> float:
        """Flow in the listed direction (from a to b inside a part), in shares of what the driver gives each taker."""
        branch, way = self._find(edge)
        return 0.0 if branch < 0 else way * self._moves.share[branch]

    def moves(self, edge: Edge) -> bool:
        return self.direction(edge) != 0

    def direction(self, edge: Edge) -> int:
        """+1 if water moves as listed (from a to b inside a part), -1 if it moves the other way, 0 if it stands."""
        amount = self.amount(edge)
        if not amount and isinstance(edge, Inside) and self._is_joint(edge.tag):
            return self._across(edge)
        return 0 if abs(amount) < self._least else 1 if amount > 0 else -1

    def uncertain(self, edge: Edge) -> bool:
        """True if the direction depends on how much the takers resist."""
        if isinstance(edge, Inside) and self._is_joint(edge.tag):
            return any(self.uncertain(p) for n in (edge.a, edge.b) for p in self._pipes(edge.tag, n))
        branch, _ = self._find(edge)
        return branch >= 0 and self._moves.turns[branch]

    def into(self, port: PortId) -> int:
        """+1 if water enters the part at this opening, -1 if it leaves there, 0 if it stands."""
        amount = sum(self.amount(p) * (1 if p.end == port else -1) for p in self._pipes(port.tag, port.port))
        return 0 if abs(amount) < self._least else 1 if amount > 0 else -1

    def part_moves(self, tag: str, openings: Iterable[str] | None = None) -> bool:
        """True if water moves through a part (between these of its openings)."""
        kind = self.network.parts[tag].kind
        names = set(kind.ports) | {OUTSIDE} if openings is None else set(openings)
        ways = {(p.a, p.b) for p in kind.passages if p.a in names and p.b in names}
        return any(self.moves(Inside(tag, a, b)) for a, b in ways)

    @cached_property
    def open_bypasses(self) -> frozenset[str]:
        """Tags of the bypass valves that pressure holds open."""
        found = zip(self._circuit.links, self._circuit.branch, strict=True)
        return frozenset(link.tag for link, n in found if link.role == "bypass" and n >= 0 and self._moves.bypass[n])

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
        """The branch on which an edge lies, -1 if on none, and +1 or -1: which way the edge runs along it."""
        circuit = self._circuit
        if isinstance(edge, Pipe):
            link, way = edge.index, 1
        elif edge in circuit.inside:
            link, way = circuit.inside[edge], 1
        elif (back := Inside(edge.tag, edge.b, edge.a)) in circuit.inside:
            link, way = circuit.inside[back], -1
        else:
            return -1, 1
        return circuit.branch[link], way * circuit.sign[link]


class _Moves(NamedTuple):
    """For branches: flow in shares, whether its direction is uncertain, whether pressure holds a bypass open."""

    share: list[float]
    turns: list[bool]
    bypass: list[bool]


class Solver:
    """Finds the flow of any state of one network. Waters that are built alike and stand alike are solved once."""

    def __init__(self, network: Network, filling: bool = False) -> None:
        self.circuit = Circuit(network, filling)
        self._solved: dict[tuple, _Moves] = {}

    @cached_property
    def carried(self) -> list[float]:
        """How many takers' water each branch carries when all of them draw, at least 1: a measure of its size."""
        carried = [1.0] * len(self.circuit.ends)
        for body in self.circuit.bodies:
            for n, flow in zip(body.branches, self._loaded(body), strict=True):
                carried[n] = max(1.0, abs(flow))
        return carried

    def _loaded(self, body: Body) -> list[float]:
        loads, plain = body.of(self.circuit.loads), body.of(self.circuit.plain_resistance)
        shut = [load or back for load, back in zip(loads, body.of(self.circuit.takes_back), strict=True)]
        resistance = [_TAKER_BLOCKS if is_shut else r for is_shut, r in zip(shut, plain, strict=True)]
        head = [load * r for load, r in zip(loads, resistance, strict=True)]
        return linear_flow(body.a, body.b, body.points, resistance, head, [True] * len(loads))[0]

    def flow(self, state: State) -> Flow:
        circuit = self.circuit
        setting = circuit.setting(state)
        count = len(circuit.ends)
        moves = _Moves([0.0] * count, [False] * count, [False] * count)
        for body, build in zip(circuit.bodies, self._builds, strict=True):
            if found := self._body(body, build, setting):
                for n, share, turns, bypass in zip(body.branches, *found, strict=True):
                    moves.share[n], moves.turns[n], moves.bypass[n] = share, turns, bypass
        return Flow(circuit, state, moves)

    @cached_property
    def _builds(self) -> list[int]:
        """A number for each body of water, the same for those that are built alike: as flats of one house often are."""
        circuit, numbers = self.circuit, {}
        resistances = circuit.plain_resistance, circuit.taker_resistance, self.carried
        builds = ((*body.a, *body.b, *(r for of in resistances for r in body.of(of))) for body in circuit.bodies)
        return [numbers.setdefault(build, len(numbers)) for build in builds]

    def _body(self, body: Body, build: int, setting: Setting) -> _Moves | None:
        """What moves in one body of water; None if nothing drives it."""
        if not any(setting.head[n] and setting.open[n] for n in body.branches):
            return None
        here = Setting(*map(body.of, setting))
        key = (build, *here.open, *here.head, *here.forward, *here.backward, *here.bypass)
        if key not in self._solved:
            self._solved[key] = self._solve(body, here)
        return self._solved[key]

    def _solve(self, body: Body, here: Setting) -> _Moves:
        carried = body.of(self.carried)
        plain, taker = body.of(self.circuit.plain_resistance), body.of(self.circuit.taker_resistance)

        def balanced(now: list[bool], factor: float = 1.0) -> Balance:
            resistance = [(p + factor * t) / size**2 for p, t, size in zip(plain, taker, carried, strict=True)]
            return balance(body.a, body.b, body.points, resistance, here.head, now, here.forward, here.backward)

        shut = [is_open and not bypass for is_open, bypass in zip(here.open, here.bypass, strict=True)]
        first = balanced(shut)
        across = [first.point_head[a] - first.point_head[b] for a, b in zip(body.a, body.b, strict=True)]
        pushed = [
            is_open and bypass and passes(push, DEAD_HEAD, forward, backward)
            for push, is_open, _, forward, backward, bypass in zip(across, *here, strict=True)
        ]
        now = [is_open or opened for is_open, opened in zip(shut, pushed, strict=True)]
        base = balanced(now).flow if any(pushed) else first.flow
        signs = [_signs(flow, here.head, carried) for flow in (base, *(balanced(now, f).flow for f in VARIANTS))]
        turns = [_turn(*of_branch) for of_branch in zip(*signs, strict=True)]
        unit = _unit(base, here.head, carried)
        return _Moves([q / unit if unit else 0.0 for q in base], turns, pushed)


def _unit(flow: list[float], head: list[float], carried: list[float]) -> float:
    """What the strongest driver gives for each taker that it is there for."""
    return max((abs(q) / size for q, h, size in zip(flow, head, carried, strict=True) if h), default=0.0)


def _signs(flow: list[float], head: list[float], carried: list[float]) -> list[int]:
    least = LEAST * _unit(flow, head, carried)
    return [0 if not q or abs(q) < least else 1 if q > 0 else -1 for q in flow] if least else [0] * len(flow)


def _turn(sign: int, *others: int) -> bool:
    """True if a direction depends on how much the takers resist."""
    return min(sign, *others) < 0 < max(sign, *others) or (sign == 0 and any(others))


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
    if port.port in kind.gives and port.tag in flow.state.giving:
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
