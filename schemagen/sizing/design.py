"""The design of a network in each state: flows wanted by emitters and sources, carried on, and the temperatures."""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from math import exp
from typing import TYPE_CHECKING, NamedTuple

from schemagen.network.groups import Groups
from schemagen.network.network import Part, PortId
from schemagen.operation.circuit import is_joint
from schemagen.operation.moves import Edge, Inside
from schemagen.operation.states import State
from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.carry import IN_RING, Carried, carry, total
from schemagen.sizing.emitters import loop_flow, radiator_output
from schemagen.sizing.figure import Figure
from schemagen.sizing.flow import carried_flow, flow_for_heat
from schemagen.sizing.known import Known, attempt, first_known, known_of, listed, once, unique, usual, work
from schemagen.sizing.plant import HEAT_PUMPS, MIXERS, PRACTICE, Plant, giving, taking
from schemagen.sizing.taken import EXCHANGERS, Taken, setting_of
from schemagen.sizing.warm import Stream, warm

if TYPE_CHECKING:
    from schemagen.sizing.solved import Solved

DESIGN_STATES = ("named", "all-calls", "call")
"""Sorts of state in which heat is carried, the fullest first."""

MOVING_STATES = (*DESIGN_STATES, "tap-open")

_SET_FLOW = ("flow-regulator", "balancing-valve", "lockshield-valve", "pump", "wholesome-circulating-pump")
_CISTERN = "cold-water-cistern"
"""What it gives comes in again through its float valve."""

_ROUNDS = 6
DRAWN_C = 40.0
"""Temperature [°C] at which water is drawn from mixer taps. Common practice, no source."""

_LEAST_HEAT_FROM_HOT_K = 0.1


class Way(NamedTuple):
    """A pipe, or the way inside a part from opening `a` to `b`, between two points; `sign` +1: moves as listed."""

    start: int
    end: int
    sign: int
    pipe: int = -1
    tag: str = ""
    a: str = ""
    b: str = ""
    body: int | None = None


@dataclass(frozen=True)
class InState:
    """What the design gives in one state: the moving ways, the flows given, what is carried, and temperatures by point.

    `lacks` names, for each body of water, the inputs without which its flows stay open. `solved` are the ways whose
    flow is that of the real network, `network` the solve of the state with what it needs or assumes.
    """

    state: State
    ways: tuple[Way, ...]
    given: Mapping[int, tuple[str, Known]]
    carried: Carried
    temperature_c: Mapping[int, float]
    assumes: tuple[str, ...]
    lacks: Mapping[int | None, tuple[str, ...]]
    solved: frozenset[int] = frozenset()
    network: "Solved | None" = None

    @cached_property
    def pipe_ways(self) -> Mapping[int, int]:
        """The way of each moving pipe, by its index."""
        return {way.pipe: w for w, way in enumerate(self.ways) if way.pipe >= 0}

    @cached_property
    def values(self) -> Mapping[int, float]:
        return {w: flow.value for w, (_, flow) in self.given.items()}

    def flow(self, w: int) -> float | None:
        """Flow [m³/s] of a way, positive in its listed direction; None if it is open."""
        shares = self.carried.shares.get(w)
        return total(shares, self.values) if shares else None

    def figure(self, w: int) -> Figure:
        """The flow of a way as a figure: that of the real network, or the sum of the design flows that it carries."""
        if w in self.solved:
            return Figure(
                "flow in the network", abs(self.values[w]), "m³/s", "L/min", source=self.network.source,
                assumptions=self.network.assumes,
            )  # fmt: skip
        if not self.carried.shares.get(w):
            return work(carried_flow, Known(needs=self.needs(w)))
        sign = -1 if (self.flow(w) or 0.0) < 0 else 1
        parts = [(k, sign * count) for k, count in self.carried.shares[w].items()]
        terms = tuple((self.given[k][0], count * self._way_of(k), abs(self.values[k])) for k, count in parts)
        return work(carried_flow, Known(terms, unique(t for k, _ in parts for t in self.given[k][1].assumes)))

    def needs(self, w: int) -> tuple[str, ...]:
        """What the flow of a way needs to be known."""
        return self.lacks.get(self.ways[w].body) or (f"more data: it {self.carried.open.get(w, IN_RING)}",)

    def _way_of(self, k: int) -> int:
        return -1 if self.values[k] < 0 else 1

    def way_inside(self, tag: str, a: str, b: str) -> int | None:
        return next((w for w, way in enumerate(self.ways) if way.tag == tag and {way.a, way.b} == {a, b}), None)

    def takers_of(self, w: int) -> tuple[str, ...]:
        """The names of the given flows that a way carries."""
        return tuple(self.given[k][0] for k in self.carried.shares.get(w, {}))


class Design:
    """Design flows and temperatures of a plant, worked out for a state when it is first asked for."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.network = plant, plant.network
        self.ways = once(lambda state: tuple(self._ways(state)), "name")
        self.of = once(self._of, "name")
        self.real = once(self._real, "name")
        self.heat = once(self._heat, "tag")
        self.flow = once(self._flow, "tag")
        self.source_flow = once(self._source_flow, "tag")
        self._parted: tuple[Sequence[Way], dict[int, int], list[list[int]]] = (), {}, []

    # points and ways

    @cached_property
    def point(self) -> dict[PortId | str, int]:
        """The point of each opening: joints and cold cisterns are one point, separators a hot one above and a cool one
        below."""
        groups: Groups[PortId | str] = Groups([OUTSIDE, *self.network.ports()])
        for part in self.network.parts.values():
            names = [n for n in part.kind.ports if part.kind.ports[n].role != "dead"]
            if is_joint(part.kind):
                self._join(groups, part, names)
            elif part.kind.name == _CISTERN:
                self._join(groups, part, [n for n in names if n != "overflow"])
            elif part.kind.separates:
                self._join(groups, part, [n for n in names if is_top(part, n)])
                self._join(groups, part, [n for n in names if is_bottom(part, n)])
        return groups.numbered()[0]

    @staticmethod
    def _join(groups, part: Part, names: list[str]) -> None:
        for a, b in zip(names, names[1:], strict=False):
            groups.join(PortId(part.tag, a), PortId(part.tag, b))

    def at(self, tag: str, name: str) -> int:
        return self.point[OUTSIDE if name == OUTSIDE else PortId(tag, name)]

    def _ways(self, state: State, network: "Solved | None" = None) -> Iterator[Way]:
        flow = self.plant.operation.flow(state)

        def direction(edge: Edge) -> int:
            return network.direction(edge, flow.direction(edge)) if network else flow.direction(edge)

        for way, edges in self._as_listed:
            for edge in edges:
                if sign := direction(edge):
                    yield way if sign > 0 or self.is_heart(way) else way._replace(sign=sign)
                    break

    @cached_property
    def _as_listed(self) -> list[tuple[Way, Sequence[Edge]]]:
        """Every way as it would move if it moved as listed, and the edges of which one has to move for it."""
        point, bodies = self.point, self.plant.waters.body
        found: list[tuple[Way, Sequence[Edge]]] = [
            (Way(point[pipe.start], point[pipe.end], 1, pipe=pipe.index, body=bodies[pipe.index]), (pipe,))
            for pipe in self.network.pipes
        ]
        for part in self.network.parts.values():
            if not is_joint(part.kind) and part.kind.name != _CISTERN:
                found += self._ways_in(part)
        return found

    def _ways_in(self, part: Part) -> Iterator[tuple[Way, Sequence[Edge]]]:
        """The ways inside a part between two points; that between the ends of a separator moves when its pipes do."""
        tag = part.tag
        for a, b in dict.fromkeys((p.a, p.b) for p in part.kind.passages if p.sort in ("both", "one-way")):
            start, end = self.at(tag, a), self.at(tag, b)
            if not self._in_body(part, a, b) and start != end:
                yield Way(start, end, 1, tag=tag, a=a, b=b, body=self.plant.body_at(tag, a, b)), (Inside(tag, a, b),)
        own = [n for n in part.kind.ports if _in_heart(part, n)] if part.kind.separates else []
        if pipes := [p for n in own for p in self.network.pipes_at.get(PortId(tag, n), ())]:
            top, bottom = heart(part)
            body = self.plant.body_at(tag, top, bottom)
            yield Way(self.at(tag, top), self.at(tag, bottom), 1, tag=tag, a=top, b=bottom, body=body), pipes

    @staticmethod
    def _in_body(part: Part, a: str, b: str) -> bool:
        return part.kind.separates and _in_heart(part, a) and _in_heart(part, b)

    # what emitters and sources want

    def supply_c(self, part: Part) -> Known:
        """Flow temperature [°C] for which an emitter is designed: its own, what reaches it, or its source's."""
        own = listed(part, "flow-temperature")
        if own:
            return own
        reaching = self._reaching.get(part.tag)
        if reaching is not None:
            return reaching
        source = self.plant.source_of(part)
        if source is None:
            return Known(needs=(f"flow-temperature at {part.tag}",))
        known = self.plant.flow_c(source)
        return Known(known.value, (*known.assumes, f"{source.tag}'s flow temperature reaches {part.tag}"), known.needs)

    @cached_property
    def _reaching(self) -> dict[str, Known]:
        """The temperature that arrives at each emitter in the fullest state that tells it."""
        found: dict[str, Known] = {}
        for state in self._in_order(DESIGN_STATES):
            if len(found) == len(self.emitters):
                break
            ways = self.ways(state)
            fixed, assumes = self._fixed(state, ways)
            at = warm([_stream(way, None, self._unsettled_drop(way)) for way in ways if not self.is_heart(way)], fixed)
            for way in ways:
                part = self.network.parts.get(way.tag)
                if part and is_emitter(part) and way.a in part.kind.takes and (t := at.get(_upstream(way))) is not None:
                    found.setdefault(part.tag, Known(t, assumes))
        return found

    def _in_order(self, sorts: tuple[str, ...]) -> list[State]:
        return sorted(self.plant.operation.of_sort(*sorts), key=lambda s: sorts.index(s.sort))

    def _unsettled_drop(self, way: Way) -> float | None:
        part = self.network.parts.get(way.tag)
        return None if part and way.a in part.kind.takes and way.b in part.kind.takes else 0.0

    def _heat(self, part: Part) -> Known | Figure:
        """Design heat [W] of an emitter: at its design temperatures where it is rated by a difference."""
        output = listed(part, "output")
        if not output or "rated-difference" not in part.kind.attributes:
            return output
        exponent, rated = self.rating(part)
        supply, difference = self.supply_c(part), self.plant.difference(part)
        back = attempt(lambda t, d: t - d, supply, difference)
        return work(radiator_output, rated, supply, back, self.plant.room_c(part), exponent)

    @staticmethod
    def rating(part: Part) -> tuple[Known, Known]:
        """The exponent of a radiator and its output [W] at a mean excess of 50 K."""
        exponent = usual(part, "exponent", "radiator exponent 1.3 (EN 442, as usual)")
        difference = usual(part, "rated-difference", "radiators are rated at 50 K over the room (EN 442)")
        return exponent, attempt(lambda q, d, n: q * (50 / d) ** n, listed(part, "output"), difference, exponent)

    def _flow(self, part: Part) -> Known | Figure:
        """Design flow [m³/s] of an emitter: as listed, or what carries its heat."""
        if part.value("flow") is not None:
            return Known(part.value("flow"))
        body = self.plant.body_at(part.tag, *part.kind.takes)
        fluid = self.plant.fluid(body) if body is not None else Known(needs=(f"a pipe at {part.tag}",))
        if part.kind.name.startswith("underfloor"):
            return work(loop_flow, self.heat(part), fluid, self.plant.difference(part))
        return work(flow_for_heat, self.heat(part), self.plant.difference(part), fluid)

    def _source_flow(self, part: Part) -> Known | Figure:
        """Design flow [m³/s] of a source: as listed, or what carries its output."""
        if part.value("flow") is not None:
            return Known(part.value("flow"))
        body = self.plant.body_at(part.tag, *part.kind.gives)
        fluid = self.plant.fluid(body) if body is not None else Known(needs=(f"a pipe at {part.tag}",))
        return work(flow_for_heat, listed(part, "output"), self.plant.difference(part), fluid)

    @cached_property
    def emitters(self) -> tuple[Part, ...]:
        return tuple(p for p in self.network.parts.values() if is_emitter(p))

    # one state

    def _of(self, state: State) -> InState:
        ways = self.ways(state)
        taken = Taken(self, state, ways)
        given = dict(self._wanted(state, taken))
        fixed, assumes = self._fixed(state, ways)
        carried, at = self._settle(taken, given, fixed)
        for _ in range(_ROUNDS):
            more = self._mixed(ways, given, carried, at) or self._set_by_parts(state, ways, given, carried)
            warmed = self._warmed(taken, given, carried, at, fixed)
            if not (more or warmed):
                break
            given, fixed = given | more, fixed | warmed
            carried, at = self._settle(taken, given, fixed)
        lacks = self._lacks(taken, carried)
        return InState(state, ways, given, carried, at, unique((*assumes, *taken.assumes)), lacks)

    def _real(self, state: State) -> InState:
        """What the real network gives in a state, where its data are known; design flows elsewhere."""
        from schemagen.sizing.solved import solved

        base = self.of(state)
        network = solved(self.plant, state, lambda tag, a, b: self._inside_mixer(base, tag, a, b))
        if not network.flow_m3s:
            return replace(base, network=network)
        ways = tuple(self._ways(state, network))
        before = {_key(way): given for way, given in ((base.ways[w], known) for w, known in base.given.items())}
        given = {w: before[_key(way)] for w, way in enumerate(ways) if _key(way) in before}
        through = [w for w, way in enumerate(ways) if not self.is_heart(way)]
        mine = {w: q for w in through if (q := network.flow(self._edge(ways[w]))) is not None}
        given |= {w: (ways[w].tag or self.network.pipes[ways[w].pipe].name, Known(q)) for w, q in mine.items()}
        fixed, assumes = self._fixed(state, ways)
        taken = Taken(self, state, ways)
        carried, at = self._settle(taken, given, fixed)
        if warmed := self._warmed(taken, given, carried, at, fixed):
            carried, at = self._settle(taken, given, fixed | warmed)
        lacks, assumes = self._lacks(taken, carried), unique((*assumes, *taken.assumes))
        return InState(state, ways, given, carried, at, assumes, lacks, frozenset(mine), network)

    def _edge(self, way: Way) -> Edge:
        return self.network.pipes[way.pipe] if way.pipe >= 0 else Inside(way.tag, way.a, way.b)

    @staticmethod
    def _inside_mixer(base: InState, tag: str, a: str, b: str) -> Known:
        w = base.way_inside(tag, a, b)
        flow = None if w is None else base.flow(w)
        return Known(flow) if flow is not None else Known(needs=base.needs(w) if w is not None else (f"flow of {tag}",))

    def _lacks(self, taken: Taken, carried: Carried) -> dict[int | None, tuple[str, ...]]:
        """By body of water: what its open taps, its takers, or else its pumps and sources do not say of their flow."""
        state, ways = taken.state, taken.ways
        wants: dict[int | None, list[str]] = {}
        drivers: dict[int | None, list[str]] = {}
        for w, way in enumerate(ways):
            part = self.network.parts.get(way.tag)
            if part is None or w in carried.shares:
                continue
            if way.tag in state.outlets_open and way.b == OUTSIDE:
                for body in {self.plant.body_at(way.tag, n): None for n in part.kind.ports}:
                    wants.setdefault(body, []).append(f"draw-off of {way.tag}")
            elif self.takes(way):
                needs = known_of(self.flow(part)).needs if is_emitter(part) else taken.wanted(way).needs
                wants.setdefault(way.body, []).extend(needs)
            elif part.kind.driver == "pump" or way.tag in self.plant.source_tags:
                drivers.setdefault(way.body, []).append(f"flow of {way.tag}")
        return {b: unique(wants.get(b) or drivers.get(b, ())) for b in {**wants, **drivers}}

    def _settle(self, taken: Taken, given, fixed) -> tuple[Carried, dict[int, float]]:
        ways = taken.ways
        values = {w: flow.value for w, (_, flow) in given.items()}
        carried = carry(len(self.point), [(way.start, way.end) for way in ways], values)
        flows = {w: total(shares, values) for w, shares in carried.shares.items()}
        streams = [_stream(way, flows.get(w), self._drop(taken, way, flows.get(w))) for w, way in enumerate(ways)]
        lower = {end for end, _ in fixed.items()}
        return carried, warm([s for s in streams if s.flow != 0 and s.end not in lower], fixed)

    def _wanted(self, state: State, taken: Taken) -> Iterator[tuple[int, tuple[str, Known]]]:
        """The flows that emitters, open taps, and coils and exchangers beside other takers want."""
        for w, way in enumerate(taken.ways):
            part = self.network.parts.get(way.tag)
            if part is None:
                continue
            flow = None
            if self.is_emitter_way(way):
                flow = known_of(self.flow(part))
            elif way.tag in state.outlets_open and way.b == OUTSIDE and self._draws_alone(taken.ways, w):
                flow = listed(part, "draw-off")
            elif self.takes(way) and (part.kind.name in EXCHANGERS or (way.tag, way.a, way.b) not in taken.sole):
                flow = taken.wanted(way)
            if flow:
                yield w, (part.tag, Known(way.sign * flow.value, flow.assumes))

    @staticmethod
    def _draws_alone(ways, w: int) -> bool:
        """True for a tap's way through which all that it gives must come: no other way of it moves."""
        return not any(way.tag == ways[w].tag and way.b == OUTSIDE for k, way in enumerate(ways) if k != w)

    def _mixed(self, ways, given, carried, at) -> dict[int, tuple[str, Known]]:
        """The flows that mixing parts and mixer taps take from their hot side, and taps from their cold side, where
        the temperatures and the mixed flow are known."""
        found = {}
        values = {w: flow.value for w, (_, flow) in given.items()}
        named = {name for name, _ in given.values()}
        for w, way in enumerate(ways):
            part = self.network.parts.get(way.tag)
            if part is None or w in carried.shares or way.tag in named:
                continue
            hot, cold, mixed = MIXERS.get(part.kind.name, ("", "", ""))
            if (way.a, way.b) == (hot, mixed):
                whole, assumes = self._out_of(ways, way, mixed, given, carried, values)
                share = _hot_share(*(at.get(self.at(way.tag, n)) for n in (hot, cold, mixed)))
                if whole is not None and share is not None:
                    found[w] = way.tag, Known(way.sign * share * whole, assumes)
            elif way.b == OUTSIDE and {"hot-in", "cold-in"} <= set(part.kind.ports):
                found |= self._at_tap(ways, way, part, at)
        return found

    def _out_of(self, ways, way: Way, mixed: str, given, carried, values) -> tuple[float | None, tuple[str, ...]]:
        """The flow [m³/s] that leaves a mixing part by its mixed opening, with what it assumes."""
        point = self.at(way.tag, mixed)
        out = next((o for o, other in enumerate(ways) if other.pipe >= 0 and point in (other.start, other.end)), None)
        if out not in carried.shares:
            return None, ()
        assumes = unique(t for k in carried.shares[out] for t in given[k][1].assumes)
        return abs(total(carried.shares[out], values)), assumes

    def _at_tap(self, ways, way: Way, part: Part, at) -> dict[int, tuple[str, Known]]:
        """The hot and the cold flow of a mixer tap whose draw-off is listed, for water as it is usually drawn."""
        draw, setting = part.value("draw-off"), part.value("setting")
        drawn = DRAWN_C if setting is None else min(setting, DRAWN_C)
        share = _hot_share(*(at.get(self.at(part.tag, n)) for n in ("hot-in", "cold-in")), drawn)
        sides = {other.a: k for k, other in enumerate(ways) if other.tag == way.tag and other.b == OUTSIDE}
        if draw is None or share is None or sides.keys() != {"hot-in", "cold-in"}:
            return {}
        text = (f"water is drawn at {drawn:g} °C from {part.tag} ({PRACTICE})",)
        flows = {"hot-in": share * draw, "cold-in": (1 - share) * draw}
        return {sides[n]: (f"{part.tag} {n.removesuffix('-in')}", Known(q, text)) for n, q in flows.items()}

    def _warmed(self, taken: Taken, given, carried, at, fixed) -> dict[int, float]:
        """Temperatures at which exchangers give their heat to the water that they warm.

        By the effectiveness of counterflow with the listed conductance. Source: effectiveness and number of transfer
        units, as in heat-transfer textbooks.
        """
        found = {}
        values = {w: flow.value for w, (_, flow) in given.items()}
        for w, way in enumerate(taken.ways):
            part = self.network.parts.get(way.tag)
            if part is None or part.kind.name != "plate-heat-exchanger" or way.body != taken.warmed_body(part):
                continue
            hot = next((k for k, o in enumerate(taken.ways) if o.tag == way.tag and o.body != way.body), None)
            outlet = way.end if way.sign > 0 else way.start
            if hot is None or not {w, hot} <= carried.shares.keys() or outlet in fixed:
                continue
            flows = [abs(total(carried.shares[k], values)) for k in (w, hot)]
            fluids = [self.plant.fluid(taken.ways[k].body) for k in (w, hot)]
            hot_c, heat = at.get(_upstream(taken.ways[hot])), taken.passed_on(part)
            out = attempt(_warmed_to, hot_c, heat, listed(part, "conductance"), *flows, *fluids)
            if out and hot_c is not None:
                found[outlet] = out.value
        return found

    def _set_by_parts(self, state, ways, given, carried) -> dict[int, tuple[str, Known]]:
        """The first flow that a valve or pump is set to, or else that a running source wants, where still open."""
        for w, way in enumerate(ways):
            part = self.network.parts.get(way.tag)
            if part and w not in carried.shares and part.kind.name in _SET_FLOW and (flow := listed(part, "flow")):
                return {w: (part.tag, Known(way.sign * flow.value, (f"{part.tag} passes the flow it is set to",)))}
        found = {}
        inside = {t: {(p.a, p.b) for p in giving(self.network.parts[t])} for t in self.plant.source_tags}
        count = Counter(way.tag for way in ways if (way.a, way.b) in inside.get(way.tag, ()))
        for w, way in enumerate(ways):
            part = self.network.parts.get(way.tag)
            if part and w not in carried.shares and way.tag in state.giving and way.tag in inside:
                flow = known_of(self.source_flow(part)) if count[way.tag] == 1 else Known()
                if (way.a, way.b) in inside[way.tag] and flow and self._may_lead(ways, w, given, carried):
                    text = f"{part.tag} runs at its design flow"
                    found[w] = part.tag, Known(way.sign * flow.value, (*flow.assumes, text))
        return found

    def _may_lead(self, ways, source: int, given, carried) -> bool:
        """False where a source's flow must follow from emitters, or from loads that are known only in part."""
        beside = self.beside(ways, source)
        takers = [w for w in beside if self.takes(ways[w])]
        known = [w for w in takers if w in given]
        vague = [w for w in beside if w not in carried.shares and (self.takes(ways[w]) or self._is_bypass(ways[w]))]
        rivals = [
            w for w in beside if w != source and w not in carried.shares and ways[w].tag in self.plant.source_tags
        ]
        if any(self.is_emitter_way(ways[w]) for w in vague):
            return False
        return not known or not (vague or rivals)

    def beside(self, ways: Sequence[Way], source: int) -> list[int]:
        """Ways that water of a source reaches without passing the body of a separator or the outside."""
        if self._parted[0] is not ways:
            self._parted = ways, *self._parts_of(ways)
        _, number, members = self._parted
        return members[number[source]]

    def _parts_of(self, ways: Sequence[Way]) -> tuple[dict[int, int], list[list[int]]]:
        """Ways in groups that share water short of a separator or the outside: the group of each, and all of them."""
        groups = Groups(range(len(ways)))
        first: dict[int, int] = {}
        for w, way in enumerate(ways):
            for point in (way.start, way.end):
                if point not in self._stops:
                    groups.join(first.setdefault(point, w), w)
        return groups.numbered()

    @cached_property
    def _stops(self) -> set[int]:
        apart = (p for p in self.network.parts.values() if p.kind.separates)
        return {self.point[OUTSIDE], *(self.at(p.tag, n) for p in apart for n in heart(p))}

    def is_emitter_way(self, way: Way) -> bool:
        part = self.network.parts.get(way.tag)
        return bool(part) and is_emitter(part) and self.takes(way)

    def takes(self, way: Way) -> bool:
        part = self.network.parts.get(way.tag)
        return bool(part) and way.a in part.kind.takes and way.b in part.kind.takes

    def _is_bypass(self, way: Way) -> bool:
        return way.tag in self.network.parts and self.network.parts[way.tag].kind.name == "bypass-valve"

    def is_heart(self, way: Way) -> bool:
        return way.tag in self.network.parts and self._in_body(self.network.parts[way.tag], way.a, way.b)

    def _drop(self, taken: Taken, way: Way, flow: float | None) -> float | None:
        """What water cools by on a way [K]: the heat taken there over what the flow carries per kelvin.

        Not known in a hot-water circulation.
        """
        through = self.is_heart(way) and not taken.is_charged(way)
        if way.pipe >= 0 and self.plant.waters.section[way.pipe] == "circulation" or self._warms(taken.state, way):
            return None
        if through or not (self.is_heart(way) or self.takes(way)):
            return 0.0
        if way.body == taken.warmed_body(self.network.parts[way.tag]) and not self.is_emitter_way(way):
            return None
        fluid = self.plant.fluid(way.body) if way.body is not None else Known()
        sole = (way.tag, way.a, way.b) in taken.sole
        heat = taken.heat(way) if sole or not self.is_heart(way) else Known()
        return heat.value / (abs(flow) * fluid.value.heat_per_volume) if flow and fluid and heat else None

    def _warms(self, state: State, way: Way) -> bool:
        """True for the way of a running source, or from the cold to the hot opening of a store or a source."""
        part = self.network.parts.get(way.tag)
        if part is None or "hot-out" in (way.a, way.b):
            return part is not None
        return way.tag in state.giving and way.a in part.kind.gives and way.b in part.kind.gives

    def _fixed(self, state: State, ways: tuple[Way, ...]) -> tuple[dict[int, float], tuple[str, ...]]:
        """Points whose temperature is held: outlets of sources, mixed water, stores, the main."""
        fixed: dict[int, float] = {}
        assumes: list[str] = []

        def hold(tag: str, name: str, known: Known) -> None:
            if known and self.point[PortId(tag, name)] not in fixed:
                fixed[self.point[PortId(tag, name)]] = known.value
                assumes.extend(known.assumes)

        for way in ways:
            part = self.network.parts.get(way.tag)
            if part is None:
                continue
            outlet = way.b if way.sign > 0 else way.a
            if outlet == OUTSIDE:
                continue
            if way.tag in state.giving and way.tag in self.plant.source_tags and outlet in part.kind.gives:
                hold(way.tag, outlet, self._given_off(ways, part))
            elif part.kind.driver in ("main", "cistern"):
                hold(way.tag, outlet, self.plant.cold_c)
            elif part.kind.name in MIXERS and outlet == MIXERS[part.kind.name][2]:
                hold(way.tag, outlet, listed(part, "setting"))
            elif outlet == "hot-out":
                hold(
                    way.tag,
                    outlet,
                    self.plant.store_c(part) if part.kind.store == "wholesome" else listed(part, "setting"),
                )
        for part in self.network.parts.values():
            if part.kind.name == _CISTERN:
                hold(part.tag, "outlet", self.plant.cold_c)
        for part, top in self._discharged(ways):
            if top not in fixed and (hot := setting_of(part, self.plant.source_of(part), self)):
                fixed[top] = hot.value
                assumes.extend(hot.assumes)
        return fixed, unique(assumes)

    def _discharged(self, ways: tuple[Way, ...]) -> Iterator[tuple[Part, int]]:
        """Stores of heating water from whose top water leaves while none comes in there, each with that point."""
        arriving = {way.end if way.sign > 0 else way.start for way in ways if way.pipe >= 0}
        leaving = {_upstream(way) for way in ways if way.pipe >= 0}
        for way in ways:
            part = self.network.parts.get(way.tag)
            if part and self.is_heart(way) and part.kind.store and way.start in leaving - arriving:
                yield part, way.start

    def _given_off(self, ways, source: Part) -> Known:
        """Flow temperature [°C] of a running source; a heat pump that heats a hot-water store gives its highest."""
        usual = self.plant.flow_c(source)
        if source.kind.name not in HEAT_PUMPS or not usual:
            return usual
        coils = [
            self.network.parts[w.tag]
            for w in ways
            if self.takes(w) and self.network.parts[w.tag].kind.store == "wholesome"
        ]
        settings = [s.value for p in coils if (s := self.plant.store_c(p))]
        if not settings or max(settings) < usual.value:
            return usual
        highest = first_known(listed(source, "max-flow"), usual)
        return Known(highest.value, (f"{source.tag} gives its highest flow temperature for hot water ({PRACTICE})",))


def is_emitter(part: Part) -> bool:
    """True for what gives heat to a room, but not for a heat leak, which draws by itself."""
    return (
        part.kind.taker
        and part.kind.family == "emitters"
        and part.kind.name != "heat-leak-radiator"
        and any(taking(part))
    )


def is_top(part: Part, name: str) -> bool:
    """True for an opening at the hot end of a separator."""
    return _in_heart(part, name) and (name.endswith("flow") or name in ("top", "primary-in", "buffer-top"))


def is_bottom(part: Part, name: str) -> bool:
    return _in_heart(part, name) and not is_top(part, name)


def _in_heart(part: Part, name: str) -> bool:
    """True for an opening into the body of water by which a separator separates."""
    spec = part.kind.ports.get(name)
    own = name not in ("cold-in", "hot-out", "circulation-return") and not name.startswith(("coil", "vent", "drain"))
    return spec is not None and spec.role != "dead" and own


def heart(part: Part) -> tuple[str, str]:
    """One opening at the top and one at the bottom of a separator's body."""
    names = [n for n in part.kind.ports if _in_heart(part, n)]
    return next(n for n in names if is_top(part, n)), next(n for n in names if is_bottom(part, n))


def _hot_share(hot_c: float | None, cold_c: float | None, mixed_c: float | None) -> float | None:
    """Share [-] of a mixed flow that comes from the hot side; None if it cannot be told."""
    if None in (hot_c, cold_c, mixed_c) or hot_c - cold_c <= _LEAST_HEAT_FROM_HOT_K:
        return None
    return min(max((mixed_c - cold_c) / (hot_c - cold_c), 0.0), 1.0)


def _warmed_to(hot_c, heat_w, conductance_wk, cold_m3s, hot_m3s, cold_fluid, hot_fluid) -> float:
    """Temperature [°C] at which water leaves the cold side of a counterflow exchanger that passes a heat [W]."""
    cold, hot = cold_m3s * cold_fluid.heat_per_volume, hot_m3s * hot_fluid.heat_per_volume
    least, ratio = min(cold, hot), min(cold, hot) / max(cold, hot)
    units = conductance_wk / least
    fade = exp(-units * (1 - ratio))
    effectiveness = units / (1 + units) if 1 - ratio < 1e-9 else (1 - fade) / (1 - ratio * fade)
    return hot_c - heat_w / (effectiveness * least) + heat_w / cold


def _key(way: Way) -> tuple:
    return way.pipe, way.tag, way.a, way.b


def _upstream(way: Way) -> int:
    return way.start if way.sign > 0 else way.end


def _stream(way: Way, flow: float | None, drop: float | None) -> Stream:
    forward = way.sign > 0 if flow is None else flow >= 0
    start, end = (way.start, way.end) if forward else (way.end, way.start)
    return Stream(start, end, None if flow is None else abs(flow), drop)
