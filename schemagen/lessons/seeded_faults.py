"""Mistakes chosen by a seed, taken only if the checks find them, alone, at the place where they were made."""

from collections.abc import Collection
from dataclasses import dataclass, replace

from schemagen.base.finding import Finding
from schemagen.checks.check import Report, check
from schemagen.checks.facts import Facts
from schemagen.checks.folding import tags_of
from schemagen.faults.all_faults import all_faults
from schemagen.faults.fault_kind import Edit, FaultKind, with_fault
from schemagen.lessons.chance import shuffled


@dataclass(frozen=True)
class Seeded:
    """One mistake in a system, the facts with it, and a report with the one finding that the checks make of it."""

    kind: FaultKind
    edit: Edit
    facts: Facts
    report: Report

    @property
    def finding(self) -> Finding:
        return self.report.findings[0]


def seeded_fault(
    facts: Facts, seed: int, number: int, difficulty: int, taken: Collection[tuple[str, str]] = ()
) -> Seeded | None:
    """The mistake of paper `number`, of this difficulty, or of the nearest at which one can be found; None without any.

    `taken` are the mistakes of other papers (slug and what was done); a kind that none of them has comes first.
    Slips in the list itself are left out: they cannot be drawn. The list must have no open finding of its own.
    """
    used = {slug for slug, _ in taken}
    for level in sorted((1, 2, 3), key=lambda level: (abs(level - difficulty), level)):
        kinds = [kind for kind in all_faults() if kind.difficulty == level and kind.category != "data"]
        mixed = shuffled(kinds, lambda kind: kind.slug, seed, number)
        for kind in sorted(mixed, key=lambda kind: kind.slug in used):
            for edit in shuffled(kind.places(facts), lambda edit: edit.told, seed, number):
                fresh = edit.job is None and (kind.slug, edit.told) not in taken
                if fresh and (found := tried(facts, kind, edit)):
                    return found
    return None


def tried(facts: Facts, kind: FaultKind, edit: Edit) -> Seeded | None:
    """The mistake with its facts, if the checks make exactly one finding of it, at its place; else None."""
    wrong = with_fault(facts, edit)
    report = check(wrong)
    found = open_findings(report)
    if len(found) != 1 or not tags_of(found[0]) & set(edit.at):
        return None
    return Seeded(kind, edit, wrong, replace(report, findings=found))


def open_findings(report: Report) -> tuple[Finding, ...]:
    """Those that nobody has accepted."""
    return tuple(finding for finding in report.findings if finding.accepted is None)
