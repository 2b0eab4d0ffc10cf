"""Which hand valves to shut for a leak or for work, what then stops, and what to switch off first.

The valves found are the fewest that part the place from all of the water that can come to it. Relief, discharge, vessel
and vent valves are never among them (see valve_graph).
Source of the order (switch off, shut, let the pressure go): common practice, no source.
"""

from collections.abc import Iterator
from dataclasses import dataclass, replace

from schemagen.checks.facts import Facts
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.network.network import PortId
from schemagen.schedules.naming import name_of
from schemagen.schedules.stopping import Stopping
from schemagen.schedules.supplies import is_main, supply_ports
from schemagen.schedules.targets import Target, targets
from schemagen.schedules.valve_graph import ValveGraph
from schemagen.schedules.waterways import Sort, waterways_of


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


def find_shut_offs(facts: Facts, graph: ValveGraph, stopping: Stopping) -> tuple[ShutOff, ...]:
    """All shut-offs of a network, from the whole house down to single parts."""
    guide = _Guide(facts, graph, stopping)
    return tuple(guide.shut_off(target) for target in targets(facts, graph))


class _Guide:
    def __init__(self, facts: Facts, graph: ValveGraph, stopping: Stopping) -> None:
        self.facts, self.graph, self.stopping = facts, graph, stopping
        self.parts = facts.network.parts
        self.waterways = list(waterways_of(facts))
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
        mains = [port for port in self.supplies if is_main(self.parts[port.tag])]
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
            tanks = [t for t in dict.fromkeys(p.tag for p in self.supplies) if not is_main(self.parts[t])]
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
