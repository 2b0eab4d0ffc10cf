"""Settings and sizes: the settings of the list, then every figure with its formula, inputs, assumptions and source."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Grid, Heading, Paragraph, Piece, Points
from schemagen.papers.settings import all_settings
from schemagen.schedules.naming import capital, what_is
from schemagen.sizing.figure import Given, with_unit
from schemagen.sizing.sizes import TOPICS, Size

CAUTION = (
    "Figures help to plan and to check. They replace neither the makers' instructions and local codes nor the "
    "judgement of those licensed for the work."
)
_MOST_NAMED = 6


def settings_and_sizes(material: Material) -> Chapter:
    dossier = material.dossier
    pieces: list[Piece] = []
    if settings := all_settings(dossier):
        parts = dossier.network.parts
        rows = tuple((s.tag, what_is(parts[s.tag]), s.words, s.value, s.unit, "") for s in settings)
        pieces += [
            Heading("Settings"),
            Grid(("Tag", "Part", "Setting", "As listed", "Unit", "As left on site"), rows, (2, 7, 4, 3, 2, 4)),
        ]
    assumptions = dossier.sizes.assumptions
    pieces += [Heading("Figures"), Paragraph(CAUTION)]
    for topic, group in groupby(dossier.sizes.sizes, key=lambda s: s.topic):
        pieces += [Heading(TOPICS[topic], 2), *_topic(list(group), assumptions)]
    if assumptions:
        said_ = "In the column “assumed” these are named by their numbers."
        pieces += [Heading("What was assumed"), Paragraph(said_), Points(assumptions, "number")]
    return Chapter("settings-and-sizes", "Settings and sizes", tuple(pieces), landscape=True)


def _topic(sizes: Sequence[Size], assumptions: Sequence[str]) -> Iterator[Piece]:
    """A table for each figure of several places, one table for the others; what is not available stands below."""
    known = [s for s in sizes if s.figure.value is not None]
    by_name = {
        name: [s for s in known if s.figure.name == name] for name in dict.fromkeys(s.figure.name for s in known)
    }
    single = [s for same in by_name.values() if len(_merged(same)) < _OWN_TABLE for s in same]
    if single:
        yield _table(single, assumptions, named=True)
    for same in by_name.values():
        if len(_merged(same)) >= _OWN_TABLE:
            yield _how(same)
            yield _table(same, assumptions)
    missing = list(_missing([s for s in sizes if s.figure.value is None]))
    if missing:
        yield Paragraph("Not available, for want of data:")
        yield Points(tuple(missing))


_OWN_TABLE = 4
"""A figure of so many rows has a table of its own."""


def _how(same: Sequence[Size]) -> Paragraph:
    """The figure's name, its formula if all have the same, and its sources."""
    sources = list(dict.fromkeys(s.figure.source for s in same if s.figure.source))
    formula = f": {same[0].figure.formula}" if _one_formula(same) else ""
    return Paragraph(
        f"{capital(same[0].figure.name)}{formula}." + (f" Source: {'; '.join(sources)}." if sources else "")
    )


def _one_formula(same: Sequence[Size]) -> bool:
    return bool(same[0].figure.formula) and len({s.figure.formula for s in same}) == 1


def _merged(same: Sequence[Size]) -> list[tuple[Size, str]]:
    """Each different value of each place once, with all states in which it holds."""
    found: dict[tuple, tuple[Size, list[str]]] = {}
    for s in same:
        found.setdefault((s.figure.name, s.subject, s.figure.text, s.figure.inputs), (s, []))[1].append(s.state)
    return [(s, "; ".join(filter(None, states))) for s, states in found.values()]


def _table(same: Sequence[Size], assumptions: Sequence[str], named: bool = False) -> Grid:
    """Columns in which no row has anything to say are left out. `named`: each row says which figure it is, and why."""
    rows = _merged(same)
    formulas = [s.figure.formula if named or not _one_formula(same) else "" for s, _ in rows]
    table = {
        "Figure": [capital(s.figure.name) if named else "" for s, _ in rows],
        "Place": [s.subject for s, _ in rows],
        "State": [states for _, states in rows],
        "Formula": formulas,
        "Inputs": [_inputs(s.figure.inputs) for s, _ in rows],
        "Value": [s.figure.text for s, _ in rows],
        "Assumed": [_numbers(s.figure.assumptions, assumptions) for s, _ in rows],
        "Remarks": ["; ".join((*s.figure.flags, *s.figure.notes)) for s, _ in rows],
        "Source": [s.figure.source if named else "" for s, _ in rows],
    }
    table = {name: cells for name, cells in table.items() if any(cells)}
    shares = {
        "Figure": 5,
        "Place": 5,
        "State": 5,
        "Formula": 5,
        "Inputs": 7,
        "Value": 4,
        "Assumed": 3,
        "Remarks": 6,
        "Source": 6,
    }
    cells = zip(*(map(said, column) for column in table.values()), strict=True)
    return Grid(tuple(table), tuple(cells), tuple(shares[name] for name in table))


def _numbers(used: Sequence[str], assumptions: Sequence[str]) -> str:
    return ", ".join(str(n) for n in sorted(assumptions.index(text) + 1 for text in used))


def _inputs(inputs: Sequence[Given]) -> str:
    return "; ".join(f"{g.symbol} = {with_unit(g.value, g.unit)}" for g in inputs)


def _missing(sizes: Sequence[Size]) -> Iterator[str]:
    """Alike needs are told once."""
    by_needs: dict[tuple[str, ...], dict[str, list[str]]] = {}
    for s in sizes:
        by_needs.setdefault(s.figure.needs, {}).setdefault(s.figure.name, []).append(s.subject)
    for needs, figures in by_needs.items():
        told = "; ".join(f"{name} at {_some(list(dict.fromkeys(places)))}" for name, places in figures.items())
        yield f"{told}. It needs {_some(needs)}." if needs else f"{told}."


def _some(words: Sequence[str]) -> str:
    more = f" and {len(words) - _MOST_NAMED} more" if len(words) > _MOST_NAMED else ""
    return ", ".join(words[:_MOST_NAMED]) + more or NONE
