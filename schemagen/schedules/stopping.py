"""What stops in a house when hand valves are shut, as uses of parts and in words."""

from collections.abc import Collection, Iterator
from dataclasses import replace
from functools import cached_property

from schemagen.operation.moves import Inside
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, is_tap
from schemagen.parts.kind import OUTSIDE
from schemagen.schedules.naming import listed, name_of, named


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
