"""The states of a system: what calls, where the moving parts stand, and which pumps, sources and taps are on.

The user's own states come first, then one for each call, all calls, no calls, defrost of heat pumps that use outdoor
air, all valves shut, power off, filling, and one for each tap. States that are alike are told once.
"""

from collections.abc import Iterable, Iterator, Mapping, Sequence
from dataclasses import dataclass, field, replace
from functools import cached_property
from itertools import combinations
from typing import Literal

from schemagen.network.network import NamedState, Network, Part, PortId
from schemagen.operation.calls import (
    BUFFER,
    CIRCULATION,
    FROST,
    HEATING,
    HOT_WATER,
    SOLAR,
    STOVE,
    Call,
    find_calls,
    idle_side,
    served_by,
)
from schemagen.parts.kind import OUTSIDE

Sort = Literal[
    "named", "call", "all-calls", "no-calls", "defrost", "all-shut", "power-off", "filling", "tap-open", "sources"
]  # fmt: skip

MOST_ALIKE = 4
"""More calls or taps that are alike than this are told by the first and the last of them."""

MOST_SUBSETS = 5
"""Of more heat sources than this, only each alone and all but each are told."""

_PHRASE = {
    HOT_WATER: "hot water calls",
    HEATING: "heating calls",
    BUFFER: "buffer calls",
    CIRCULATION: "hot-water circulation runs",
    FROST: "frost protection calls",
    SOLAR: "solar charging",
    STOVE: "stove burns",
}

_BY_PRESSURE = ("bypass-valve",)
"""Pressure decides where these stand, so a state does not say."""

_HEAT_PUMPS = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit")
_AS_IN_DEFROST = (HEATING, BUFFER, FROST, HOT_WATER, CIRCULATION, SOLAR, STOVE)
"""The call as which water runs in a defrost: the first of these that moves the heat pump."""

_LEVERS = {"zone-valve": "open", "mid-position-valve": "both", "underfloor-manifold": "open"}
"""How motor valves are held by hand while a system is filled; diverters stand between their sides."""

_FILLS = {"filling-loop": "connected", "fill-valve": "open", "automatic-fill-unit": "topping-up"}


@dataclass(frozen=True)
class State:
    """One operating state. Its name is unique in its network.

    calling      tags of the devices that call (or of the parts themselves, where no device is listed)
    positions    position of every moving part by tag, but for bypass valves that pressure opens and diverters held
                 between their sides; pumps and sources "on" or "off", sources with a valve inside "heating",
                 "hot-water" or "off"
    pumps_on     pumps that run, and sources whose pump inside runs
    sources_on   sources that give heat
    outlets_open taps that are open
    alike        the states that this one stands for: in each, its tag acts as the calling or open one does here
    """

    name: str
    sort: Sort
    calling: tuple[str, ...] = ()
    positions: Mapping[str, str] = field(default_factory=dict)
    pumps_on: tuple[str, ...] = ()
    sources_on: tuple[str, ...] = ()
    outlets_open: tuple[str, ...] = ()
    alike: tuple[str, ...] = ()

    @cached_property
    def at_work(self) -> frozenset[str]:
        """Pumps that run and sources that give heat."""
        return self.giving.union(self.pumps_on)

    @cached_property
    def giving(self) -> frozenset[str]:
        """Sources that give heat."""
        return frozenset(self.sources_on)


def _is_bypass(part: Part) -> bool:
    return part.kind.name in _BY_PRESSURE and part.kind.moved_by != "hand"


def has_own_pump(part: Part) -> bool:
    """True for a source with a pump inside."""
    return part.kind.driver == "built-in" and "pump" in part.built_in and part.value("pump") is not False


def is_tap(part: Part) -> bool:
    return any(p.b == OUTSIDE and "open" in p.positions for p in part.kind.passages)


class States:
    """The states of one network; linear in its size."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self.parts = network.parts
        self.calls = find_calls(network)
        self.pumps = {t: None for t, p in self.parts.items() if p.kind.driver == "pump"}
        self.sources = {t: None for t, p in self.parts.items() if p.kind.giver and p.kind.gives}
        self.heaters = {t: None for t, p in self.parts.items() if p.kind.giver and not p.kind.gives}
        self.outlets = [t for t, p in self.parts.items() if is_tap(p)]

    def all(self) -> Iterator[State]:
        """Every state to tell, the user's own first."""
        idle = [self.no_calls(), *self._defrosts(), self.all_shut(), self.power_off()]
        built = [*self._of_calls(), *idle, *self._filling(), *self._taps()]
        taken: set[str] = set()
        for state in (*(self._named(n) for n in self.network.named_states), *built):
            if state.name.casefold() not in taken:
                taken.add(state.name.casefold())
                yield state

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

    # states with calls

    def _of_calls(self) -> Iterator[State]:
        with_calls = [call for call in self.calls if not (call.follows and self._led)]
        singles: list[State] = []
        for call, name, alike in self._told_once(with_calls):
            state = replace(self.calling(self._with_followers(call), name, "call"), alike=alike)
            same = next((n for n, other in enumerate(singles) if _content(other) == _content(state)), None)
            if same is None:
                singles.append(state)
            else:
                singles[same] = replace(singles[same], alike=(*singles[same].alike, name, *alike))
        yield from singles
        if len(with_calls) > 1:
            together = self.calling(self._compatible(self.calls), "all calls", "all-calls")
            if all(_content(together) != _content(single) for single in singles):
                yield together

    @cached_property
    def _led(self) -> bool:
        return any(self._takes_heat(call) for call in self.calls)

    @staticmethod
    def _takes_heat(call: Call) -> bool:
        return not call.follows and call.duty in (HEATING, HOT_WATER, BUFFER, FROST)

    def _with_followers(self, call: Call) -> tuple[Call, ...]:
        return (call, *(c for c in self.calls if c.follows and self._takes_heat(call)))

    def _told_once(self, calls: Sequence[Call]) -> Iterator[tuple[Call, str, tuple[str, ...]]]:
        """Calls to tell, their names, and the names of those that each one stands for."""
        duties = [call.duty for call in calls]
        named = [(call, self._name(call, duties.count(call.duty) > 1)) for call in calls]
        alike: dict[object, list[tuple[Call, str]]] = {}
        for call, name in named:
            alike.setdefault(self._signature(call), []).append((call, name))
        for group in alike.values():
            told, merged = _first_and_last(group)
            for n, (call, name) in enumerate(told):
                yield call, name, tuple(other for _, other in merged) if n == 0 else ()

    def _signature(self, call: Call) -> object:
        device = self.parts[call.tags[0]].kind.name if call.tags else ""
        moved = sorted((self.parts[tag].kind.name, word) for tag, word in call.wants.items())
        return call.duty, device, tuple(moved)

    def _name(self, call: Call, several: bool) -> str:
        phrase = _PHRASE[call.duty]
        return f"{phrase}: {', '.join(self._called(tag) for tag in call.tags)}" if several and call.tags else phrase

    def _called(self, tag: str) -> str:
        part = self.parts[tag]
        word = part.label or str(part.value("room", "") or "")
        return f"{tag} ({word})" if word else tag

    def _compatible(self, calls: Iterable[Call]) -> tuple[Call, ...]:
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
            positions[tag] = "both" if len(words) > 1 and self._does_both(tag) else self._as_position(tag, [*words])
        on = [tag for tag in asked if self._runs(tag)]
        tags = tuple(dict.fromkeys(tag for call in calls for tag in call.tags))
        return self._state(name, sort, positions, on, calling=tags)

    def _as_position(self, tag: str, words: list[str]) -> str:
        word = "hot-water" if "hot-water" in words else words[0]
        return "heating" if word == "on" and "heating" in self.parts[tag].kind.positions else word

    def _runs(self, tag: str) -> bool:
        return tag in self.pumps or tag in self.sources or tag in self.heaters

    def _state(self, name: str, sort: Sort, positions: dict[str, str], on: Iterable[str], **more) -> State:
        """`on` are the pumps that run and the sources that give heat with the pumps inside them."""
        on = set(on)
        if not on & self.ground_heat_pumps:
            on -= {t for t in self.sources if self.parts[t].kind.name == "ground-loop"}
        positions |= {t: "on" if unit in on else "off" for t, unit in self._outdoor_units.items()}
        pumps = (t for t in self.parts if t in on and (t in self.pumps or has_own_pump(self.parts[t])))
        sources = (t for t in self.parts if t in on and (t in self.sources or t in self.heaters))
        ordered = {tag: positions[tag] for tag in self.parts if tag in positions}
        return State(name, sort, positions=ordered, pumps_on=tuple(pumps), sources_on=tuple(sources), **more)

    # states without a call

    def no_calls(self) -> State:
        return self._state("no calls, power on", "no-calls", dict(self.resting), ())

    def _defrosts(self) -> Iterator[State]:
        """A heat pump takes heat back from its water to clear ice off its outdoor coil; water runs as in heating."""
        units = [tag for tag in self.parts if self._uses_air(tag)]
        for tag in units:
            own = [call for call in self.calls if tag in call.wants or tag in self.always]
            calls = sorted(own, key=lambda call: _AS_IN_DEFROST.index(call.duty))
            if calls:
                name = f"defrost: {self._called(tag)}" if len(units) > 1 else "defrost"
                state = self.calling(self._with_followers(calls[0]), name, "defrost")
                yield replace(state, calling=(), sources_on=tuple(t for t in state.sources_on if t != tag))

    def _uses_air(self, tag: str) -> bool:
        if self.parts[tag].kind.name == "air-heat-pump":
            return True
        return tag in self._outdoor_units.values()

    @cached_property
    def _outdoor_units(self) -> dict[str, str]:
        """Outdoor units, each with the source to which it is piped."""
        units: dict[str, str] = {}
        for tag, part in self.parts.items():
            if part.kind.name == "split-outdoor-unit":
                far = (f.tag for name in part.kind.ports for f in self.network.reach.piped_to[PortId(tag, name)])
                if source := next((t for t in far if t in self.sources), ""):
                    units[tag] = source
        return units

    def all_shut(self) -> State:
        """Every zone valve and thermostatic radiator valve shut; pumps that can still run do."""
        trv = {t: "shut" for t, p in self.parts.items() if p.kind.name == "thermostatic-radiator-valve"}
        on = self._still_running()
        positions = self.resting | trv | {t: "on" for t in on if "on" in self.parts[t].kind.positions}
        positions |= {t: "heating" for t in on if "heating" in self.parts[t].kind.positions}
        return replace(self._state("all zones shut", "all-shut", positions, on), sources_on=())

    def _still_running(self) -> tuple[str, ...]:
        overrun = [t for t in self.sources if self.parts[t].value("overrun")]
        with_them = {tag for call in self.calls if set(overrun) & set(call.wants) for tag in call.wants}
        plain = [t for t in self.pumps if self.parts[t].kind.name != "mixing-set"]
        pumps = [t for t in plain if t not in self.wanted or t in with_them]
        primary = [t for t in self.sources if self.parts[t].kind.name in _HEAT_PUMPS or t in overrun]
        return (*pumps, *primary)

    def power_off(self) -> State:
        positions = self.resting | {t: p.kind.rest for t, p in self.parts.items() if t in self.resting and p.kind.rest}
        hand = {t: p.kind.normal for t, p in self.parts.items() if p.kind.moved_by in ("hand", "thermostat")}
        positions |= {t: word for t, word in hand.items() if word and t in positions and t not in self.wanted}
        fires = [t for t in self.sources if self.parts[t].kind.giver == "uncontrolled"]
        positions |= dict.fromkeys(fires, "on")
        return self._state("power off", "power-off", positions, fires)

    def _filling(self) -> Iterator[State]:
        fills = {t: word for t, p in self.parts.items() if (word := _FILLS.get(p.kind.name))}
        cistern = any(p.kind.name == "feed-and-expansion-cistern" for p in self.parts.values())
        if fills or cistern:
            levers = {t: word for t, p in self.parts.items() if (word := _LEVERS.get(p.kind.name))}
            positions = self.resting | levers | fills
            between = [t for t, p in self.parts.items() if p.kind.name == "diverter-valve"]
            yield self._state("filling", "filling", {t: w for t, w in positions.items() if t not in between}, ())

    def _taps(self) -> Iterator[State]:
        alike: dict[object, list[str]] = {}
        for tag in self.outlets:
            alike.setdefault((self.parts[tag].kind.name, self._drawn_from(tag)), []).append(tag)
        told = {}
        for group in alike.values():
            first, merged = _first_and_last(group)
            told |= {tag: merged if n == 0 else [] for n, tag in enumerate(first)}
        for tag, merged in told.items():
            names = tuple(self._tap_name(other) for other in merged)
            yield replace(self.drawing([tag], self._tap_name(tag)), alike=names)
        if len(self.outlets) > 1:
            yield self.drawing(self.outlets, "all taps open")

    def _drawn_from(self, tag: str) -> tuple[str, ...]:
        """Kinds of the parts at the other ends of a tap's pipes."""
        ports = (PortId(tag, name) for name in self.parts[tag].kind.ports)
        return tuple(self.parts[far.tag].kind.name for port in ports for far in self.network.reach.piped_to[port])

    def _tap_name(self, tag: str) -> str:
        return f"tap open: {self._called(tag)}"

    def drawing(self, outlets: Sequence[str], name: str) -> State:
        """Nothing calls for heat but what heats tap water as it runs."""
        units = [t for t, p in self.parts.items() if p.kind.name == "heat-interface-unit"]
        followers = [call for call in self.calls if call.follows] if units else []
        base = self.calling(followers, name, "tap-open") if followers else self.no_calls()
        heats = {t: "hot-water" for t, p in self.parts.items() if p.kind.name == "combi-boiler"}
        positions = {**base.positions, **dict.fromkeys(outlets, "open"), **heats}
        return replace(base, name=name, sort="tap-open", positions=positions, outlets_open=tuple(outlets))

    # states of the user and of the checks

    def _named(self, named: NamedState) -> State:
        told = {t for tag in named.calling for t in (tag, *self.parts[tag].value("switches", ()))}
        calls = [call for call in self.calls if told & set(call.tags)]
        base = self.calling(calls, named.name, "named")
        positions = dict(base.positions) | self._spelt(named.positions)
        on = [*base.pumps_on, *base.sources_on]
        on = [t for t in dict.fromkeys(on) if named.positions.get(t, "on") != "off"]
        on += [t for t, word in named.positions.items() if word in ("on", "heating", "hot-water") and self._runs(t)]
        taps = tuple(t for t in self.outlets if positions.get(t) == "open")
        state = self._state(named.name, "named", positions, on, outlets_open=taps)
        return replace(state, calling=named.calling)

    def _spelt(self, positions: Mapping[str, str]) -> dict[str, str]:
        """Positions as the kind has them: a source with a valve inside that is "on" is heating."""
        return {tag: self._as_position(tag, [word]) for tag, word in positions.items()}

    def with_some_sources(self) -> Iterator[State]:
        """Everything calls, but only some of the heat sources run: each choice of them, for finding idle ones."""
        calls = self._compatible(self.calls)
        running = self.calling(calls, "", "sources").sources_on
        together: dict[int, list[str]] = {}
        for tag in running:
            for name in self.parts[tag].kind.gives[:1]:
                together.setdefault(self.network.reach.wet_number(PortId(tag, name)), []).append(tag)
        for sources in together.values():
            for some in _choices(sources):
                off = [t for t in sources if t not in some]
                name = f"only {', '.join(some)} on" if len(some) <= len(off) else f"{', '.join(off)} off"
                yield self.calling(calls, name, "sources", without=[*off, *self._own_pumps(off)])

    def _own_pumps(self, sources: Sequence[str]) -> list[str]:
        """Pumps in the run of a source, before any branch: they stop with it."""
        return [tag for source in sources for tag in self._in_run(source)]

    def _in_run(self, source: str) -> Iterator[str]:
        for name in self.parts[source].kind.gives:
            port, last = PortId(source, name), None
            while port is not None and port != last:
                beyond = self.network.reach.piped_to[port]
                if len(beyond) != 1 or beyond[0].tag == source:
                    break
                ways = self.network.reach.ways[beyond[0]]
                if self.parts[beyond[0].tag].kind.driver == "pump":
                    yield beyond[0].tag
                onward = {way.to for way in ways}
                last, port = port, onward.pop() if len(onward) == 1 else None


def _first_and_last(group: list) -> tuple[list, list]:
    """What to tell of things that are alike, and what that stands for."""
    return (group, []) if len(group) <= MOST_ALIKE else ([group[0], group[-1]], group[1:-1])


def _choices(sources: Sequence[str]) -> Iterator[tuple[str, ...]]:
    """Some of the sources, at least one and not all."""
    count = len(sources)
    sizes = range(1, count) if count <= MOST_SUBSETS else (1, count - 1)
    return (some for size in sizes for some in combinations(sources, size))


def _content(state: State) -> object:
    return dict(state.positions), state.pumps_on, state.sources_on, state.outlets_open
