"""check(facts) -> Report: runs every check there is, folds consequences under causes, marks what is accepted."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from schemagen.base.finding import Finding, NotAssessed, sorted_findings
from schemagen.base.place import Place
from schemagen.checks.cautions import CAUTIONS
from schemagen.checks.facts import Facts
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.folding import Folded, fold, tags_of
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
    stand, folded = fold(findings, {one.slug: one.folds for one in checks})
    accepted = [_accepted(finding, facts.network.accept) for finding in stand]
    return Report(sorted_findings(accepted), tuple(unknown), len(checks), folded)


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
