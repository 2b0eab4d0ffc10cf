"""The waters in a network: medium, section and body of water of each pipe, and whether water ever moves in it."""

from dataclasses import dataclass

from schemagen.network.circuits import find_circuits
from schemagen.network.media import bodies, find_media
from schemagen.network.moving import find_moving
from schemagen.network.network import Network
from schemagen.network.sections import find_sections

SECTIONS: tuple[str, ...] = (
    "cold", "hot", "circulation", "tempered",
    "primary-flow", "primary-return", "heating-flow", "heating-return",
    "solar-flow", "solar-return", "brine-flow", "brine-return",
    "pool-flow", "pool-return",
    "discharge", "condensate", "vent", "cold-feed", "filling", "refrigerant",
)  # fmt: skip
"""Sections in teaching order. Primary: between heat source and store, buffer or separator. Heating: beyond it."""


@dataclass(frozen=True)
class Waters:
    """Per pipe (by index): medium ("" if nothing tells it), section, and number of its body of water.

    Pipes that share water share a body, but not across a change from drinking to heating water.
    `circuits` are closed loops worth naming: tags in the order in which water passes them, from the heat source.
    `carries` is True where water ever moves (discharge when it discharges, filling when it is filled).
    """

    medium: tuple[str, ...]
    section: tuple[str, ...]
    body: tuple[int, ...]
    circuits: tuple[tuple[str, ...], ...]
    carries: tuple[bool, ...] = ()


def find_waters(network: Network) -> Waters:
    """Works out the waters of any network, faulty ones included; linear in its size."""
    medium = find_media(network)
    section = find_sections(network, medium)
    body = bodies(network, dict(enumerate(medium)))[0]
    return Waters(
        medium=medium,
        section=section,
        body=tuple(body[i] for i in range(len(network.pipes))),
        circuits=find_circuits(network, medium),
        carries=find_moving(network, medium, section),
    )
