"""Which valves to shut for what: the whole house, a side, a circuit, an emitter, a store, a pump …"""

from schemagen.schedules.dossier import Dossier
from schemagen.schedules.isolation import ShutOff
from schemagen.schedules.schedule import Schedule, texts


def shut_offs_schedule(dossier: Dossier) -> Schedule:
    """One row a job, from the whole house down to single parts."""
    columns = texts(
        "job",
        "shut",
        "nothing parts it from",
        "keep off",
        "switch off first",
        "shut off with it",
        "what stops",
        "take care",
    )
    rows = tuple(
        (
            s.job, valves_in_words(s), ", ".join(s.joined_to), ", ".join(s.leave_off), ", ".join(s.off_first),
            ", ".join(s.with_it), "; ".join(s.stops), " ".join(s.notes),
        )
        for s in dossier.shut_offs
    )  # fmt: skip
    return Schedule("shut-offs", "Which valves to shut", columns, rows)


def valves_in_words(s: ShutOff) -> str:
    """The valves, or in words why there are none."""
    if s.to_shut:
        return ", ".join(s.to_shut)
    return "no set of hand valves does it" if s.valves is None else "nothing: no supply feeds it"
