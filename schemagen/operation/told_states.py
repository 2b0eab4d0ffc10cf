"""The states of a system that are told, and the names by which they are known.

The user's own states come first, then one for each call, all calls, no calls, defrost of heat pumps that use outdoor
air, all valves shut, power off, filling, and one for each tap. States that are alike are told once.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from functools import cached_property

from schemagen.network.network import NamedState, PortId
from schemagen.operation.calls import BUFFER, CIRCULATION, FROST, HEATING, HOT_WATER, SOLAR, STOVE, Call
from schemagen.operation.standing import Standing
from schemagen.operation.states import State

MOST_ALIKE = 4
"""More calls or taps that are alike than this are told by the first and the last of them."""

_PHRASE = {
    HOT_WATER: "hot water calls",
    HEATING: "heating calls",
    BUFFER: "buffer calls",
    CIRCULATION: "hot-water circulation runs",
    FROST: "frost protection calls",
    SOLAR: "solar charging",
    STOVE: "stove burns",
}

_HEAT_PUMPS = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit")
_AS_IN_DEFROST = (HEATING, BUFFER, FROST, HOT_WATER, CIRCULATION, SOLAR, STOVE)
"""The call as which water runs in a defrost: the first of these that moves the heat pump."""

_LEVERS = {"zone-valve": "open", "mid-position-valve": "both", "underfloor-manifold": "open"}
"""How motor valves are held by hand while a system is filled; diverters stand between their sides."""

_FILLS = {"filling-loop": "connected", "fill-valve": "open", "automatic-fill-unit": "topping-up"}


class ToldStates:
    """The states to tell of one network; linear in its size."""

    def __init__(self, standing: Standing) -> None:
        self.standing = standing
        self.network = standing.network
        self.parts = standing.parts
        self.calls = standing.calls

    def all(self) -> Iterator[State]:
        """Every state to tell, the user's own first."""
        idle = [self.standing.no_calls(), *self._defrosts(), self._all_shut(), self._power_off()]
        built = [*self._of_calls(), *idle, *self._filling(), *self._taps()]
        taken: set[str] = set()
        for state in (*(self._named(n) for n in self.network.named_states), *built):
            if state.name.casefold() not in taken:
                taken.add(state.name.casefold())
                yield state

    # states with calls

    def _of_calls(self) -> Iterator[State]:
        with_calls = [call for call in self.calls if not (call.follows and self._led)]
        singles: list[State] = []
        for call, name, alike in self._told_once(with_calls):
            state = replace(self.standing.calling(self.standing.with_followers(call), name, "call"), alike=alike)
            same = next((n for n, other in enumerate(singles) if _content(other) == _content(state)), None)
            if same is None:
                singles.append(state)
            else:
                singles[same] = replace(singles[same], alike=(*singles[same].alike, name, *alike))
        yield from singles
        if len(with_calls) > 1:
            together = self.standing.calling(self.standing.together(self.calls), "all calls", "all-calls")
            if all(_content(together) != _content(single) for single in singles):
                yield together

    @cached_property
    def _led(self) -> bool:
        return any(self.standing.takes_heat(call) for call in self.calls)

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

    # states without a call

    def _defrosts(self) -> Iterator[State]:
        """A heat pump takes heat back from its water to clear ice off its outdoor coil; water runs as in heating."""
        units = [tag for tag in self.parts if self._uses_air(tag)]
        for tag in units:
            own = [call for call in self.calls if tag in call.wants or tag in self.standing.always]
            calls = sorted(own, key=lambda call: _AS_IN_DEFROST.index(call.duty))
            if calls:
                name = f"defrost: {self._called(tag)}" if len(units) > 1 else "defrost"
                state = self.standing.calling(self.standing.with_followers(calls[0]), name, "defrost")
                yield replace(state, calling=(), sources_on=tuple(t for t in state.sources_on if t != tag))

    def _uses_air(self, tag: str) -> bool:
        if self.parts[tag].kind.name == "air-heat-pump":
            return True
        return tag in self.standing.outdoor_units.values()

    def _all_shut(self) -> State:
        """Every zone valve and thermostatic radiator valve shut; pumps that can still run do."""
        trv = {t: "shut" for t, p in self.parts.items() if p.kind.name == "thermostatic-radiator-valve"}
        on = self._still_running()
        positions = self.standing.resting | trv | {t: "on" for t in on if "on" in self.parts[t].kind.positions}
        positions |= {t: "heating" for t in on if "heating" in self.parts[t].kind.positions}
        return replace(self.standing.state("all zones shut", "all-shut", positions, on), sources_on=())

    def _still_running(self) -> tuple[str, ...]:
        overrun = [t for t in self.standing.sources if self.parts[t].value("overrun")]
        with_them = {tag for call in self.calls if set(overrun) & set(call.wants) for tag in call.wants}
        plain = [t for t in self.standing.pumps if self.parts[t].kind.name != "mixing-set"]
        pumps = [t for t in plain if t not in self.standing.wanted or t in with_them]
        primary = [t for t in self.standing.sources if self.parts[t].kind.name in _HEAT_PUMPS or t in overrun]
        return (*pumps, *primary)

    def _power_off(self) -> State:
        resting = self.standing.resting
        positions = resting | {t: p.kind.rest for t, p in self.parts.items() if t in resting and p.kind.rest}
        hand = {t: p.kind.normal for t, p in self.parts.items() if p.kind.moved_by in ("hand", "thermostat")}
        positions |= {t: word for t, word in hand.items() if word and t in positions and t not in self.standing.wanted}
        fires = [t for t in self.standing.sources if self.parts[t].kind.giver == "uncontrolled"]
        positions |= dict.fromkeys(fires, "on")
        return self.standing.state("power off", "power-off", positions, fires)

    def _filling(self) -> Iterator[State]:
        fills = {t: word for t, p in self.parts.items() if (word := _FILLS.get(p.kind.name))}
        cistern = any(p.kind.name == "feed-and-expansion-cistern" for p in self.parts.values())
        if fills or cistern:
            levers = {t: word for t, p in self.parts.items() if (word := _LEVERS.get(p.kind.name))}
            positions = self.standing.resting | levers | fills
            between = [t for t, p in self.parts.items() if p.kind.name == "diverter-valve"]
            held = {t: w for t, w in positions.items() if t not in between}
            yield self.standing.state("filling", "filling", held, ())

    # states with open taps

    def _taps(self) -> Iterator[State]:
        alike: dict[object, list[str]] = {}
        for tag in self.standing.outlets:
            alike.setdefault((self.parts[tag].kind.name, self._drawn_from(tag)), []).append(tag)
        told = {}
        for group in alike.values():
            first, merged = _first_and_last(group)
            told |= {tag: merged if n == 0 else [] for n, tag in enumerate(first)}
        for tag, merged in told.items():
            names = tuple(self._tap_name(other) for other in merged)
            yield replace(self._drawing([tag], self._tap_name(tag)), alike=names)
        if len(self.standing.outlets) > 1:
            yield self._drawing(self.standing.outlets, "all taps open")

    def _drawn_from(self, tag: str) -> tuple[str, ...]:
        """Kinds of the parts at the other ends of a tap's pipes."""
        ports = (PortId(tag, name) for name in self.parts[tag].kind.ports)
        return tuple(self.parts[far.tag].kind.name for port in ports for far in self.network.reach.piped_to[port])

    def _tap_name(self, tag: str) -> str:
        return f"tap open: {self._called(tag)}"

    def _drawing(self, outlets: Sequence[str], name: str) -> State:
        """Nothing calls for heat but what heats tap water as it runs."""
        units = [t for t, p in self.parts.items() if p.kind.name == "heat-interface-unit"]
        followers = [call for call in self.calls if call.follows] if units else []
        base = self.standing.calling(followers, name, "tap-open") if followers else self.standing.no_calls()
        heats = {t: "hot-water" for t, p in self.parts.items() if p.kind.name == "combi-boiler"}
        positions = {**base.positions, **dict.fromkeys(outlets, "open"), **heats}
        return replace(base, name=name, sort="tap-open", positions=positions, outlets_open=tuple(outlets))

    # the user's own states

    def _named(self, named: NamedState) -> State:
        told = {t for tag in named.calling for t in (tag, *self.parts[tag].value("switches", ()))}
        calls = [call for call in self.calls if told & set(call.tags)]
        base = self.standing.calling(calls, named.name, "named")
        positions = dict(base.positions) | self._spelt(named.positions)
        on = [*base.pumps_on, *base.sources_on]
        on = [t for t in dict.fromkeys(on) if named.positions.get(t, "on") != "off"]
        set_on = [t for t, word in named.positions.items() if word in ("on", "heating", "hot-water")]
        on += [t for t in set_on if self.standing.runs(t)]
        taps = tuple(t for t in self.standing.outlets if positions.get(t) == "open")
        state = self.standing.state(named.name, "named", positions, on, outlets_open=taps)
        return replace(state, calling=named.calling)

    def _spelt(self, positions: Mapping[str, str]) -> dict[str, str]:
        """Positions as the kind has them: a source with a valve inside that is "on" is heating."""
        return {tag: self.standing.as_position(tag, [word]) for tag, word in positions.items()}


def _first_and_last(group: list) -> tuple[list, list]:
    """What to tell of things that are alike, and what that stands for."""
    return (group, []) if len(group) <= MOST_ALIKE else ([group[0], group[-1]], group[1:-1])


def _content(state: State) -> object:
    return dict(state.positions), state.pumps_on, state.sources_on, state.outlets_open
