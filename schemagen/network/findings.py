"""What is wrong with a list, gathered while its network is built."""

from dataclasses import replace

from schemagen.base.finding import Finding, Severity
from schemagen.base.place import Place


class Findings:
    """Findings in the order in which they were made."""

    def __init__(self) -> None:
        self.made: list[Finding] = []

    def say(
        self,
        check: str,
        severity: Severity,
        message: str,
        cure: str,
        parts: tuple[str, ...] = (),
        ports: tuple[str, ...] = (),
        place: Place | None = None,
        pipes: tuple[tuple[str, str], ...] = (),
    ) -> Finding:
        """One more finding; openings without a name are left out of it."""
        finding = Finding(check, severity, message, cure, parts, pipes, tuple(p for p in ports if p), place=place)
        self.made.append(finding)
        return finding

    def name_also(self, old: Finding, parts: tuple[str, ...], ports: tuple[str, ...]) -> Finding:
        """A finding made before, which now names these parts and openings as well."""
        new = replace(old, parts=tuple(dict.fromkeys((*old.parts, *parts))), ports=old.ports + ports)
        self.made[self.made.index(old)] = new
        return new
