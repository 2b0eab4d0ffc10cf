"""The states table: how every moving part stands in every operating state."""

from schemagen.operation.account import stands
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import about, capital
from schemagen.schedules.schedule import Schedule, texts


def states_schedule(dossier: Dossier) -> Schedule:
    """Parts down, states across; only parts that do not stand alike in all of them."""
    states = dossier.operation.states
    seen = [stands(dossier.operation, state) for state in states]
    columns = texts("part", "name", *(capital(state.name) for state in states))
    rows = tuple(
        (part.tag, about(part), *(positions.get(part.tag, "").replace("-", " ") for positions in seen))
        for part in dossier.network.parts.values()
        if len({positions.get(part.tag, "") for positions in seen}) > 1
    )
    return Schedule("states", "Operating states", columns, rows)
