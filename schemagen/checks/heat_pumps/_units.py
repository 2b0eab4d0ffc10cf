"""Questions about heat pumps that several checks of this group ask."""

from collections.abc import Iterator

from schemagen.network.network import Part, PortId

AIR = ("air-heat-pump", "heat-pump-indoor-unit")
ALL = (*AIR, "ground-heat-pump")
OUTDOORS = ("outdoor", "outside", "unheated", "garden", "yard", "roof", "outdoors")


def heat_pumps(facts, *kinds: str) -> Iterator[Part]:
    return facts.parts(*(kinds or ALL))


def is_outdoors(place: str) -> bool:
    """True if a place's name says that it can freeze there."""
    words = place.casefold().replace("-", " ").split()
    return any(word in OUTDOORS for word in words)


def legs(facts, unit: Part) -> list[PortId]:
    """The openings of the heating water, flow first."""
    ports = (*facts.outlet_ports(unit), *facts.return_ports(unit))
    return [p for p in ports if facts.is_piped(p) and facts.spec(p).media == "H"]


def has_antifreeze(facts, port: PortId) -> bool:
    """True if the water at an opening is said to hold antifreeze: by its pipe, its part, or the table of fluids."""
    pipe = facts.pipe_at(port)
    if (
        pipe is not None
        and pipe.medium == "antifreeze-mix"
        or facts.network.parts[port.tag].value("medium") == "antifreeze-mix"
    ):
        return True
    wet = facts.reach.wet(port)
    if any(facts.network.parts[tag].value("medium") == "antifreeze-mix" for tag in {p.tag for p in wet}):
        return True
    if any(p.medium == "antifreeze-mix" for p in facts.network.pipes if p.start in wet):
        return True
    share = facts.network.fluids.get("heating-water", {}).get("antifreeze")
    return bool(share)
