"""A root cause silences its consequences at the same place."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemagen.base.finding import Finding


@dataclass(frozen=True, slots=True)
class Folded:
    """A finding that another one explains."""

    finding: Finding
    cause: Finding


def tags_of(finding: Finding) -> frozenset[str]:
    """Tags of the parts at which a finding is."""
    ends = (*finding.ports, *(end for pipe in finding.pipes for end in pipe))
    return frozenset((*finding.parts, *(end.rpartition(".")[0] or end for end in ends)))


def fold(
    findings: Sequence[Finding], folds: Mapping[str, Sequence[str]]
) -> tuple[tuple[Finding, ...], tuple[Folded, ...]]:
    """Splits findings into those that stand and those that one of them explains.

    `folds`: for each check the checks whose findings it explains where they share a part, and a state if both name
    states. Earlier findings explain later ones; an explained finding explains in its turn, but for its own cause.
    """
    at: dict[tuple[str, str], list[int]] = {}
    tags = [tags_of(f) for f in findings]
    for i, finding in enumerate(findings):
        for tag in tags[i]:
            at.setdefault((finding.check, tag), []).append(i)
    cause: dict[int, int] = {}
    for i, finding in enumerate(findings):
        for slug in folds.get(finding.check, ()):
            for tag in sorted(tags[i]):
                for j in at.get((slug, tag), ()):
                    if j not in cause and j != i and _root(i, cause) != j and _same_state(finding, findings[j]):
                        cause[j] = i
    stand = tuple(f for i, f in enumerate(findings) if i not in cause)
    folded = tuple(Folded(findings[j], findings[_root(j, cause)]) for j in sorted(cause))
    return stand, folded


def _root(i: int, cause: Mapping[int, int]) -> int:
    while i in cause:
        i = cause[i]
    return i


def _same_state(a: Finding, b: Finding) -> bool:
    return not a.states or not b.states or bool(set(a.states) & set(b.states))
