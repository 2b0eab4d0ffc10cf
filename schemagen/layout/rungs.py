"""An emitter with the valves before and behind it on one line: a rung of a ladder, or a piece of its own."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemagen.base.geometry import Point, simplified
from schemagen.layout.block import Block
from schemagen.layout.shapes import GAP, End, Opening, Shape, directed, joined, lines_of

RISE = 2 * GAP
"""Height of an emitter's openings below it above the line of its valves."""


@dataclass(frozen=True)
class Rung:
    """An emitter with the runs before and behind it, its inlet at x = 0; `blocks` are their numbers, its own first."""

    blocks: tuple[int, ...]
    feed: End
    back: End
    shape: Shape


def rungs(blocks: Sequence[Block], where: Mapping[End, int]) -> list[Rung]:
    """The rungs that blocks can be; `where` has the block of each end."""
    out = []
    for n, block in enumerate(blocks):
        if len(block.ends) != 2 or block.run or block.joint:
            continue
        ends = sorted(block.ends, key=lambda e: -e.end)
        if [e.end for e in ends] != [1, 0]:
            continue
        for shape in block.shapes:
            a, b = (shape.open[e] for e in ends)
            if (a.side, b.side) in (("B", "B"), ("L", "R")) and a.at.x < b.at.x:
                rung = _rung(blocks, where, n, shape, ends[0], ends[1])
                if rung:
                    out.append(rung)
                break
    return out


def _rung(blocks, where: Mapping[End, int], n: int, emitter: Shape, into: End, out: End) -> Rung | None:
    a = emitter.open[into]
    shape = emitter.moved(-a.at.x, -a.at.y - (RISE if a.side == "B" else 0))
    members, ends = [n], []
    for end, way in ((into, -1), (out, 1)):
        other = where.get(end.other, -1)
        run = blocks[other] if other >= 0 else None
        if run is None or not run.run or len(run.ends) != 2:
            ends.append(end)
            o = shape.open[end].at
            tip = Point(o.x + way * GAP, 0)
            shape = _opened(shape, end, simplified((o, Point(o.x, 0), tip)), "L" if way < 0 else "R")
            continue
        near = end.other
        far = next(e for e in run.ends if e != near)
        piece = next((s for s in run.shapes if s.open[near].side == ("R" if way < 0 else "L")), None)
        if piece is None or other in members:
            return None
        shape = _extended(shape, piece, end, way)
        members.append(other)
        ends.append(far)
    return Rung(tuple(members), ends[0], ends[1], shape)


def _opened(shape: Shape, end: End, points: tuple[Point, ...], side: str) -> Shape:
    """The shape with the way of one of its ends drawn on to a new opening."""
    ends = {**shape.open, end: Opening(points[-1], side)}
    return Shape(shape.parts, shape.routes, shape.labels, shape.places, ends, {**shape.stubs, end: points})


def _extended(shape: Shape, run: Shape, end: End, way: int) -> Shape:
    """A run put on the line y = 0 beside the emitter and joined to its end; `way` is -1 on the left, 1 on the right."""
    o, own = shape.open[end].at, run.open[end.other].at
    x = o.x + way * GAP - own.x
    blocked = [b.grown(4) for b in shape.solids()] + lines_of(shape)
    while any(b.moved(x, -own.y).overlaps(s) for b in run.solids() + lines_of(run) for s in blocked):
        x += way * 5
    run = run.moved(-(-x // 10) * 10 if way > 0 else x // 10 * 10, -own.y)
    way_in = (o, Point(o.x, 0), run.open[end.other].at)
    both = joined([shape, run])
    ends = {e: v for e, v in both.open.items() if e not in (end, end.other)}
    routes = {**both.routes, end.pipe: directed(end, simplified(way_in))}
    return Shape(both.parts, routes, both.labels, both.places, ends, both.stubs)


def alone(rung: Rung) -> Block:
    """An emitter with its valves: fed at the left and left at the right, or with its return led back below it."""
    shape = rung.shape
    box, o = shape.bounds(), shape.open[rung.back].at
    low = -(-box.bottom // 10) * 10 + GAP
    way = shape.stubs.get(rung.back, (o,))
    turn = max(o.x, -(-box.right // 10) * 10) + GAP
    tip = Point(min(box.x // 10 * 10, shape.open[rung.feed].at.x), low)
    back = simplified((*way, Point(turn, o.y), Point(turn, low), tip))
    shapes = shape, _opened(shape, rung.back, back, "L")
    return Block(tuple(p.tag for p in shape.parts), shapes, (rung.feed, rung.back))
