"""A tail drawn: its parts one under or over the other, on an opening of a tee or on a port of a major part.

It comes with the pipe from its root drawn; where no turn of its parts fits, or there is no room, it is None.
"""

from schemagen.base.geometry import NORMAL, OPPOSITE, Point, simplified
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.placement import Label, Placed
from schemagen.layout.shapes import (
    GAP,
    End,
    Opening,
    Shape,
    closed,
    corridor,
    directed,
    joined,
    lines_of,
    moved_part,
    placed_at,
)
from schemagen.layout.tails import Tail
from schemagen.network.network import Network, Part


def hung_on_tee(network: Network, tail: Tail, at: Point, side: str, beside: list[Shape]) -> Shape | None:
    """The tail on an opening of a tee: at its top or bottom, or round a corner at its right, clear of `beside`."""
    if side == "R":
        stack = _stack(network, tail, "T" if tail.down else "B")
        blocked = [b.grown(4) for s in beside for b in s.solids()]
        for far in range(2 * GAP, 20 * GAP, GAP) if stack else ():
            moved = stack.moved(at.x + far, GAP if tail.down else -GAP)
            if not any(b.overlaps(x) for b in moved.solids() for x in blocked):
                return _tied(moved, tail.root, (at, Point(at.x + far, at.y)))
        return None
    if (side == "B") == tail.down:
        stack = _stack(network, tail, OPPOSITE[side])
        if stack:
            return _tied(stack.moved(at.x, at.y + (GAP if tail.down else -GAP)), tail.root, (at,))
    if side != "B" or not tail.down:
        return None
    for entry, dx in (("L", 2 * GAP), ("R", -2 * GAP)):
        stack = _stack(network, tail, entry)
        if stack:
            y = at.y + GAP - stack.bounds().y
            return _tied(stack.moved(at.x + dx, y), tail.root, (at, Point(at.x, y)))
    return None


def hung_on_port(network: Network, tail: Tail, opening: Opening, shape: Shape, others: list[Opening]) -> Shape | None:
    """The tail on a port of a major part, clear of all that is there and of the ways out of its other ports."""
    blocked = [b.grown(GAP) for b in shape.solids()] + [corridor(o) for o in others]
    at, side = opening
    nx, ny = NORMAL[side]
    tries: list[tuple[Shape | None, Point, tuple[Point, ...]]] = []
    for far in range(GAP, 13 * GAP, GAP):
        if side in "TB":
            end_on = _stack(network, tail, OPPOSITE[side]) if (side == "B") == tail.down else None
            tries.append((end_on, Point(at.x, at.y + ny * far), (at,)))
            if end_on is None and len(tail.chain) == 1:
                corner = Point(at.x, at.y + ny * (far + GAP))
                tries.append((_stack(network, tail, "L"), Point(at.x + GAP, corner.y), (at, corner)))
                tries.append((_stack(network, tail, "R"), Point(at.x - GAP, corner.y), (at, corner)))
            continue
        straight = _stack(network, tail, OPPOSITE[side])
        if straight:
            tries.append((straight, Point(at.x + nx * far, at.y), (at,)))
            continue
        corner = Point(at.x + nx * (far + GAP), at.y)
        tries.append(
            (
                _stack(network, tail, "T" if tail.down else "B"),
                Point(corner.x, at.y + (GAP if tail.down else -GAP)),
                (at, corner),
            )
        )
    for stack, where, way in tries:
        if stack is None:
            continue
        hung = _tied(stack.moved(*where), tail.root, way)
        boxes = hung.solids() + lines_of(hung)[1:] + [corridor(o) for o in hung.open.values()]
        own = shape.parts[0].box
        if not any(b.overlaps(x) for b in boxes for x in blocked) and not any(
            b.overlaps(own) for b in lines_of(hung)
        ):
            return hung
    return None


def _stack(network: Network, tail: Tail, entry: str) -> Shape | None:
    """The tail hung under (or over) its entry point 0, 0, entered on the side `entry`."""
    way = "B" if tail.down else "T"
    shapes: list[Shape] = []
    at, side = Point(0, 0), entry
    ends: dict[End, Opening] = {tail.root.other: Opening(at, entry)}
    routes: dict[int, tuple[Point, ...]] = {}
    leave = Point(0, 0)
    for n, (tag, into, out) in enumerate(tail.chain):
        part = network.parts[tag]
        onward = {out: way} if out else None
        if n:
            at = Point(leave.x, leave.y + (2 * GAP if tail.down else -2 * GAP))
            side = OPPOSITE[way]
        p = placed_at(part, into, at, side, onward)
        if p is None and n:
            beside = placed_at(part, into, Point(leave.x + 2 * GAP, leave.y), "L", onward)
            p = moved_part(beside, 0, leave.y + GAP - beside.box.y) if beside and tail.down else None
        if p is None:
            return None
        if n:
            entry = p.ports[into].at
            way_in = simplified((leave, Point(leave.x, entry.y), entry))
            routes[tail.pipes[n - 1].pipe] = directed(tail.pipes[n - 1], way_in)
        beyond = "b" if tail.down else "t"
        shapes.append(Shape((p,), {}, _caption(part, p, beyond if len(tail.chain) == 1 and not out else "rl")))
        if out:
            leave = p.ports[out].at
    if tail.loose is not None:
        ends[tail.loose] = Opening(leave, way)
    return joined([*shapes, Shape((), routes, (), (), ends)])


def _caption(part: Part, p: Placed, order: str) -> tuple[Label, ...]:
    lines = caption_lines(part)
    return (label_of(part, lines, slots(lines, p.box, order)[0]),) if lines else ()


def _tied(stack: Shape, root: End, way: tuple[Point, ...]) -> Shape:
    """The stack with the pipe from its root drawn: `way` and then the stack's entry."""
    entry = stack.open[root.other].at
    return joined([closed(stack, root.other), Shape((), {root.pipe: directed(root, (*way, entry))})])
