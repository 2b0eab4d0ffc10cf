"""What a check yields: a fault at a place, or word that it could not be made there."""

from collections.abc import Iterable
from dataclasses import dataclass

from schemagen.base.finding import Severity
from schemagen.base.place import Place


@dataclass(frozen=True, slots=True)
class Fault:
    """One thing that is wrong, in the words of the list; the check's page adds slug, source, caution and severity.

    `parts` are tags, the first is where it is marked; `pipes` are Pipe values, `ports` PortId values (or "TAG.port") of
    openings to mark. `place` is the line of the list; if not given, that of the first pipe or part.
    """

    message: str
    cure: str
    parts: tuple[str, ...] = ()
    pipes: Iterable = ()
    ports: Iterable = ()
    states: tuple[str, ...] = ()
    severity: Severity | None = None
    place: Place | None = None


@dataclass(frozen=True, slots=True)
class Unknown:
    """The check cannot be made at these parts: `needs` names the fields that would settle it."""

    parts: tuple[str, ...]
    needs: str
