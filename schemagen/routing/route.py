"""From a sketch to a plan: final ways, hops at crossings, and the texts beside pipes."""

from dataclasses import replace
from itertools import pairwise

from schemagen.base.geometry import Box
from schemagen.layout.canonical import in_canonical_order
from schemagen.layout.placement import Plan, Route
from schemagen.layout.shapes import Shape, bounds_of
from schemagen.network.network import Network
from schemagen.network.waters import Waters
from schemagen.routing.hops import hops
from schemagen.routing.pipe_labels import Taken, size_labels
from schemagen.routing.tidy import tidied

EDGE = 10


def route(sketch: Shape, network: Network, waters: Waters) -> Plan:
    """The finished plan of a sketch. After: every crossing has a hop on one of its pipes, no text lies on anything."""
    same, _, index = in_canonical_order(network, waters.section)
    sketch = tidied(same, replace(sketch, routes={n: sketch.routes[i] for n, i in enumerate(index)}))
    ways = dict(sorted((index[n], points) for n, points in sketch.routes.items()))
    over = hops(waters, ways)
    taken = Taken(
        [p.box for p in sketch.parts]
        + [t.box for t in sketch.labels]
        + [p.label for p in sketch.places]
        + [
            Box(min(a.x, b.x), min(a.y, b.y), abs(a.x - b.x), abs(a.y - b.y)).grown(3)
            for w in ways.values()
            for a, b in pairwise(w)
        ]
        + [side for p in sketch.places for side in _sides(p.box)]
    )
    sizes = size_labels(network, ways, taken)
    labels = (*sketch.labels, *sizes)
    around = [sketch.bounds(), *(t.box for t in sizes)] if sketch.parts else [Box(0, 0, 100, 100)]
    order = {tag: n for n, tag in enumerate(network.parts)}
    return Plan(
        {p.tag: p for p in sorted(sketch.parts, key=lambda p: order[p.tag])},
        {i: Route(points, over.get(i, ())) for i, points in ways.items()},
        labels,
        sketch.places,
        bounds_of(around).grown(EDGE),
    )


def _sides(b: Box) -> list[Box]:
    return [Box(b.x, b.y, b.w, 0).grown(2), Box(b.x, b.bottom, b.w, 0).grown(2),
            Box(b.x, b.y, 0, b.h).grown(2), Box(b.right, b.y, 0, b.h).grown(2)]  # fmt: skip
