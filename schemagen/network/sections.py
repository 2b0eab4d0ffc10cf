"""Sections of pipework: what each pipe is for, read from its medium and from what lies up and down its stream."""

from schemagen.network.circulation import circulation
from schemagen.network.lines import Lines, cold_feeds, filling, vents
from schemagen.network.network import Network
from schemagen.network.sides import Sides

_PLAIN = {"cold": "cold", "hot": "hot", "tempered": "tempered", "air": "vent"}
_STRAIGHT = ("discharge", "condensate", "refrigerant")


def find_sections(network: Network, medium: tuple[str, ...]) -> tuple[str, ...]:
    """The section of each pipe by index: a word of waters.SECTIONS. Total: faulty networks get the likeliest answer."""
    sided = Sides(network, medium).sections()
    section = [m if m in _STRAIGHT else _PLAIN[m] if m in _PLAIN else sided[i] for i, m in enumerate(medium)]
    lines = Lines(network)
    for i in circulation(network, medium):
        section[i] = "circulation"
    for name, pipes in (("filling", filling(lines)), ("cold-feed", cold_feeds(lines)), ("vent", vents(lines))):
        for i in pipes:
            section[i] = name
    return tuple(section)
