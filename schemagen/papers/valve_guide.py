"""The valve guide: what to shut for a leak or for work. First for those who live here, then for the trade."""

from collections.abc import Iterable, Iterator

from schemagen.network.network import Part
from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Grid, Heading, Paragraph, Piece, Points
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.isolation import ShutOff
from schemagen.schedules.naming import about, capital, listed
from schemagen.schedules.valve_graph import is_safety

_FOR_ALL = ("house", "place", "cold", "hot", "circuit", "outlet", "emitter", "store")
_COLUMNS = ("If", "Switch off first", "Then shut", "What stops", "Take care")
_WIDTHS = (4, 4, 6, 4, 5)

HANDS = (
    "A lever or a slot that lies across the pipe is shut; along the pipe it is open. A wheel is shut clockwise.",
    "A lockshield or regulating valve: count the turns as you shut it, note them, and open it by as many.",
    "A thermostatic radiator valve: turn it to its lowest mark; for work on the emitter fit its stop as well.",
)
BACK = (
    "Mend first. Open the valves slowly, the one nearest to the supply last.",
    "Taps: let them run until no air comes.",
    "Heating: let the air out, look at the pressure, fill to the pressure marked, take the filling loop off.",
    "Switch on only when everything is full of water.",
)


def valve_guide(material: Material) -> Chapter | None:
    """For the occupier; below it the rows for work on sources, pumps and filters."""
    dossier = material.dossier
    simple = list(_once([s for s in dossier.shut_offs if s.sort in _FOR_ALL]))
    service = [s for s in dossier.shut_offs if s.sort not in _FOR_ALL]
    if not simple and not service:
        return None
    pieces: list[Piece] = [Paragraph(text, "caution") for text in _never(dossier)]
    pieces += [Grid(_COLUMNS, tuple(_row(dossier, s) for s in simple), _WIDTHS)] if simple else []
    pieces += [Heading("How to shut them"), Points(HANDS), Heading("To put back"), Points(BACK, "number")]
    if service:
        rows = tuple(_row(dossier, s) for s in service)
        pieces += [Heading("For the service engineer"), Grid(("For", *_COLUMNS[1:]), rows, _WIDTHS)]
    return Chapter("valve-guide", "Which valve do I shut?", tuple(pieces), landscape=True)


def _once(shut_offs: Iterable[ShutOff]) -> Iterator[ShutOff]:
    """Without taps for which the same is shut as for a whole side."""
    wide = {s.to_shut for s in shut_offs if s.sort in ("house", "cold", "hot")}
    return (s for s in shut_offs if s.sort != "outlet" or s.to_shut not in wide)


def _never(dossier: Dossier) -> Iterator[str]:
    """What must stay open, by its tags."""
    parts = dossier.network.parts.values()
    devices = [p.tag for p in parts if is_safety(p) and p.kind.name not in ("safe-outlet", "tundish")]
    locked = [p.tag for p in parts if p.value("locked") == "open"]
    if devices:
        tags = listed(devices)
        they = "it keeps" if len(devices) == 1 else "they keep"
        yield f"Never shut off, block or remove {tags}: {they} the pressure safe."
    leaks = [p.tag for p in parts if p.kind.name == "heat-leak-radiator" or p.value("heat-leak")]
    if leaks:
        yield f"Never shut off {listed(leaks)} while there is a fire: it takes its heat when the power is off."
    if locked:
        yield f"Leave {listed(locked)} open: {'it is' if len(locked) == 1 else 'they are'} locked for safety."


def _row(dossier: Dossier, s: ShutOff) -> tuple[str, ...]:
    parts = dossier.network.parts
    off = "\n".join(how_off(parts[tag]) for tag in s.off_first)
    return s.job, off or NONE, _shut(dossier, s), said(capital("; ".join(s.stops))), said(" ".join(_care(dossier, s)))


def how_off(part: Part) -> str:
    """How to stop a source or a pump."""
    if part.kind.name == "solar-collector":
        return f"{part.tag}: cover it, or wait for dark"
    if part.kind.giver == "uncontrolled":
        return f"{part.tag}: let the fire go out"
    return f"{part.tag} ({about(part)})"


def _shut(dossier: Dossier, s: ShutOff) -> str:
    parts = dossier.network.parts
    lines = [_where(dossier, parts[tag]) for tag in s.to_shut]
    if s.valves is None:
        lines.insert(
            0, f"No hand valves part it from {listed(s.joined_to)}." if s.joined_to else "No hand valves do it."
        )
        if s.refill:
            lines.insert(1, "So that it is not filled again:")
    elif not s.valves:
        lines.append("Nothing: no supply feeds this water.")
    if s.leave_off:
        lines.append(f"Keep {listed(s.leave_off)} off.")
    return "\n".join(lines)


def _where(dossier: Dossier, part: Part) -> str:
    zone = dossier.zones.get(part.tag, "")
    label = part.label or part.kind.title
    return f"{part.tag}, {label}{f', {part.place}' if part.place else ''}{f' ({zone})' if zone else ''}"


def _care(dossier: Dossier, s: ShutOff) -> Iterator[str]:
    yield from s.notes
    if s.valves is None and s.joined_to:
        yield f"The water of {listed(s.joined_to)} runs out too."
    elif s.valves == ():
        yield "Only the water that is in it runs out."
    if s.with_it:
        how = "shut off with it" if s.valves else "in the same water"
        yield f"{listed(s.with_it)} {'is' if len(s.with_it) == 1 else 'are'} {how}."
    if s.sort == "cold" and (mains := _before(dossier, s)):
        yield f"Before {listed(s.to_shut)} only the water supplier can shut the pipe." if mains else ""


def _before(dossier: Dossier, s: ShutOff) -> bool:
    """True if it is the main itself that the valves stand behind."""
    return any(p.kind.driver == "main" for p in dossier.network.parts.values()) and len(s.to_shut) == 1
