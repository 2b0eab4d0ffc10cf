"""What happens in one state, in plain words: who calls, what turns and runs, where water goes, what stands still."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.network.network import Part, PortId
from schemagen.operation.notice import is_emitter, what_you_notice
from schemagen.operation.operate import Operation
from schemagen.operation.states import State, has_own_pump
from schemagen.operation.telling import capital, is_are, listed, s, some
from schemagen.operation.ways import Way, in_words, ways_of


@dataclass(frozen=True)
class Account:
    """The account of one state. Sentences end with a full stop; `ways` are those of operation.ways.

    calls   who calls, or what makes the state
    acts    what turns, opens and runs, "" if nothing does
    moves   where water goes
    still   what stands still that could be at work, "" if nothing does
    notice  what a person in the house notices, and what the program cannot tell; "" if there is nothing to say
    alike   names of the states that this one stands for
    """

    state: State
    calls: str
    acts: str
    ways: tuple[Way, ...]
    moves: str
    still: str
    notice: str
    alike: tuple[str, ...]

    @property
    def title(self) -> str:
        return capital(self.state.name)

    @property
    def sentences(self) -> tuple[str, ...]:
        alike = f"The same holds for {some(self.alike)}." if self.alike else ""
        return tuple(filter(None, (self.calls, self.acts, self.moves, self.still, self.notice, alike)))


def account_of(operation: Operation, state: State) -> Account:
    """The account of a state, one of the operation's own or one made from them."""
    told = _Told(operation, state)
    return Account(
        state, told.calls(), told.acts(), told.ways, told.moves(), told.still(), told.notice(), state.alike
    )  # fmt: skip


def stands(operation: Operation, state: State) -> dict[str, str]:
    """The position of every moving part as it is seen in a state, by tag in the order of the list.

    Beyond the state's own positions: bypass valves as pressure holds them, and a source that gives heat neither to its
    heating water nor to tap water that runs through it is "off".
    """
    flow = operation.flow(state)
    seen: dict[str, str] = {}
    for tag, part in operation.network.parts.items():
        word = state.positions.get(tag, "")
        if part.kind.giver and "tap-plate" in part.built_in and flow.part_moves(tag, ("cold-in", "hot-out")):
            word = "hot-water"
        elif part.kind.giver and not (word in part.kind.positions and tag in (*state.sources_on, *state.pumps_on)):
            word = "on" if tag in state.sources_on else "off"
        elif part.kind.giver and tag not in state.sources_on and word == "on":
            word = "off"
        elif part.kind.name == "bypass-valve" and not word:
            word = "open" if tag in flow.open_bypasses else "shut"
        if word:
            seen[tag] = word
    return seen


class _Told:
    def __init__(self, operation: Operation, state: State) -> None:
        self.operation = operation
        self.state = state
        self.parts = operation.network.parts
        self.flow = operation.flow(state)
        self.ways = () if state.sort == "filling" else ways_of(self.flow)

    # who calls

    def calls(self) -> str:
        match self.state.sort:
            case "no-calls":
                return "Nothing calls; the power is on."
            case "defrost":
                units = [t for t in self.state.pumps_on if self.parts[t].kind.gives and t not in self.state.sources_on]
                return f"{listed(units) or 'The heat pump'} clears ice off its outdoor coil with heat from its water."
            case "all-shut":
                return "Every zone valve and every thermostatic radiator valve is shut; a pump that can still run runs."
            case "power-off":
                return "The power is off: every motor valve stands where it rests."
            case "filling":
                return "The heating water is filled."
            case "tap-open":
                taps = self.state.outlets_open
                return f"{some([self._tap(t) for t in taps])} {is_are(taps)} open."
        calling = self.state.calling
        return f"{some([self._named(t) for t in calling])} call{s(calling)}." if calling else "Heat is called for."

    def _named(self, tag: str) -> str:
        part = self.parts[tag]
        about = part.label or str(part.value("room", "") or "")
        return f"{tag} ({', '.join(filter(None, (part.kind.title, about)))})"

    def _tap(self, tag: str) -> str:
        return f"{tag} ({self.parts[tag].label or self.parts[tag].kind.title})"

    # what acts

    def acts(self) -> str:
        said = [*self._turned(), *self._running()]
        return capital("; ".join(said)) + "." if said else ""

    def _turned(self) -> list[str]:
        """What changed against the state without a call; parts that do the same are told together."""
        rest = next(self.operation.of_sort("no-calls")).positions
        same: dict[tuple[str, str], list[str]] = {}
        for tag, word in self.state.positions.items():
            if phrase := self._turn(self.parts[tag], word, word != rest.get(tag)):
                same.setdefault(phrase, []).append(tag)
        for tag, part in self.parts.items():
            if self.state.sort == "filling" and part.kind.name == "diverter-valve":
                phrase = ("is held between its sides by hand", "are held between their sides by hand")
                same.setdefault(phrase, []).append(tag)
            if tag in self.flow.open_bypasses:
                same.setdefault(("opens on the pressure", "open on the pressure"), []).append(tag)
        return [f"{some(tags)} {one if len(tags) == 1 else many}" for (one, many), tags in same.items()]

    def _turn(self, part: Part, word: str, changed: bool) -> tuple[str, str] | None:
        """What a part does, of one and of several; None if it need not be told."""
        sort, kind = self.state.sort, part.kind
        if kind.driver or kind.giver or part.tag in self.state.outlets_open or kind.name in _FOLLOWING:
            return None
        if kind.moved_by == "motor" and word not in ("open", "shut"):
            where = f"{word.replace('-', ' ')}{_serving(part, word)}"
            if changed:
                return f"turns to {where}", f"turn to {where}"
            told = sort != "filling" and self.flow.part_moves(part.tag)
            return (f"stays at {where}", f"stay at {where}") if told else None
        if not changed or (sort == "all-shut" and word == "shut") or (sort == "power-off" and kind.moved_by != "motor"):
            return None
        if sort == "filling" and word == "open" and "fill" not in kind.counts_as:
            return "is held open by hand", "are held open by hand"
        return _BECOMES.get(word, (f"stands at {word}", f"stand at {word}"))

    def _running(self) -> Iterator[str]:
        state = self.state
        both = dict.fromkeys(t for t in self.parts if t in (*state.sources_on, *state.pumps_on))
        fires = [t for t in both if self.parts[t].kind.giver == "uncontrolled"]
        idle = [t for t in both if self.parts[t].kind.giver and t not in state.sources_on]
        run = [t for t in both if t not in (*fires, *idle) and self.parts[t].kind.positions]
        pumped = [has_own_pump(self.parts[t]) for t in run]
        if fires:
            yield f"{some(fires)} {'give' if len(fires) > 1 else 'gives'} heat"
        if len(run) == 1:
            yield f"{run[0]} and its pump run" if pumped[0] else f"{run[0]} runs"
        elif run:
            yield f"{some(f'{t} with its pump' if own else t for t, own in zip(run, pumped, strict=True))} run"
        if idle:
            heat = "" if state.sort == "defrost" else ", without heat from it"
            yield f"the pump inside {some(idle)} runs{heat}"

    # where water goes

    def moves(self) -> str:
        if self.state.sort == "filling":
            fills = [t for t, p in self.parts.items() if self._fills(p)]
            return f"Water comes in through {listed(fills)} and drives the air to the vents." if fills else ""
        if not self.ways:
            return "No water moves."
        return f"Water goes {'; '.join(in_words(way) for way in self.ways)}."

    def _fills(self, part: Part) -> bool:
        if part.kind.name in ("fill-valve", "filling-loop"):
            return self.flow.part_moves(part.tag)
        if part.kind.name == "automatic-fill-unit":
            return any(self.flow.moves(p) for p in self.operation.network.pipes_at.get(PortId(part.tag, "system"), ()))
        cistern = part.kind.name == "feed-and-expansion-cistern"
        return cistern and any(self.flow.moves(p) for p in self.operation.network.pipes_at.get(_feed(part.tag), ()))

    def still(self) -> str:
        if self.state.sort in ("filling", "tap-open", "all-shut") or not self.ways:
            return ""
        emitters = [t for t, p in self.parts.items() if is_emitter(p.kind)]
        resting = [t for t in emitters if not self.flow.part_moves(t)]
        said = []
        if emitters and len(resting) == len(emitters):
            said.append("heating stands still")
        elif resting:
            said.append(f"{some(resting)} stand{s(resting)} still")
        stores = [t for t, p in self.parts.items() if p.kind.store == "wholesome" and p.kind.takes]
        cold = [t for t in stores if not self.flow.part_moves(t, self.parts[t].kind.takes)]
        if cold:
            said.append(f"{some(cold)} {is_are(cold)} not heated")
        return capital("; ".join(said)) + "." if said else ""

    def notice(self) -> str:
        said = list(what_you_notice(self.operation, self.state, self.flow, self.ways))
        network = self.operation.network
        if self.state.sort != "filling" and (doubtful := [p.name for p in network.pipes if self.flow.uncertain(p)]):
            said.append(f"Which way water goes in {some(doubtful)} depends on how strongly the loads resist.")
        against = [p.name for p in network.pipes if self.flow.direction(p) < 0 and not self.flow.uncertain(p)]
        if against and self.state.sort != "filling":
            said.append(f"Water moves against the listed direction in {some(against)}.")
        return " ".join(said)


_FOLLOWING = ("split-outdoor-unit",)
"""Parts that do what their source does, so that their position need not be told."""

_BECOMES = {
    "open": ("opens", "open"),
    "shut": ("shuts", "shut"),
    "connected": ("is connected", "are connected"),
    "disconnected": ("is taken off", "are taken off"),
    "topping-up": ("lets water in", "let water in"),
}


def _feed(tag: str) -> PortId:
    return PortId(tag, "cold-feed")


def _serving(part: Part, word: str) -> str:
    served = str(part.value("serves", {}).get(word, "")).replace("-", " ") if "serves" in part.values else ""
    return f" ({served})" if served and served != word.replace("-", " ") else ""
