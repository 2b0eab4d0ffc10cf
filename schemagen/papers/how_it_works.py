"""How it works: a paragraph for each source, store and circuit, then a row for each operating state."""

from collections.abc import Iterator, Mapping

from schemagen.network.network import Part
from schemagen.operation.account import Account, account_of, stands
from schemagen.operation.states import State
from schemagen.operation.ways import Stop, Way, in_words
from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Grid, Heading, Paragraph, Piece, Points
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import capital, kind_words, listed

_COLUMNS = ("State", "What calls", "Valves", "Running", "Where water moves", "What you notice")
_NOT_TOLD = ("filling", "all-calls", "tap-open")
"""States that say nothing of their own about when a source, a store or a circuit is at work."""


def how_it_works(material: Material) -> Chapter | None:
    dossier = material.dossier
    states = dossier.operation.states
    accounts = {state.name: account_of(dossier.operation, state) for state in states}
    pieces: list[Piece] = []
    for heading, texts in (
        ("What gives heat", list(_sources(dossier))),
        ("What stores it", list(_stores(dossier))),
        ("Circuits", list(_circuits(accounts))),
        ("Water to the taps", list(_draws(accounts))),
    ):
        pieces += [Heading(heading), Points(tuple(texts))] if texts else []
    if not pieces:
        return None
    rows = tuple(_row(dossier, accounts[state.name]) for state in states)
    pieces += [
        Heading("Operating states"),
        Paragraph("→ is in a row; [a | b] is side by side. Valves are named where they stand otherwise than at rest."),
        Grid(_COLUMNS, rows, (3, 5, 4, 3, 7, 5)),
    ]
    return Chapter("how-it-works", "How it works", tuple(pieces), landscape=True)


def _sources(dossier: Dossier) -> Iterator[str]:
    for part in dossier.network.parts.values():
        if part.kind.giver:
            yield " ".join(filter(None, _source(dossier, part)))


def _source(dossier: Dossier, part: Part) -> Iterator[str]:
    texts = part.texts
    yield f"{_named(part)}."
    power = texts.get("output") or texts.get("power")
    flow, most = texts.get("flow-temperature"), texts.get("max-flow")
    heat = f"It gives {power}" if power else ""
    heat += (f", with water at {flow}" if heat else f"Its water leaves at {flow}") if flow else ""
    heat += f", and up to {most} for hot water" if heat and most and most != flow else ""
    yield f"{heat}." if heat else ""
    if host := dossier.network.host_of(part.tag):
        yield f"It heats {host.tag}."
    elif part.kind.giver == "uncontrolled":
        fire = "The sun" if part.kind.name == "solar-collector" else "The fire"
        yield f"{fire} decides when it gives heat; no control can turn it off."
    else:
        yield _when("It gives heat", [s for s in dossier.operation.states if part.tag in s.sources_on])


def _when(what: str, states: list[State]) -> str:
    told = [s.name for s in states if s.sort not in _NOT_TOLD] or [s.name for s in states]
    return f"{what} in: {'; '.join(told)}." if told else ""


def _named(part: Part) -> str:
    label = f", {part.label}" if part.label and part.label.casefold() != part.kind.title.casefold() else ""
    place = f" ({part.place})" if part.place else ""
    return f"{part.tag}: {kind_words(part)}{label}{place}"


def _stores(dossier: Dossier) -> Iterator[str]:
    for part in dossier.network.parts.values():
        if part.kind.store:
            yield " ".join(filter(None, _store(dossier, part)))


def _store(dossier: Dossier, part: Part) -> Iterator[str]:
    volume, setting = part.texts.get("volume"), part.texts.get("setting")
    yield f"{_named(part)}."
    use = "hot tap water" if part.kind.store == "wholesome" else "heating water"
    kept = f", kept at {setting}" if setting else ""
    yield f"It holds {volume + ' of ' if volume else ''}{use}{kept}."
    if part.kind.takes:
        flows = dossier.operation
        heated = [s for s in flows.states if s.sources_on and flows.flow(s).part_moves(part.tag, part.kind.takes)]
        yield _when("Its coil is heated", heated)
    parts = dossier.network.parts
    mounted = [parts[t] for t in dossier.network.mounted_on.get(part.tag, ())]
    asks = [p.tag for p in mounted if p.kind.name in ("cylinder-thermostat", "store-thermostat", "temperature-sensor")]
    cuts = [p for p in mounted if p.kind.name == "cut-out-thermostat"]
    yield f"{listed(asks)} {'feel' if len(asks) > 1 else 'feels'} its temperature." if asks else ""
    at = dict.fromkeys(p.texts.get("setting", "") for p in cuts)
    limit = f" at {listed(at)}" if all(at) and cuts else ""
    yield f"{listed(p.tag for p in cuts)} {'cut' if len(cuts) > 1 else 'cuts'} the heat off{limit}." if cuts else ""


def _circuits(accounts: Mapping[str, Account]) -> Iterator[str]:
    """Closed ways, each once, with the states in which water goes round them."""
    found: dict[str, list[State]] = {}
    for account in accounts.values():
        for way in account.ways:
            if _is_round(way):
                found.setdefault(in_words(way), []).append(account.state)
    alone = {words: states for words, states in found.items() if any(s.sort not in _NOT_TOLD for s in states)}
    for words, states in (alone or found).items():
        yield f"{words}. {_when('Water goes round', states)}"


def _is_round(way: Way) -> bool:
    ends = way[0], way[-1]
    return len(way) > 1 and all(isinstance(stop, Stop) for stop in ends) and ends[0].tag == ends[1].tag


def _draws(accounts: Mapping[str, Account]) -> Iterator[str]:
    for account in accounts.values():
        if account.state.sort == "tap-open" and len(account.state.outlets_open) == 1:
            yield from (f"{in_words(way)}." for way in account.ways if not _is_round(way))


def _row(dossier: Dossier, account: Account) -> tuple[str, ...]:
    state = account.state
    parts = dossier.network.parts
    rest = next(dossier.operation.of_sort("no-calls"))
    usual = stands(dossier.operation, rest)
    moved = [
        f"{tag} {word.replace('-', ' ')}"
        for tag, word in stands(dossier.operation, state).items()
        if word != usual.get(tag) and not _runs(parts[tag]) and tag not in state.outlets_open
    ]
    running = [t for t in parts if t in (*state.pumps_on, *state.sources_on)]
    notice = " ".join(filter(None, (account.still, account.notice)))
    return (
        account.title, account.calls, ", ".join(moved) or NONE, ", ".join(running) or NONE,
        account.moves.removeprefix("Water goes ") and capital(account.moves.removeprefix("Water goes ")), said(notice),
    )  # fmt: skip


def _runs(part: Part) -> bool:
    return bool(part.kind.driver or part.kind.giver) and set(part.kind.positions) <= {"on", "off"}
