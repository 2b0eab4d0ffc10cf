"""Questions about fires and the sun that several checks of this group ask."""

from collections.abc import Iterator

from schemagen.network.network import Part, PortId

ANTIFREEZE = "antifreeze-mix"


def fires(facts) -> Iterator[Part]:
    """Stoves and wood boilers that cannot be switched off and are piped."""
    for part in facts.parts("solid-fuel-stove", "wood-boiler"):
        if part.kind.giver == "uncontrolled" and any(facts.is_piped(PortId(part.tag, n)) for n in part.kind.gives):
            yield part


def leaks(facts) -> Iterator[Part]:
    """What is listed as a heat leak: radiators marked so, and coils and radiators fed by gravity."""
    for part in facts.takers:
        if part.kind.name == "heat-leak-radiator" or part.value("heat-leak") or part.value("gravity"):
            yield part


def way_through(facts, fire: Part, taker: Part) -> bool:
    """True if a loop from the fire through the taker and back has nothing in it that can shut or turn.

    A store whose body shares the fire's water counts if it stands open to it on both sides.
    """
    reached = facts.reach.fixed_of(fire.tag)
    return all(PortId(taker.tag, name) in reached for name in taker.kind.takes)


def collectors(facts) -> Iterator[Part]:
    for part in facts.parts("solar-collector"):
        if facts.is_piped(PortId(part.tag, "out")):
            yield part


def loop_tags(facts, collector: Part) -> list[str]:
    """Tags of the parts that share the collector's water, in the order of the list."""
    wet = {port.tag for port in facts.reach.wet(PortId(collector.tag, "out"))}
    return [tag for tag in facts.network.parts if tag in wet]


def holds_antifreeze(facts, port: PortId) -> bool:
    """True if the water at a port is antifreeze mix: by its medium, or by a part that is filled with it."""
    if facts.medium_at(port) == ANTIFREEZE:
        return True
    return any(facts.network.parts[tag].value("medium") == ANTIFREEZE for tag in {p.tag for p in facts.reach.wet(port)})
