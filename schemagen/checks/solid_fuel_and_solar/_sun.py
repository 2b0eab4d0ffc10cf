"""Questions about solar circuits and antifreeze that several checks of this group ask."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId

ANTIFREEZE = "antifreeze-mix"


def collectors(facts: Facts) -> Iterator[Part]:
    """Collectors that are piped."""
    for part in facts.parts("solar-collector"):
        if facts.is_piped(PortId(part.tag, "out")):
            yield part


def loop_parts(facts: Facts, collector: Part) -> list[Part]:
    """Parts under the collector's pressure, in the order of the list."""
    return [facts.network.parts[tag] for tag in facts.section(PortId(collector.tag, "out")).tags]


def drains_back(parts: list[Part]) -> bool:
    return any(part.kind.name == "drain-back-vessel" for part in parts)


def holds_antifreeze(facts: Facts, port: PortId) -> bool:
    """True if the water at a port is antifreeze mix."""
    return facts.medium_at(port) == ANTIFREEZE
