"""Settings and sizes: the settings of the list, then every figure with its formula, inputs, assumptions and source."""

from collections.abc import Iterator, Sequence
from itertools import groupby

from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Grid, Heading, Paragraph, Piece, Points
from schemagen.papers.settings import all_settings
from schemagen.schedules.naming import about
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
        rows = tuple((s.tag, about(parts[s.tag]), s.words, s.value, s.unit, "") for s in settings)
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
    """A table for each figure; what is not available is gathered below."""
    known = [s for s in sizes if s.figure.value is not None]
    for name in dict.fromkeys(s.figure.name for s in known):
        same = [s for s in known if s.figure.name == name]
        yield _how(same)
        yield _table(same, assumptions)
    missing = list(_missing([s for s in sizes if s.figure.value is None]))
    if missing:
        yield Paragraph("Not available, for want of data:")
        yield Points(tuple(missing))


def _how(same: Sequence[Size]) -> Paragraph:
    """The figure's name with its formulas and sources, each once."""
    first = same[0].figure
    formulas = list(dict.fromkeys(s.figure.formula for s in same if s.figure.formula))
    sources = list(dict.fromkeys(s.figure.source for s in same if s.figure.source))
    name = first.name[:1].upper() + first.name[1:]
    formula = f": {' or '.join(formulas)}" if formulas else ""
    return Paragraph(f"{name}{formula}." + (f" Source: {'; '.join(sources)}." if sources else ""))


def _table(same: Sequence[Size], assumptions: Sequence[str]) -> Grid:
    """Columns in which no row has anything to say are left out."""
    table = {
        "Place": [s.subject for s in same],
        "State": [s.state for s in same],
        "Inputs": [_inputs(s.figure.inputs) for s in same],
        "Value": [s.figure.text for s in same],
        "Assumed": [", ".join(str(assumptions.index(t) + 1) for t in s.figure.assumptions) for s in same],
        "Remarks": ["; ".join((*s.figure.flags, *s.figure.notes)) for s in same],
    }
    table = {name: cells for name, cells in table.items() if any(cells)}
    shares = {"Place": 7, "State": 4, "Inputs": 9, "Value": 4, "Assumed": 3, "Remarks": 7}
    rows = zip(*(map(said, cells) for cells in table.values()), strict=True)
    return Grid(tuple(table), tuple(rows), tuple(shares[name] for name in table))


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
