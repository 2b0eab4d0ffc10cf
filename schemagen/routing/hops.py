"""At each crossing the less important pipe hops over the other."""

from schemagen.base.geometry import Point
from schemagen.network.network import Network
from schemagen.network.waters import Waters
from schemagen.routing.audit import crossings_of

_YIELDS = (
    "refrigerant", "vent", "condensate", "discharge", "filling", "cold-feed", "circulation", "cold", "tempered", "hot",
    "pool-return", "pool-flow", "brine-return", "brine-flow", "solar-return", "heating-return", "primary-return",
    "solar-flow", "heating-flow", "primary-flow",
)  # fmt: skip
"""Sections from the one that hops over all others to the one that hops over none."""


def hops(network: Network, waters: Waters, routes: dict[int, tuple[Point, ...]]) -> dict[int, tuple[Point, ...]]:
    """Where each pipe hops, by pipe index. After: each crossing is hopped over by exactly one of its two pipes."""
    out: dict[int, list[Point]] = {}
    for level, upright, at in crossings_of(network, routes):
        a, b = (_YIELDS.index(waters.section[i]) if waters.section[i] in _YIELDS else 0 for i in (level, upright))
        out.setdefault(upright if b < a else level, []).append(at)
    return {i: tuple(points) for i, points in out.items()}
