"""Where hot and cold water meet, what each side is fed by, and what keeps them apart."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import mixes
from schemagen.network.network import Part, PortId
from schemagen.parts.kind import Passage

_CHECKS = ("check-valve", "double-check-valve", "disconnecting-preventer")


def mixers(facts: Facts) -> Iterator[tuple[PortId, PortId]]:
    """The hot and the cold inlet of each mixing valve, mixer tap, bath and shower."""
    for part in facts.network.parts.values():
        names = part.kind.ports
        if mixes(part) and "cold" in names:
            yield PortId(part.tag, "hot"), PortId(part.tag, "cold")
        elif mixes(part) and "cold-in" in names:
            yield PortId(part.tag, "hot-in"), PortId(part.tag, "cold-in")


def supplies(facts: Facts) -> dict[PortId, int]:
    """Numbers of waters under one pressure: parted where something limits or holds pressure, and inside mixers."""

    def is_steady(part: Part, passage: Passage) -> bool:
        steady = passage.sort == "both" and not passage.positions or not part.kind.breaks_pressure
        return steady and not mixes(part)

    ends = {"inlet-control-group": ("balanced-cold-out", "cylinder-out"), "thermostatic-mixing-valve": ("hot", "mixed")}
    also = [[PortId(part.tag, name) for name in ends[part.kind.name]] for part in facts.parts(*ends)]
    return facts.reach.grouped(is_steady, also)


def has_check(facts: Facts, inlet: PortId) -> bool:
    """True if water cannot run back out of an inlet of a mixer, as far as the pipe to it is not divided."""
    run = [inlet.tag, *(port.tag for port in facts.run_from(inlet))]
    parts = (facts.network.parts[tag] for tag in run)
    return any(part.kind.name in _CHECKS or "check" in part.built_in for part in parts)
