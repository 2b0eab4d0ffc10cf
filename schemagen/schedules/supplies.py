"""Where water comes in: mains, cisterns, filling units, and pipes from another sheet."""

from collections.abc import Iterator

from schemagen.network.network import Network, Part, PortId
from schemagen.parts.kind import OUTSIDE


def supply_ports(network: Network) -> Iterator[PortId]:
    """Openings by which water comes in: mains, cisterns, filling units, pipes from another sheet."""
    for part in network.parts.values():
        for passage in part.kind.passages:
            surface = passage.sort == "both" and passage.b == OUTSIDE and not passage.positions
            if surface and "vent" not in part.kind.counts_as or surface and passage.a == "cold-feed":
                yield PortId(part.tag, passage.a)
            if passage.sort == "air-gap" and passage.positions and passage.b != OUTSIDE:
                yield PortId(part.tag, passage.b)


def is_main(part: Part) -> bool:
    """True for the water main, and for a pipe from another sheet, which may bring it."""
    return part.kind.driver == "main" or part.kind.name == "off-sheet-connector"
