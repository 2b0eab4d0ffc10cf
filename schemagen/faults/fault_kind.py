"""A kind of mistake, the edits by which it is made, and the facts of a system with such an edit."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal

from schemagen.base.finding import Finding
from schemagen.checks.facts import Facts
from schemagen.joblist.joblist import JobList
from schemagen.network.network import Network
from schemagen.network.waters import find_waters

Category = Literal["topology", "safety", "data", "control"]


@dataclass(frozen=True)
class Edit:
    """One mistake at one place. `at` are the tags where it sits, `told` says in a sentence what was done.

    `findings` are what building the edited list found, for mistakes that are made in the list itself.
    """

    at: tuple[str, ...]
    told: str
    network: Network
    job: JobList | None = None
    findings: tuple[Finding, ...] = ()


@dataclass(frozen=True)
class FaultKind:
    """A kind of mistake. `places` yields one edit for each place where it can be made, always in the same order.

    `difficulty`: 1 seen at a glance, 2 by following the water, 3 by knowing the rule.
    """

    slug: str
    title: str
    category: Category
    difficulty: int
    places: Callable[[Facts], Iterator[Edit]]


def with_fault(facts: Facts, edit: Edit) -> Facts:
    """What the checks are given of the system with the mistake in it."""
    network = edit.network
    return replace(
        facts,
        job=edit.job or facts.job,
        network=network,
        waters=find_waters(network),
        list_findings=edit.findings or facts.list_findings,
    )
