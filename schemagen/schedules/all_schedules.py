"""All schedules, in the order in which they are printed and stand in the workbook."""

from collections.abc import Callable

from schemagen.schedules.dossier import Dossier
from schemagen.schedules.figures import figures_schedule
from schemagen.schedules.findings import findings_schedule
from schemagen.schedules.parts import parts_schedule
from schemagen.schedules.pipes import pipes_schedule
from schemagen.schedules.safety import safety_schedule
from schemagen.schedules.schedule import Schedule
from schemagen.schedules.shut_offs import shut_offs_schedule
from schemagen.schedules.states import states_schedule
from schemagen.schedules.valves import valves_schedule

SCHEDULES: tuple[Callable[[Dossier], Schedule], ...] = (
    parts_schedule,
    pipes_schedule,
    valves_schedule,
    shut_offs_schedule,
    safety_schedule,
    states_schedule,
    figures_schedule,
    findings_schedule,
)


def all_schedules(dossier: Dossier) -> tuple[Schedule, ...]:
    """Every schedule of a list, also those without a row."""
    return tuple(make(dossier) for make in SCHEDULES)
