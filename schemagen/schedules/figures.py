"""All figures with formula, inputs, assumptions and source; also those that lack data, with what they need."""

from schemagen.schedules.dossier import Dossier
from schemagen.schedules.schedule import Cell, Schedule, numbers, texts
from schemagen.sizing.figure import Figure, with_unit
from schemagen.sizing.sizes import TOPICS


def figures_schedule(dossier: Dossier) -> Schedule:
    """One row a figure, topic by topic."""
    columns = (
        *texts("topic", "place", "figure"),
        numbers("value"),
        *texts("unit", "state", "formula", "with numbers", "inputs"),
        *texts("assumptions", "look at", "notes", "needs", "source"),
    )
    rows = tuple(
        (
            TOPICS[s.topic], s.subject, s.figure.name,
            *_reading(s.figure), s.state, s.figure.formula, s.figure.working,
            "; ".join(f"{g.symbol} = {with_unit(g.value, g.unit)}" for g in s.figure.inputs),
            *("; ".join(said) for said in (s.figure.assumptions, s.figure.flags, s.figure.notes, s.figure.needs)),
            s.figure.source,
        )
        for s in dossier.sizes.sizes
    )  # fmt: skip
    return Schedule("figures", "Figures", columns, rows)


def _reading(figure: Figure) -> tuple[Cell, str]:
    if figure.value is None:
        return None, figure.read_in
    number, unit = figure.reading
    return float(number), unit
