"""The findings list: one row a finding, accepted ones last, with who accepted them and why."""

from schemagen.schedules.dossier import Dossier
from schemagen.schedules.schedule import Schedule, numbers, texts


def findings_schedule(dossier: Dossier) -> Schedule:
    """One row a finding, in the order of the drawing's numbers."""
    columns = (
        numbers("no."),
        *texts("severity", "check", "parts", "pipes", "states", "what is wrong", "cure", "source", "accepted"),
    )
    rows = tuple(
        (
            n, f.severity, f.check, ", ".join(f.parts), ", ".join(f"{a}→{b}" for a, b in f.pipes), ", ".join(f.states),
            f.message, f.cure, f.source, f.accepted or "",
        )
        for n, f in enumerate(dossier.report.findings, 1)
    )  # fmt: skip
    return Schedule("findings", "Findings", columns, rows)
