"""check(facts) -> Report: runs every check there is, folds consequences under causes, marks what is accepted."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, replace

from schemagen.base.finding import Finding, NotAssessed, sorted_findings
from schemagen.base.place import Place
from schemagen.checks.cautions import CAUTIONS
from schemagen.checks.facts import Facts
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.folding import Folded, fold, tags_of
from schemagen.checks.mending import LOOSE_END, Explained, explain_loose_ends, explain_misspelt_kinds
from schemagen.checks.pages import CheckModule, all_checks
from schemagen.network.network import Acceptance, PortId


@dataclass(frozen=True)
class Report:
    """What the checks found: errors first, accepted findings last. `folded` are consequences of a finding."""

    findings: tuple[Finding, ...]
    not_assessed: tuple[NotAssessed, ...]
    checks_run: int
    folded: tuple[Folded, ...] = ()


def check(facts: Facts) -> Report:
    """Runs all checks on a network, in the order of their stages."""
    checks = all_checks()
    findings, unknown = _said(checks, facts)
    folds = {one.slug: one.folds for one in checks}
    stand, folded = fold(findings, folds)

    def judge(other: Facts) -> Sequence[Finding]:
        return fold(_said(checks, other)[0], folds)[0]

    for explained in explain_misspelt_kinds(facts, stand, judge):
        stand, folded = _put_under(explained, stand, folded)
    gone = {f.finding for f in folded if f.cause.check == "unknown-word"}
    ends = [f for f in findings if f.check == LOOSE_END and f not in gone]
    for explained in explain_loose_ends(facts, stand, ends, judge):
        stand, folded = _put_under(explained, stand, folded)
    accepted = [_accepted(finding, facts.network.accept) for finding in stand]
    return Report(sorted_findings(accepted), tuple(unknown), len(checks), folded)


def _said(checks: Sequence[CheckModule], facts: Facts) -> tuple[list[Finding], list[NotAssessed]]:
    """What all checks say of a network, one after the other."""
    findings: list[Finding] = []
    unknown: list[NotAssessed] = []
    for one in checks:
        for said in one.run(facts):
            match said:
                case Fault():
                    findings.append(_finding(one, said, facts))
                case Unknown():
                    unknown.append(NotAssessed(one.slug, said.parts, said.needs))
                case Finding():
                    findings.append(_from_list(one, said))
    return findings, unknown


def _put_under(
    explained: Explained, stand: tuple[Finding, ...], folded: tuple[Folded, ...]
) -> tuple[tuple[Finding, ...], tuple[Folded, ...]]:
    """Findings with their cause in the place of the first of them; the others become folded."""
    cause, gone = explained.cause, explained.findings
    left = [finding for finding in stand if finding not in gone or finding is cause]
    if cause not in left:
        at = min(i for i, finding in enumerate(stand) if finding in gone)
        left.insert(len([f for f in stand[:at] if f not in gone]), cause)
    older = (replace(f, cause=cause) if f.cause in gone else f for f in folded)
    return tuple(left), (*older, *(Folded(f, cause) for f in gone if f is not cause))


def _finding(one: CheckModule, fault: Fault, facts: Facts) -> Finding:
    pipes = tuple(fault.pipes)
    parts = tuple(dict.fromkeys(fault.parts))
    return Finding(
        check=one.slug,
        severity=fault.severity or one.page.severity,
        message=fault.message,
        cure=fault.cure,
        parts=parts,
        pipes=tuple(pipe.pair for pipe in pipes),
        ports=tuple(str(port) for port in fault.ports),
        states=fault.states,
        source=one.page.source,
        caution=CAUTIONS.get(one.page.caution, one.page.caution),
        place=fault.place or _place(parts, pipes, fault.ports, facts),
    )


def _place(parts: tuple[str, ...], pipes: tuple, ports: Iterable, facts: Facts) -> Place | None:
    if pipes:
        return pipes[0].line
    tags = [*parts, *(port.tag for port in ports if isinstance(port, PortId))]
    return next((facts.network.parts[tag].line for tag in tags if tag in facts.network.parts), None)


def _from_list(one: CheckModule, finding: Finding) -> Finding:
    """A finding made while the network was built, with the source that its page names."""
    return replace(finding, source=one.page.source, caution=CAUTIONS.get(one.page.caution, one.page.caution))


def _accepted(finding: Finding, accept: tuple[Acceptance, ...]) -> Finding:
    for one in accept:
        if one.check == finding.check and one.reason and (not one.tags or set(one.tags) & tags_of(finding)):
            who = ", ".join(word for word in (one.by, one.date) if word)
            return replace(finding, accepted=f"{one.reason} ({who})" if who else one.reason)
    return finding
