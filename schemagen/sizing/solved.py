"""The real network of one state: its pipes, parts and pumps with the data of the list, solved; or what that needs.

Each closed water that a pump moves is solved by itself. What mixes to a setting passes its design flow, as its valve
follows the temperature; tap water is left to the draw-offs.
"""

from collections.abc import Iterator, Mapping
from dataclasses import dataclass, field
from typing import ClassVar

from schemagen.base.bad_input import BadInput
from schemagen.network.groups import Groups
from schemagen.network.media import in_words
from schemagen.operation.circuit import Circuit
from schemagen.operation.circuit import Link as Joint
from schemagen.operation.links import Element, Link, Pump, Resistance
from schemagen.operation.moves import Edge, Flow, Inside
from schemagen.operation.pump_curves import Duty
from schemagen.operation.states import State
from schemagen.sizing.known import Known, known_of, listed, unique
from schemagen.sizing.plant import MIXERS, Plant
from schemagen.sizing.resistances import part_element, pipe_element, pump_setting

SOURCE = "losses of pipes and parts against the pumps' curves, by the global gradient method"

_OPEN = Resistance(1e7)
"""A way that loses next to nothing: 1 Pa at 20 L/min. Common practice, no source."""

_STILL_M3S = 1e-9
_NO_SHARE = 1e-9
_OTHER_DRIVERS = ("main", "gravity", "feed")


@dataclass(frozen=True)
class Solved:
    """What the solve of a state gives, by the links of the state's circuit.

    flow_m3s   flow of each solved link, positive from its a to its b
    rise_pa    by the tag of each running pump, or source with a pump inside: the pressure that it adds
    lacks      by the name of each water that a pump moves and that is not solved: what that needs
    assumes, notes   as in a figure
    """

    source: ClassVar[str] = SOURCE
    circuit: Circuit
    flow_m3s: Mapping[int, float] = field(default_factory=dict)
    rise_pa: Mapping[str, float] = field(default_factory=dict)
    lacks: Mapping[str, tuple[str, ...]] = field(default_factory=dict)
    assumes: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    def flow(self, edge: Edge) -> float | None:
        """Flow [m³/s] of a pipe or a way inside a part as listed; None if it is not solved."""
        link = self.circuit.inside.get(edge, -1) if isinstance(edge, Inside) else edge.index
        return self.flow_m3s.get(link)

    def direction(self, edge: Edge, otherwise: int) -> int:
        """+1, -1 or 0 by the solved flow, or as given where the edge is not solved."""
        q = self.flow(edge)
        return otherwise if q is None else 0 if abs(q) < _STILL_M3S else 1 if q > 0 else -1


def solved(plant: Plant, state: State, design_flow) -> Solved:
    """The solve of one state. `design_flow(tag, a, b)` is the design flow inside a mixing part, as Known."""
    circuit, flow = plant.operation.circuit(state), plant.operation.flow(state)
    flows: dict[int, float] = {}
    rises: dict[str, float] = {}
    lacks: dict[str, tuple[str, ...]] = {}
    assumes: list[str] = []
    notes: list[str] = []
    for links in _waters(circuit, state, flow):
        net = _Net(plant, circuit, state, flow, design_flow)
        for e in links:
            net.add(e)
        needs = unique(net.needs) or net.solve()
        if needs:
            lacks[_name(plant, circuit, state, links)] = needs
            continue
        flows |= net.flows
        rises |= net.rises
        assumes += net.assumes
        notes += net.notes
    return Solved(circuit, flows, rises, lacks, unique(assumes), unique(notes))


def _waters(circuit: Circuit, state: State, flow: Flow) -> Iterator[list[int]]:
    """The links of each closed water in which a pump runs: those that may move, bypass valves included."""
    setting = circuit.setting(state)
    kept = []
    for e, link in enumerate(circuit.links):
        n = circuit.branch[e]
        if n >= 0 and setting.open[n] and (setting.bypass[n] or abs(flow.amount(edge_of(circuit, link))) > _NO_SHARE):
            kept.append(e)
    groups: Groups[int] = Groups(dict.fromkeys(p for e in kept for p in (circuit.links[e].a, circuit.links[e].b)))
    for e in kept:
        groups.join(circuit.links[e].a, circuit.links[e].b)
    number = groups.numbered()[0]
    there: dict[int, list[int]] = {}
    for e in kept:
        there.setdefault(number[circuit.links[e].a], []).append(e)
    for links in there.values():
        here = [circuit.links[e] for e in links]
        driven = [link for link in here if link.role and circuit.head(link, state)]
        closed = all(0 not in (link.a, link.b) for link in here)
        piped = any(link.pipe >= 0 for link in here)
        if closed and piped and driven and not any(link.role in _OTHER_DRIVERS for link in driven):
            yield links


def _name(plant: Plant, circuit: Circuit, state: State, links: list[int]) -> str:
    """A water by what is in it and what moves it: "heating water at HP1"."""
    here = [circuit.links[e] for e in links]
    mover = next(link.tag for link in here if link.role and circuit.head(link, state))
    medium = next((m for link in here if link.pipe >= 0 and (m := plant.waters.medium[link.pipe])), "water")
    return f"{in_words(medium)} at {mover}"


def edge_of(circuit: Circuit, link: Joint) -> Edge:
    """The pipe, or the way inside a part, that a link of a circuit stands for."""
    if link.pipe >= 0:
        return circuit.network.pipes[link.pipe]
    return Inside(link.tag, link.passages[0].a, link.passages[0].b)


class _Net:
    """The links of one water as the solve wants them, and what is missing."""

    def __init__(self, plant: Plant, circuit: Circuit, state: State, flow: Flow, design_flow) -> None:
        self.plant, self.circuit, self.state, self.flow = plant, circuit, state, flow
        self.design_flow = design_flow
        self.links: list[Link] = []
        self.of: dict[int, str] = {}
        self.pumps: dict[str, Link] = {}
        self.needs: list[str] = []
        self.assumes: list[str] = []
        self.flows: dict[int, float] = {}
        self.rises: dict[str, float] = {}
        self.notes: tuple[str, ...] = ()

    def add(self, e: int) -> None:
        link = self.circuit.links[e]
        if link.pipe >= 0:
            pipe = self.plant.network.pipes[link.pipe]
            self._lay(e, pipe.name, self._have(pipe_element(self.plant, pipe, self.flow.direction(pipe))))
            return
        part, (a, b) = self.plant.network.parts[link.tag], (link.passages[0].a, link.passages[0].b)
        name = f"{link.tag} from {a} to {b}"
        if part.kind.name in MIXERS:
            self._mixer(e, name, a, b)
        elif link.role == "pump":
            running = bool(self.circuit.head(link, self.state))
            rest = Known(needs=(f"what water loses in {link.tag} at rest",))
            setting = self._have(pump_setting(part) if running else rest)
            self._pump(e, link.tag, name, setting, bool(part.value("has-check")))
        elif link.role == "source" and self.circuit.head(link, self.state):
            self._source(e, name)
        elif link.role == "bypass":
            opening = self._have(listed(part, "setting"))
            element = self._have(part_element(self.plant, part, a, b))
            self._lay(e, name, element, one_way=True, opening_pa=opening or 0.0)
        else:
            one_way = all(p.sort == "one-way" for p in link.passages)
            self._lay(e, name, self._have(part_element(self.plant, part, a, b)), one_way=one_way)

    def _have(self, known: Known):
        self.needs += known.needs
        self.assumes += known.assumes
        return known.value

    def _lay(self, e: int, name: str, element: Element | None, start: str = "", **more) -> Link | None:
        if element is None:
            return None
        link = self.circuit.links[e]
        self.of[e] = name
        self.links.append(Link(name, start or f"p{link.a}", f"p{link.b}", element, **more))
        return self.links[-1]

    def _pump(self, e: int, tag: str, name: str, setting, has_check: bool, start: str = "") -> None:
        if setting is not None:
            self.pumps[tag] = self._lay(e, name, Pump(setting), start, one_way=has_check)

    def _source(self, e: int, name: str) -> None:
        """A source with a pump inside: its curve and its own loss, or the flow that it is said to hold."""
        link = self.circuit.links[e]
        part = self.plant.network.parts[link.tag]
        setting, own = pump_setting(part), listed(part, "flow")
        if not setting and own and not (part.value("pump-curve")):
            self.assumes.append(f"{link.tag} holds its listed flow")
            self._pump(e, link.tag, name, Duty(own.value), False)
            return
        loss = part_element(self.plant, part, link.passages[0].a, link.passages[0].b)
        middle = ""
        if loss:
            middle = f"inside {link.tag}"
            self.links.append(Link(f"loss of {link.tag}", f"p{link.a}", middle, loss.value))
            self.assumes += loss.assumes
        else:
            self.assumes.append(f"the curve of {link.tag} is what is left at its openings")
        self._pump(e, link.tag, name, self._have(setting), True, middle)

    def _mixer(self, e: int, name: str, a: str, b: str) -> None:
        """Into its mixed opening a mixing part passes the design flows; the way past it is open."""
        link = self.circuit.links[e]
        part = self.plant.network.parts[link.tag]
        if b != MIXERS[part.kind.name][2]:
            self._lay(e, name, self._have(Known(_OPEN)))
            return
        flow = self._have(known_of(self.design_flow(link.tag, a, b)))
        if flow is not None:
            self.assumes.append(f"{link.tag} passes its design flow, as its valve follows the temperature")
            self._lay(e, name, Pump(Duty(abs(flow))))

    def solve(self) -> tuple[str, ...]:
        """Solves; returns why it cannot, in the solver's words."""
        from schemagen.operation.hydraulics import solve

        try:
            found = solve(self.links)
        except BadInput as bad:
            return (f"data that fit: {bad}",)
        self.flows = {e: found.flow_m3s[name] for e, name in self.of.items()}
        self.rises = {tag: found.rise_pa(link) for tag, link in self.pumps.items()}
        self.notes = found.notes
        return ()
