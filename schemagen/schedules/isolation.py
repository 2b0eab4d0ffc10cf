"""Which hand valves to shut for a leak or for work, what then stops, and what to switch off first.

Water comes from mains and cisterns, and in a heating circuit from its stores too. The valves found are the fewest that
part the place from all of it. Relief, discharge, vessel and vent valves are never among them (see valve_graph).
Source of the order (switch off, shut, let the pressure go): common practice, no source.
"""

import os
from collections.abc import Collection, Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from typing import Literal

from schemagen.checks.facts import Facts
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.network.network import Network, Part, PortId
from schemagen.operation.moves import Inside
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, is_tap
from schemagen.parts.kind import OUTSIDE
from schemagen.schedules.naming import listed, name_of, named
from schemagen.schedules.valve_graph import ValveGraph, has_valves_built_in

Sort = Literal[
    "house", "place", "cold", "hot", "circuit", "emitter", "store", "outlet", "source", "pump", "filter", "coil"
]

CIRCUITS = {
    "heating": ("primary-flow", "primary-return", "heating-flow", "heating-return"),
    "solar": ("solar-flow", "solar-return"),
    "brine": ("brine-flow", "brine-return"),
    "pool": ("pool-flow", "pool-return"),
}
"""Sections that people call one circuit."""


@dataclass(frozen=True)
class ShutOff:
    """What to do about one place. All fields but `job` and `notes` hold tags.

    job       what it is for, in words
    valves    hand valves to shut; () if nothing feeds the place; None if no set of valves parts it from `joined_to`
    joined_to what no valve parts it from
    refill    valves that at least keep cisterns and filling units from topping up, if `valves` is None
    leave_off filling loops and other valves that are shut already and have to stay so
    with_it   other sources, stores and emitters that are shut off together with it
    off_first what to switch off before
    stops     what no longer works, in words
    notes     warnings in sentences
    """

    job: str
    sort: Sort
    target: tuple[str, ...]
    valves: tuple[str, ...] | None
    joined_to: tuple[str, ...] = ()
    refill: tuple[str, ...] = ()
    leave_off: tuple[str, ...] = ()
    with_it: tuple[str, ...] = ()
    off_first: tuple[str, ...] = ()
    stops: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()

    @property
    def to_shut(self) -> tuple[str, ...]:
        """The valves to shut in either case."""
        return self.refill if self.valves is None else self.valves


@dataclass(frozen=True)
class Target:
    """A place to be parted from `ends`: its openings and, for a circuit, all of its pipes."""

    job: str
    sort: Sort
    tags: tuple[str, ...]
    starts: tuple[PortId, ...]
    ends: tuple[PortId, ...]


class Stopping:
    """What stops when valves are shut: whatever gets water or heat in some state, and then in none."""

    def __init__(self, operation: Operation) -> None:
        self.operation = operation
        self.network = operation.network

    @cached_property
    def _users(self) -> tuple[str, ...]:
        """Taps, emitters, stores, pumps and sources."""
        parts = self.network.parts.items()
        taps = {t for t, p in parts if is_tap(p) and "drain" not in p.kind.counts_as}
        return tuple(t for t, p in parts if t in taps or p.kind.takes or p.kind.gives or p.kind.driver == "pump")

    @cached_property
    def in_use(self) -> frozenset[tuple[str, str]]:
        """Uses by tag and sort ("hot", "cold", "heat", "runs") while all valves stand as they should."""
        return self._uses(())

    def stopped(self, shut: Collection[str]) -> frozenset[tuple[str, str]]:
        """The uses that are lost when these hand valves are shut."""
        key = frozenset(shut)
        if key not in self._known:
            self._known[key] = self.in_use - self._uses(tuple(shut)) if shut else frozenset()
        return self._known[key]

    @cached_property
    def _known(self) -> dict[frozenset[str], frozenset[tuple[str, str]]]:
        return {}

    def _uses(self, shut: tuple[str, ...]) -> frozenset[tuple[str, str]]:
        found: set[tuple[str, str]] = set()
        held = {tag: "shut" for tag in shut}
        for state in self.operation.states:
            if state.sort in ("filling", "named"):
                continue
            then = replace(state, name=f"{state.name} / {' '.join(shut)}", positions={**state.positions, **held})
            found.update(self._in_state(then if shut else state))
        return frozenset(found)

    def _in_state(self, state: State) -> Iterator[tuple[str, str]]:
        flow = self.operation.flow(state)
        for tag in self._users:
            kind = self.network.parts[tag].kind
            for passage in kind.passages if is_tap(self.network.parts[tag]) else ():
                if passage.b == OUTSIDE and flow.moves(Inside(tag, passage.a, passage.b)):
                    yield tag, "cold" if kind.ports[passage.a].media == "C" else "hot"
            if kind.takes and flow.part_moves(tag, kind.takes):
                yield tag, "heat"
            if kind.driver == "pump" and tag in state.pumps_on and flow.part_moves(tag):
                yield tag, "runs"
            if kind.gives and tag in (*state.sources_on, *state.pumps_on) and flow.part_moves(tag, kind.gives):
                yield tag, "gives"

    def in_words(self, stopped: frozenset[tuple[str, str]]) -> tuple[str, ...]:
        """The losses that a person in the house notices."""
        parts = self.network.parts
        taps = [t for t, p in parts.items() if {(t, "hot"), (t, "cold")} & self.in_use]
        words = []
        if taps and all((t, use) in stopped for t in taps for use in ("hot", "cold") if (t, use) in self.in_use):
            words.append("all taps" if len(taps) > 1 else name_of(self.network, taps[0]))
        else:
            hot = [t for t in taps if (t, "hot") in self.in_use]
            lost = [t for t in hot if (t, "hot") in stopped]
            if lost and len(lost) == len(hot) and len(hot) > 1:
                words.append("all hot water")
                lost = []
            for tag in taps:
                losses = [use for use in ("hot", "cold") if (tag, use) in stopped and (use == "cold" or tag in lost)]
                has = [use for use in ("hot", "cold") if (tag, use) in self.in_use]
                if losses:
                    words.append(name_of(self.network, tag) + ("" if losses == has else f", {losses[0]} side"))
        emitters = [t for t, p in parts.items() if (t, "heat") in self.in_use and p.kind.family == "emitters"]
        cold = [t for t in emitters if (t, "heat") in stopped]
        if cold and len(cold) == len(emitters) and len(cold) > 1:
            words.append("all heating")
        else:
            words += [name_of(self.network, t) for t in cold]
        idle = [t for t in parts if (t, "gives") in stopped]
        unheated = [t for t, p in parts.items() if (t, "heat") in stopped and t not in emitters]
        if idle and not cold:
            words.append(f"heat from {self._some(idle)}")
        elif lost := [t for t in unheated if not (cold and parts[t].kind.gives)]:
            words.append(f"heat for {self._some(lost)}")
        return tuple(words)

    def _some(self, tags: list[str]) -> str:
        """By name, of many by tag alone."""
        return named(self.network, tags) if len(tags) < 3 else listed(tags)


def find_shut_offs(facts: Facts, graph: ValveGraph, stopping: Stopping) -> tuple[ShutOff, ...]:
    """All shut-offs of a network, from the whole house down to single parts."""
    guide = _Guide(facts, graph, stopping)
    return tuple(guide.shut_off(target) for target in targets(facts, graph))


# places


def targets(facts: Facts, graph: ValveGraph) -> Iterator[Target]:
    """The places of a network that somebody may want to shut off."""
    supplies = tuple(supply_ports(facts.network))
    mains = tuple(port for port in supplies if _is_main(facts.network.parts[port.tag]))
    yield from _house(facts, mains)
    yield from _drinking(facts, graph, supplies)
    yield from _places(facts, supplies)
    yield from _circuits(facts, supplies)
    yield from _parts(facts, supplies)


def supply_ports(network: Network) -> Iterator[PortId]:
    """Openings by which water comes in: mains, cisterns, filling units, pipes from another sheet."""
    for part in network.parts.values():
        for passage in part.kind.passages:
            surface = passage.sort == "both" and passage.b == OUTSIDE and not passage.positions
            if surface and "vent" not in part.kind.counts_as or surface and passage.a == "cold-feed":
                yield PortId(part.tag, passage.a)
            if passage.sort == "air-gap" and passage.positions and passage.b != OUTSIDE:
                yield PortId(part.tag, passage.b)


def _is_main(part: Part) -> bool:
    return part.kind.driver == "main" or part.kind.name == "off-sheet-connector"


def _house(facts: Facts, mains: tuple[PortId, ...]) -> Iterator[Target]:
    draws = tuple(PortId(t, n) for t, p in facts.network.parts.items() for n in _draws(p))
    if mains and draws:
        yield Target("The whole house", "house", (), mains, draws)


def _draws(part: Part) -> Iterator[str]:
    """Openings by which a part draws cold water, or hot water made of it."""
    kind = part.kind
    if is_tap(part) and "drain" not in kind.counts_as:
        yield from (p.a for p in kind.passages if p.b == OUTSIDE)
    yield from (name for name in kind.ports if name in ("cold-in", "supply"))


def _drinking(facts: Facts, graph: ValveGraph, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    fed = set(graph.pieces_of(supplies))
    for job, sort, sections in (
        ("Leak on the cold side", "cold", ("cold",)),
        ("Leak on the hot side", "hot", ("hot", "circulation", "tempered")),
    ):
        pipes = [p for p in facts.network.pipes if facts.waters.section[p.index] in sections]
        starts = tuple(p.start for p in pipes if sort == "hot" or graph.piece[p.start] not in fed)
        if starts and supplies:
            yield Target(job, sort, (), starts, supplies)


def _circuits(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    """Circuits by the water that they share; with several of a sort the first source or store of each tells them."""
    for word, sections in CIRCUITS.items():
        bodies: dict[int, list[PortId]] = {}
        for pipe in facts.network.pipes:
            if facts.waters.section[pipe.index] in sections:
                bodies.setdefault(facts.waters.body[pipe.index], []).append(pipe.start)
        for starts in bodies.values():
            which = _beginning(facts, starts) if len(bodies) > 1 else ""
            said = f"Leak on the {word} pipes{f' at {which}' if which else ''}"
            yield Target(said, "circuit", (), tuple(starts), supplies)


def _places(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    """Places with taps and heat of their own, such as flats, if there are several."""
    waterways = list(_waterways(facts))
    place = {tag: part.place for tag, part in facts.network.parts.items()}
    sorts: dict[str, set[str]] = {}
    for sort, tag, _ in waterways:
        sorts.setdefault(place[tag], set()).add(sort)
    homes = [name for name, has in sorts.items() if name and "outlet" in has and has & {"emitter", "source", "coil"}]
    for name in homes if len(homes) > 1 else ():
        starts = tuple(port for _, tag, ports in waterways if place[tag] == name for port in ports)
        ends = tuple(p for sort, tag, ports in waterways if place[tag] != name and sort != "pump" for p in ports)
        tags = tuple(dict.fromkeys(port.tag for port in starts))
        yield Target(f"Everything in {name}", "place", tags, starts, (*supplies, *ends))


def _beginning(facts: Facts, starts: Iterable[PortId]) -> str:
    parts = facts.network.parts
    tags = dict.fromkeys(p.tag for p in starts)
    chosen = [t for t in tags if parts[t].kind.gives or parts[t].kind.separates] or list(tags)
    place = f", {parts[chosen[0]].place}" if parts[chosen[0]].place else ""
    return f"{chosen[0]}{place}"


def _parts(facts: Facts, supplies: tuple[PortId, ...]) -> Iterator[Target]:
    waterways = list(_waterways(facts))
    for sort, job in _JOBS.items():
        for its_sort, tag, ports in waterways:
            if its_sort == sort:
                said = job.format(name_of(facts.network, tag), side=_side(ports))
                yield Target(said, sort, (tag,), ports, _ends(waterways, tag, ports, sort, supplies))


_JOBS: Mapping[Sort, str] = {
    "outlet": "Leak at {}",
    "emitter": "{} off or leaking",
    "store": "Leak at {}, or out of service",
    "coil": "Work on the {side} of {}",
    "source": "Work on {}",
    "pump": "Work on {}",
    "filter": "Work on {}",
}
"""The order of parts, and what the job is called."""


def _side(ports: Sequence[PortId]) -> str:
    """What the openings of one side have in common: "upper coil", "primary side"."""
    common = os.path.commonprefix([port.port for port in ports]).rpartition("-")[0].replace("-", " ")
    return common if common.endswith("coil") else f"{common or 'heating'} side"


_Waterway = tuple[Sort | Literal["header"], str, tuple[PortId, ...]]


def _waterways(facts: Facts) -> Iterator[_Waterway]:
    """Ways through parts that hold or move water, and what they are."""
    for tag, part in facts.network.parts.items():
        kind = part.kind
        for ports in facts.waterways(part):
            piped = tuple(port for port in ports if facts.is_piped(port))
            if piped and (sort := _sort_of(part, {port.port for port in ports}, kind.family)):
                yield sort, tag, piped


def _sort_of(part: Part, names: set[str], family: str) -> Sort | Literal["header", ""]:
    kind = part.kind
    if part.value("heat-leak") or kind.name == "heat-leak-radiator":
        return "header"
    if names & set(kind.takes):
        return "emitter" if family == "emitters" else "coil"
    if names & set(kind.gives):
        return "source"
    if kind.store:
        drinking = all(set(kind.ports[n].media) <= set("CWT") for n in names)
        return "" if kind.store == "heating" and drinking else "store"
    if kind.separates:
        return "header"
    if kind.driver == "pump":
        return "pump"
    if "filter" in kind.counts_as and not has_valves_built_in(part):
        return "filter"
    return "outlet" if is_tap(part) and "drain" not in kind.counts_as else ""


def _ends(
    waterways: list[_Waterway], tag: str, ports: tuple[PortId, ...], sort: Sort, supplies: tuple[PortId, ...]
) -> tuple[PortId, ...]:
    """Supplies, and every other source, store, header and emitter: each holds water that would run out."""
    if sort == "outlet":
        return supplies
    holders = [
        port
        for its_sort, other, others in waterways
        if its_sort in ("source", "store", "header", "emitter", "coil") and (other, others) != (tag, ports)
        for port in others
    ]
    return (*supplies, *holders)


# answers


class _Guide:
    def __init__(self, facts: Facts, graph: ValveGraph, stopping: Stopping) -> None:
        self.facts, self.graph, self.stopping = facts, graph, stopping
        self.parts = facts.network.parts
        self.waterways = list(_waterways(facts))
        self.supplies = tuple(supply_ports(facts.network))

    def shut_off(self, target: Target) -> ShutOff:
        here = set(self.graph.pieces_of(target.starts))
        ends, together, stuck = self._sorted_ends(target, here)
        valves = None if stuck else self.graph.smallest_cut(target.starts, ends, spared=target.tags)
        refill = self._refill(stuck) if valves is None else ()
        shut = refill if valves is None else valves
        side = self.graph.reached(target.starts, shut)
        stopped = self.stopping.stopped(shut) | self._still(side, target)
        answer = ShutOff(
            target.job, target.sort, target.tags, valves,
            joined_to=stuck if valves is None else (),
            refill=refill,
            leave_off=self._left_off(side) if self._is_heating(target) else (),
            with_it=together if valves is not None and self._is_heating(target) else (),
            off_first=self._off_first(target, side, stopped),
            stops=self.stopping.in_words(stopped),
        )  # fmt: skip
        return replace(answer, notes=tuple(self._notes(answer, stopped)))

    def _sorted_ends(self, target: Target, here: set[int]):
        """The ends to be parted from; what lies in the same piece goes with the target, or makes it impossible."""
        ends, together, stuck = [], {}, {}
        bulk = {port for sort, _, ports in self.waterways if sort == "store" for port in ports}
        for port in target.ends:
            same = self.graph.piece[port] in here
            if same and (port in self.supplies or target.sort == "house"):
                stuck.setdefault(port.tag)
            elif not same:
                ends.append(port)
            elif port in bulk and self._holds_heating(port):
                stuck.setdefault(port.tag)
            elif port.tag not in target.tags:
                together.setdefault(port.tag)
        return tuple(ends), tuple(together), tuple(stuck)

    def _is_heating(self, target: Target) -> bool:
        return any(self._holds_heating(port) for port in target.starts)

    def _holds_heating(self, port: PortId) -> bool:
        return self.facts.medium_at(port) not in ("cold", "hot", "tempered")

    def _refill(self, stuck: tuple[str, ...]) -> tuple[str, ...]:
        """Valves that part the cisterns and filling units among these from the mains."""
        inlets = [PortId(t, n) for t in stuck for n in self.parts[t].kind.ports if n == "supply"]
        mains = [port for port in self.supplies if _is_main(self.parts[port.tag])]
        return self.graph.smallest_cut(inlets, mains) or () if inlets else ()

    def _left_off(self, side: frozenset[int]) -> tuple[str, ...]:
        """Closed valves between the shut-off side and a supply."""
        fed = self.graph.reached(self.supplies, ())
        beside = {tag: set(self.graph.beside(tag)) for tag in self.graph.closed}
        return tuple(tag for tag, pieces in beside.items() if pieces & side and (pieces - side) & fed)

    def _still(self, side: frozenset[int], target: Target) -> frozenset[tuple[str, str]]:
        """What gives or takes heat on the side that is shut off: it has to stand still."""
        if target.sort in ("house", "cold", "hot", "outlet", "store"):
            return frozenset()
        still = {t for sort, t, ports in self.waterways if sort != "store" and side & set(self.graph.pieces_of(ports))}
        return frozenset(use for use in self.stopping.in_use if use[0] in still and use[1] in ("heat", "gives"))

    def _off_first(self, target: Target, side: frozenset[int], stopped: frozenset) -> tuple[str, ...]:
        idle = {tag for tag, use in stopped if use in ("runs", "gives")}
        wet = target.sort in ("house", "cold", "outlet")
        for sort, tag, ports in self.waterways:
            if sort in ("source", "pump") and not wet and side & set(self.graph.pieces_of(ports)):
                idle.add(tag)
        idle.update(self._fires(target))
        for sort, store, ports in self.waterways:
            if sort == "store" and target.sort in ("hot", "store") and side & set(self.graph.pieces_of(ports)):
                idle.update(self._heaters(store))
        return tuple(tag for tag in self.parts if tag in idle)

    def _fires(self, target: Target) -> Iterator[str]:
        """Fires and collectors of which the target carries the heat away: they cannot be switched off at once."""
        waters = self.facts.waters
        pipes = [p.index for port in target.starts for p in self.facts.network.pipes_at.get(port, ())]
        carries = any(waters.section[i].startswith(("primary", "solar")) for i in pipes)
        for tag, part in self.parts.items() if carries and target.sort not in ("house", "circuit") else ():
            if part.kind.giver == "uncontrolled" and part.kind.gives:
                joined = self.facts.reach.wet(PortId(tag, part.kind.gives[0]))
                yield from [tag] if joined & set(target.starts) else []

    def _heaters(self, store: str) -> Iterator[str]:
        """Heaters mounted on a store, and the sources that heat it in some state."""
        yield from (t for t in self.facts.network.mounted_on.get(store, ()) if self.parts[t].kind.giver)
        operation = self.stopping.operation
        for state in operation.states:
            if state.sources_on and operation.flow(state).part_moves(store, self.parts[store].kind.takes):
                yield from (t for t in state.sources_on if self.parts[t].kind.gives)

    def _notes(self, answer: ShutOff, stopped: frozenset) -> Iterator[str]:
        if answer.valves is None and not answer.joined_to:
            yield "No set of hand valves does it."
        yield from self._trapped(answer.to_shut)
        if answer.sort == "house":
            tanks = [t for t in dict.fromkeys(p.tag for p in self.supplies) if not _is_main(self.parts[t])]
            feeding = [t for t in tanks if self.parts[t].kind.driver == "cistern"]
            yield from (f"{name_of(self.facts.network, t)} goes on giving water until it is empty." for t in feeding)
        yield from self._scalding(stopped)

    def _trapped(self, shut: tuple[str, ...]) -> Iterator[str]:
        """Heat that can no longer reach its relief valve or its vessel when these are shut."""
        for circuit in heated_circuits(self.facts):
            for source in circuit.sources:
                if source.harmless or not source.body:
                    continue
                before = self.graph.reached(source.body, ())
                after = self.graph.reached(source.body, shut)
                for word, ports in (
                    ("relief valve", (*circuit.reliefs, *circuit.vents)),
                    ("expansion vessel", (*circuit.vessels, *circuit.vents, *circuit.feeds, *circuit.bubble)),
                ):
                    pieces = set(self.graph.pieces_of(ports))
                    if pieces & before and not pieces & after:
                        yield f"{source.tag} is then parted from its {word}: {self._how_cool(source)}."
                        break

    @staticmethod
    def _how_cool(source) -> str:
        if source.uncontrolled:
            return "shut nothing while it is hot; heat is trapped in it"
        return "it must be off and cool before, and stay off"

    def _scalding(self, stopped: frozenset) -> Iterator[str]:
        for tag in self.parts:
            if (tag, "cold") in stopped and (tag, "hot") in self.stopping.in_use - stopped:
                yield f"{name_of(self.facts.network, tag)} then runs hot without cold: do not use it."
