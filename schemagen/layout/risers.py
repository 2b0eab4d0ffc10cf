"""A run of valves and such in a riser: its parts one above the other."""

from schemagen.base.geometry import Point
from schemagen.layout.block import Block
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.placement import Label, Placed
from schemagen.layout.shapes import GAP, End, Opening, Shape, moved_part, placed, positions
from schemagen.network.network import Network, Part


def upright(network: Network, run: Block, foot: End, inner: str) -> Shape | None:
    """The parts of a run one above the other, its end `foot` at 0, 0 below them all, captions away from side `inner`.

    None if a part has no turn for that, or reaches in more than a pipe's clearance.
    """
    row = next(s for s in run.shapes if s.open[foot].side == "L")
    stack: dict[str, Placed] = {}
    labels: list[Label] = []
    at = Point(0, 0)
    for flat in sorted(row.parts, key=lambda p: p.box.x):
        part = network.parts[flat.tag]
        low, high = (pick(flat.ports, key=lambda name: flat.ports[name].at.x) for pick in (min, max))
        turned = _turned(part, low, high, inner)
        if turned is None:
            return None
        stack[part.tag] = here = moved_part(turned, at.x - turned.ports[low].at.x, at.y - turned.ports[low].at.y)
        lines = caption_lines(part)
        labels += [label_of(part, lines, slots(lines, here.box, "l" if inner == "R" else "r")[0])] if lines else []
        head = here.ports[high].at
        at = Point(head.x, head.y - GAP)
    ends = {end: Opening(Point(0, 0), "B") if end == foot else Opening(head, "T") for end in run.ends}
    routes = {}
    for i in row.routes:
        first, last = network.pipes[i].start, network.pipes[i].end
        routes[i] = stack[first.tag].ports[first.port].at, stack[last.tag].ports[last.port].at
    return Shape(tuple(stack.values()), routes, tuple(labels), (), ends)


def _turned(part: Part, low: str, high: str, inner: str) -> Placed | None:
    """The part with one opening straight above the other."""
    for turn, mirror in positions(part) if part.kind.shape == "inline" else ():
        p = placed(part, turn, mirror)
        foot, head = p.ports[low], p.ports[high]
        reach = p.box.right - foot.at.x if inner == "R" else foot.at.x - p.box.x
        if (foot.side, head.side) == ("B", "T") and foot.at.x == head.at.x and reach <= GAP:
            return p
    return None
