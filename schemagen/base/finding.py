"""A finding: one thing that is wrong, where it is, and what to do instead."""

from dataclasses import dataclass
from typing import Literal

from schemagen.base.place import Place

Severity = Literal["error", "warning", "advice"]
SEVERITIES: tuple[Severity, ...] = ("error", "warning", "advice")


@dataclass(frozen=True, slots=True)
class Finding:
    """What one check has to say about one place.

    `parts` are tags, `pipes` are pairs of "TAG.port" as listed, `ports` are "TAG.port" of openings to mark that have
    no pipe. The first of `parts` is where the mark is drawn if there is no pipe or port. `accepted` is the user's
    reason for living with it.
    """

    check: str
    severity: Severity
    message: str
    cure: str
    parts: tuple[str, ...] = ()
    pipes: tuple[tuple[str, str], ...] = ()
    ports: tuple[str, ...] = ()
    states: tuple[str, ...] = ()
    source: str = ""
    caution: str = ""
    accepted: str | None = None
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class NotAssessed:
    """A check that could not be made for want of data: `needs` names the fields that would settle it."""

    check: str
    parts: tuple[str, ...]
    needs: str


def sorted_findings(findings: "list[Finding]") -> tuple[Finding, ...]:
    """Errors first, then warnings, then advice; within one severity in the order they were found."""
    return tuple(sorted(findings, key=lambda f: (f.accepted is not None, SEVERITIES.index(f.severity))))
