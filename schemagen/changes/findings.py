"""Findings that came, went and stayed: told by their check and by the parts that they speak of."""

from collections.abc import Mapping, Sequence

from schemagen.base.finding import Finding
from schemagen.checks.folding import tags_of


def findings_between(
    old: Sequence[Finding], new: Sequence[Finding], tags: Mapping[str, str]
) -> tuple[tuple[Finding, ...], tuple[Finding, ...], tuple[Finding, ...]]:
    """Those that went, those that came, and those of the new version that were there before.

    A finding stays if the same check speaks of the same parts, or of most of the same: a valve put into a circuit makes
    no new finding of an old one about that circuit.
    """
    before = [frozenset(tags.get(tag, f" {tag}") for tag in tags_of(finding)) for finding in old]
    after = [frozenset(tags_of(finding)) for finding in new]
    ranked = sorted(
        (before[i] != after[j], -len(before[i] & after[j]), min(i, j), max(i, j), i, j)
        for i, a in enumerate(old)
        for j, b in enumerate(new)
        if a.check == b.check and (before[i] == after[j] or before[i] & after[j])
    )
    stays_old: dict[int, int] = {}
    stays_new: set[int] = set()
    for *_, i, j in ranked:
        if i not in stays_old and j not in stays_new:
            stays_old[i] = j
            stays_new.add(j)
    return (
        tuple(f for i, f in enumerate(old) if i not in stays_old),
        tuple(f for j, f in enumerate(new) if j not in stays_new),
        tuple(f for j, f in enumerate(new) if j in stays_new),
    )
