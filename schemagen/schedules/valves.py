"""The valve schedule: what each valve does, how it stands in normal use, what it isolates, and what stops if shut."""

from collections.abc import Iterator, Sequence

from schemagen.checks.service._regions import shuts_by_hand
from schemagen.drawing.style import shipped_style
from schemagen.network.network import Part, PortId
from schemagen.network.reach import is_wet
from schemagen.operation.calls import served_by
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import kind_words, listed
from schemagen.schedules.schedule import Schedule, texts
from schemagen.schedules.valve_graph import normal_position

DOES = {
    "balancing-valve": "sets the flow, and shuts",
    "bypass-valve": "lets flow past when all else is shut",
    "check-valve": "lets water one way only",
    "disconnecting-preventer": "keeps heating water out of drinking water",
    "double-check-valve": "keeps heating water out of drinking water",
    "drain-cock": "drains",
    "expansion-relief-valve": "lets out water if the pressure is too high",
    "fill-and-flush-valves": "fills and flushes",
    "fill-valve": "fills",
    "filling-loop": "fills the heating; off in normal use",
    "flow-regulator": "sets and shows the flow, and shuts",
    "antifreeze-valve": "lets water out before it freezes",
    "inline-antifreeze-valve": "lets water out before it freezes",
    "inlet-control-group": "strains, limits the pressure, checks and relieves",
    "isolating-valve": "shuts",
    "loading-valve": "keeps the return to the fire warm",
    "lockshield-valve": "sets the flow, and shuts",
    "pressure-reducer": "limits the pressure",
    "radiator-valve": "turns one emitter on and off",
    "relief-valve": "lets out water if the pressure is too high",
    "temperature-and-pressure-relief-valve": "lets out water if it is too hot or the pressure too high",
    "thermal-discharge-valve": "cools the fire with fresh water",
    "thermostatic-mixing-valve": "blends hot and cold to a safe temperature",
    "thermostatic-radiator-valve": "holds the room's temperature",
    "heating-mixing-valve": "blends flow and return",
    "four-port-mixing-valve": "blends flow and return",
    "zone-valve": "opens when its zone calls",
}  # fmt: skip
"""Own words for the chart; a kind that is not named here is told by what its page says."""

_MOST_NAMED = 3


def valves_schedule(dossier: Dossier) -> Schedule:
    """One row a valve, in the order of the list."""
    columns = texts(
        "number", "kind", "label", "size", "section", "what it does", "normal position", "place", "isolates",
        "what stops if shut", "on the drawing",
    )  # fmt: skip
    rows = tuple(
        (
            part.tag, kind_words(part), part.label, size_of(dossier, part), section_codes(dossier, part),
            does(dossier, part), stands(part), part.place, isolates(dossier, part), stops(dossier, part),
            dossier.zones.get(part.tag, ""),
        )
        for part in valves(dossier)
    )  # fmt: skip
    return Schedule("valves", "Valve chart", columns, rows)


def valves(dossier: Dossier) -> Iterator[Part]:
    """Whatever a person, a motor, a thermostat or the pressure moves, and check valves: no taps, sources or pumps."""
    for part in dossier.network.parts.values():
        kind = part.kind
        moves = bool(kind.moved_by) or kind.name in DOES
        if moves and kind.family not in ("ends", "sources", "movers", "emitters", "vessels"):
            yield part


def size_of(dossier: Dossier, part: Part) -> str:
    """Its own size, else that of its first pipe."""
    pipes = (pipe for name in part.kind.ports for pipe in dossier.network.pipes_at.get(PortId(part.tag, name), ()))
    return part.texts.get("size", "") or next((pipe.size_text for pipe in pipes if pipe.size_text), "")


def section_codes(dossier: Dossier, part: Part) -> str:
    """The code letters of the sections at its openings: "PF", "CW / FILL"."""
    style = shipped_style().sections
    indices = [p.index for name in part.kind.ports for p in dossier.network.pipes_at.get(PortId(part.tag, name), ())]
    sections = dict.fromkeys(dossier.waters.section[i] for i in indices)
    return " / ".join(style[s].code for s in sections if s in style)


def does(dossier: Dossier, part: Part) -> str:
    """What it is there for, in few words."""
    if part.kind.name in ("diverter-valve", "mid-position-valve"):
        served = part.value("serves", {}) or _neighbours(dossier, part)
        sides = [f"{word.replace('-', ' ')}: {str(to).replace('-', ' ')}" for word, to in served.items()]
        return "; ".join(["turns the water", *sides])
    if part.kind.name == "isolating-valve":
        return _shuts(dossier, part)
    return DOES.get(part.kind.name) or part.kind.about.rstrip(".")


def _shuts(dossier: Dossier, part: Part) -> str:
    """What a plain hand valve is there for: the smaller of its sides."""
    if any(s.sort == "house" and s.to_shut == (part.tag,) for s in dossier.shut_offs):
        return "shuts off the whole house"
    if part.tag in dossier.valve_graph.closed:
        return "shut in normal use"
    sides = [side for side in dossier.valve_graph.sides(part.tag) if side]
    sides.sort(key=lambda side: (side[0] not in dossier.network.parts, len(side)))
    return f"shuts one side of {_some(sides[0])}" if sides else DOES[part.kind.name]


def _neighbours(dossier: Dossier, part: Part) -> dict[str, str]:
    served = served_by(dossier.network, dossier.facts.reach, part.tag)
    outlets = {name: tags for name, tags in served.items() if part.kind.ports[name].role == "out" and tags}
    return {name: listed(tags) for name, tags in outlets.items()}


def stands(part: Part) -> str:
    """How it stands in normal use; a motor valve: where it stands without power."""
    if part.kind.moved_by == "motor":
        rest = str(part.value("rest") or part.kind.rest)
        return f"{rest} without power" if rest else ""
    locked = part.value("locked")
    word = str(locked) if locked else normal_position(part)
    return f"{word}, locked" if locked else word.replace("-", " ")


def isolates(dossier: Dossier, part: Part) -> str:
    """What a valve parts from what, by the nearest parts that people know: "P1 from BU1 and beyond"."""
    ways = [p for p in part.kind.passages if is_wet(part.kind, p)]
    if not shuts_by_hand(part) or len(ways) != 1:
        return ""
    sides = sorted((side for side in dossier.valve_graph.sides(part.tag) if side), key=len)
    if all(len(side) > _MOST_NAMED for side in sides):
        return " from ".join(side[0] for side in sides)
    return " from ".join(map(_some, sides))


def _some(tags: Sequence[str]) -> str:
    return listed(tags) if len(tags) <= _MOST_NAMED else f"{tags[0]} and beyond"


def stops(dossier: Dossier, part: Part) -> str:
    """What nobody gets any more while this valve alone is shut."""
    if part.tag not in dossier.valve_graph.usable or "shut" not in part.kind.positions:
        return ""
    stopping = dossier.stopping
    return "; ".join(stopping.in_words(stopping.stopped((part.tag,))))
