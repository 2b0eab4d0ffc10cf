"""Where hot and cold water meet, what each side is fed by, and what keeps them apart."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import mixes
from schemagen.network.groups import Groups
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet

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
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        groups.join(pipe.start, pipe.end)
    for part in facts.network.parts.values():
        for passage in part.kind.passages:
            steady = passage.sort == "both" and not passage.positions or not part.kind.breaks_pressure
            if is_wet(part.kind, passage) and steady and not mixes(part):
                groups.join(PortId(part.tag, passage.a), PortId(part.tag, passage.b))
        if part.kind.name == "inlet-control-group":
            groups.join(PortId(part.tag, "balanced-cold-out"), PortId(part.tag, "cylinder-out"))
        if part.kind.name == "thermostatic-mixing-valve":
            groups.join(PortId(part.tag, "hot"), PortId(part.tag, "mixed"))
    return groups.numbered()[0]


def has_check(facts: Facts, inlet: PortId) -> bool:
    """True if water cannot run back out of an inlet of a mixer, as far as the pipe to it is not divided."""
    run = [inlet.tag, *(port.tag for port in facts.run_from(inlet))]
    parts = (facts.network.parts[tag] for tag in run)
    return any(part.kind.name in _CHECKS or "check" in part.built_in for part in parts)
