"""Where every moving part stands and what runs, given the calls that stand; also which calls can be served together.

A part that no call moves rests: as its kind does with power on, a diverter on its idle side, a source off.
"""

from collections.abc import Iterable, Sequence
from functools import cached_property

from schemagen.network.network import Network, Part, PortId
from schemagen.operation.calls import BUFFER, FROST, HEATING, HOT_WATER, Call, find_calls, idle_side, served_by
from schemagen.operation.states import Sort, State, has_own_pump, is_tap

_BY_PRESSURE = ("bypass-valve",)
"""Pressure decides where these stand, so a state does not say."""


class Standing:
    """The calls of one network, and the state that any of them make; linear in its size."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.parts = network.parts
        self.calls = find_calls(network)
        self.pumps = {t: None for t, p in self.parts.items() if p.kind.driver == "pump"}
        self.sources = {t: None for t, p in self.parts.items() if p.kind.giver and p.kind.gives}
        self.heaters = {t: None for t, p in self.parts.items() if p.kind.giver and not p.kind.gives}
        self.outlets = [t for t, p in self.parts.items() if is_tap(p)]

    # what the parts do when nothing calls

    @cached_property
    def resting(self) -> dict[str, str]:
        """Positions with power and no call: by tag, for every part with a moving part."""
        return {tag: word for tag, part in self.parts.items() if (word := self._resting(part))}

    def _resting(self, part: Part) -> str:
        kind = part.kind
        if _is_bypass(part):
            return ""
        if kind.name in ("diverter-valve", "mid-position-valve"):
            return self._idle_side(part)
        if part.tag in self.pumps or part.tag in self.sources or part.tag in self.heaters:
            return self._idle_source(part)
        if kind.name == "zone-valve" or (part.tag in self.wanted and kind.moved_by in ("motor", "hand")):
            return "shut" if "shut" in kind.positions else kind.normal or kind.rest
        return kind.normal or kind.rest

    def _idle_side(self, part: Part) -> str:
        if part.kind.rest:
            return part.kind.rest
        return idle_side(self.network, part, served_by(self.network, part.tag))

    @staticmethod
    def _idle_source(part: Part) -> str:
        return part.kind.rest if "heating" in part.kind.positions else "off"

    @cached_property
    def wanted(self) -> dict[str, None]:
        """Parts that some call moves, and so do not run in every call."""
        return {tag: None for call in self.calls for tag in call.wants}

    @cached_property
    def ground_heat_pumps(self) -> set[str]:
        """Sources that take heat from brine; without one at work nothing is drawn from a ground loop."""
        return {t for t in self.sources if "brine-in" in self.parts[t].kind.ports}

    @cached_property
    def always(self) -> tuple[str, ...]:
        """Pumps and controlled sources that no call names: they run whenever anything calls."""
        free = [t for t in self.sources if self.parts[t].kind.giver == "controlled"]
        return tuple(t for t in (*self.pumps, *free) if t not in self.wanted)

    # calls that are served together

    @staticmethod
    def takes_heat(call: Call) -> bool:
        """True for a call for heat from a source that other calls may follow."""
        return not call.follows and call.duty in (HEATING, HOT_WATER, BUFFER, FROST)

    def with_followers(self, call: Call) -> tuple[Call, ...]:
        """A call and those that stand only while one such as it does."""
        return (call, *(c for c in self.calls if c.follows and self.takes_heat(call)))

    def together(self, calls: Iterable[Call]) -> tuple[Call, ...]:
        """Every call that can be served at once: of two that turn one valve both ways the one with priority."""
        taken: list[Call] = []
        settled: dict[str, str] = {}
        for call in sorted(calls, key=self._rank):
            clash = [t for t, word in call.wants.items() if settled.get(t, word) != word and not self._does_both(t)]
            if not clash:
                taken.append(call)
                settled |= {tag: word for tag, word in call.wants.items() if tag not in settled}
        return tuple(call for call in self.calls if call in taken)

    def _rank(self, call: Call) -> tuple[int, bool]:
        for tag, word in call.wants.items():
            side = self.parts[tag].value("priority")
            if side in self.parts[tag].kind.positions:
                return (0 if side == word else 10**6), call.duty != HOT_WATER
        return (10**3 if call.priority is None else call.priority), call.duty != HOT_WATER

    def _does_both(self, tag: str) -> bool:
        return "both" in self.parts[tag].kind.positions

    # the state that calls make

    def calling(self, calls: Sequence[Call], name: str, sort: Sort, without: Iterable[str] = ()) -> State:
        """The state in which exactly these calls stand. `without`: sources and pumps kept off all the same."""
        positions = dict(self.resting)
        asked: dict[str, dict[str, None]] = {}
        for call in calls:
            for tag, word in call.wants.items():
                asked.setdefault(tag, {})[word] = None
        asked |= {tag: {"on": None} for tag in self.always if tag not in asked}
        for tag in without:
            asked.pop(tag, None)
        for tag, words in asked.items():
            positions[tag] = "both" if len(words) > 1 and self._does_both(tag) else self.as_position(tag, [*words])
        on = [tag for tag in asked if self.runs(tag)]
        tags = tuple(dict.fromkeys(tag for call in calls for tag in call.tags))
        return self.state(name, sort, positions, on, calling=tags)

    def no_calls(self) -> State:
        """The state with power on in which every part rests."""
        return self.state("no calls, power on", "no-calls", dict(self.resting), ())

    def as_position(self, tag: str, words: list[str]) -> str:
        """The position for what is asked of a part: a source with a valve inside that is "on" is heating."""
        word = "hot-water" if "hot-water" in words else words[0]
        return "heating" if word == "on" and "heating" in self.parts[tag].kind.positions else word

    def runs(self, tag: str) -> bool:
        """True for a pump, a source or a heater; other parts only stand one way or another."""
        return tag in self.pumps or tag in self.sources or tag in self.heaters

    def state(self, name: str, sort: Sort, positions: dict[str, str], on: Iterable[str], **more) -> State:
        """A state of these positions; `on`: pumps that run, and sources that give heat with the pumps inside them."""
        on = set(on)
        if not on & self.ground_heat_pumps:
            on -= {t for t in self.sources if self.parts[t].kind.name == "ground-loop"}
        positions |= {t: "on" if unit in on else "off" for t, unit in self.outdoor_units.items()}
        pumps = (t for t in self.parts if t in on and (t in self.pumps or has_own_pump(self.parts[t])))
        sources = (t for t in self.parts if t in on and (t in self.sources or t in self.heaters))
        ordered = {tag: positions[tag] for tag in self.parts if tag in positions}
        return State(name, sort, positions=ordered, pumps_on=tuple(pumps), sources_on=tuple(sources), **more)

    @cached_property
    def outdoor_units(self) -> dict[str, str]:
        """Outdoor units, each with the source to which it is piped."""
        units: dict[str, str] = {}
        for tag, part in self.parts.items():
            if part.kind.name == "split-outdoor-unit":
                far = (f.tag for name in part.kind.ports for f in self.network.reach.piped_to[PortId(tag, name)])
                if source := next((t for t in far if t in self.sources), ""):
                    units[tag] = source
        return units


def _is_bypass(part: Part) -> bool:
    return part.kind.name in _BY_PRESSURE and part.kind.moved_by != "hand"
