"""Emitters between one flow and one return become a ladder: one column, flow riser left, return riser right.

The flow comes in at the lower left and rises; the return falls at the right and goes back below the lowest rung, so
that no pipe of the ladder crosses another. An emitter that is in no ladder becomes one piece with its valves.
"""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemagen.base.geometry import Point, simplified
from schemagen.layout.contract import GAP, Block, directed, lines_of, tee_placed
from schemagen.layout.shapes import End, Opening, Shape, joined
from schemagen.network.network import Network

RISE = 2 * GAP
"""Height of an emitter's openings below it above the line of its valves."""

RUNG_GAP = 10
REACH = 2 * GAP

FEW = 3
"""How many parts a run may have at most to be one piece with an emitter that is in no ladder."""


@dataclass(frozen=True)
class _Rung:
    """An emitter with the runs before and behind it, its inlet at x = 0; `blocks` are their numbers, its own first."""

    blocks: tuple[int, ...]
    feed: End
    back: End
    shape: Shape


@dataclass(frozen=True)
class _Ladder:
    """Rungs from the nearest to the farthest; `joints[k]` are those of rung k (the last has none)."""

    rungs: tuple[_Rung, ...]
    joints: tuple[tuple[int, int], ...]
    feed: End
    back: End


def laddered(network: Network, blocks: Sequence[Block]) -> list[Block]:
    """The blocks, those of each ladder and of each emitter with its valves as one, at the place of its first.

    After: every part and every end is in exactly one block, as before.
    """
    where = {end: n for n, block in enumerate(blocks) for end in block.ends}
    rungs = _rungs(blocks, where)
    ladders: list[_Ladder] = []
    used: set[int] = set()
    at: dict[tuple[int, int], list[_Rung]] = {}
    for rung in rungs:
        key = where.get(rung.feed.other, -1), where.get(rung.back.other, -1)
        at.setdefault(key, []).append(rung)
    for (f, b), pair in at.items():
        if len(pair) == 2 and f != b and all(_free(blocks, j) for j in (f, b)) and not {f, b} & used:
            ladder = _grown(blocks, where, at, (f, b), pair, used)
            ladders.append(ladder)
            used |= {j for pair in ladder.joints for j in pair}
            used |= {n for rung in ladder.rungs for n in rung.blocks}
    first = {min(_members(ladder)): _drawn(network, blocks, ladder) for ladder in ladders}
    for rung in rungs:
        runs = rung.blocks[1:]
        if runs and not used & set(rung.blocks) and all(len(blocks[n].tags) <= FEW for n in runs):
            used |= set(rung.blocks)
            first[min(rung.blocks)] = _alone(rung)
    return [first.get(n, block) for n, block in enumerate(blocks) if n in first or n not in used]


def _members(ladder: _Ladder) -> list[int]:
    return [j for pair in ladder.joints for j in pair] + [n for r in ladder.rungs for n in r.blocks]


def _free(blocks: Sequence[Block], n: int) -> bool:
    """True if a block is a lone tee with three pipes."""
    return n >= 0 and bool(blocks[n].joint) and len(blocks[n].ends) == 3


def _grown(blocks, where: Mapping[End, int], at, joints: tuple[int, int], pair: list[_Rung], used: set[int]) -> _Ladder:
    """The ladder over one pair of joints, and over all pairs that it hangs on in turn."""
    rungs, all_joints = list(pair), [joints]
    while True:
        f, b = all_joints[0]
        feed = _rest(blocks[f], rungs[:2] if len(all_joints) == 1 else rungs[:1], all_joints, where, 0)
        back = _rest(blocks[b], rungs[:2] if len(all_joints) == 1 else rungs[:1], all_joints, where, 1)
        pair_ = where.get(feed.other, -1), where.get(back.other, -1)
        nearer = at.get(pair_, ())
        if len(nearer) != 1 or pair_[0] == pair_[1] or not all(
            _free(blocks, j) and j not in used and all(j not in p for p in all_joints) for j in pair_
        ):
            return _Ladder(tuple(rungs), tuple(all_joints), feed, back)
        rungs.insert(0, nearer[0])
        all_joints.insert(0, pair_)


def _rest(joint: Block, rungs: Sequence[_Rung], joints, where: Mapping[End, int], n: int) -> End:
    """The end of a joint by which its ladder goes on towards the source."""
    taken = {(r.feed, r.back)[n].other for r in rungs}
    return next(
        e for e in joint.ends if e not in taken and (len(joints) == 1 or where.get(e.other) != joints[1][n])
    )


def _rungs(blocks: Sequence[Block], where: Mapping[End, int]) -> list[_Rung]:
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


def _rung(blocks, where: Mapping[End, int], n: int, emitter: Shape, into: End, out: End) -> _Rung | None:
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
    return _Rung(tuple(members), ends[0], ends[1], shape)


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


def _alone(rung: _Rung) -> Block:
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


def _drawn(network: Network, blocks: Sequence[Block], ladder: _Ladder) -> Block:
    """Rungs one above the other, the nearest lowest, inlets in line."""
    y, pieces, heights = 0, [], []
    for rung in ladder.rungs:
        box = rung.shape.bounds()
        y -= box.bottom if heights else 0
        pieces.append(rung.shape.moved(0, y))
        heights.append(y)
        y += box.y - RUNG_GAP
    bounds = joined(pieces).bounds()
    left, right = bounds.x // 10 * 10 - REACH, -(-bounds.right // 10) * 10 + REACH
    low = -(-pieces[0].bounds().bottom // 10) * 10 + GAP
    routes: dict[int, tuple[Point, ...]] = {}
    tees = []
    ends: dict[End, Opening] = {}
    stubs: dict[End, tuple[Point, ...]] = {}
    for n, x in ((0, left), (1, right)):
        inner, outer = ("R", "L") if n == 0 else ("L", "R")
        for k, pair in enumerate(ladder.joints):
            block = blocks[pair[n]]
            rung_end = (ladder.rungs[k].feed, ladder.rungs[k].back)[n].other
            last = k == len(ladder.joints) - 1
            up = (ladder.rungs[k + 1].feed, ladder.rungs[k + 1].back)[n].other if last else None
            if up is None:
                up = next(
                    e for e in block.ends if e != rung_end and e.other in blocks[ladder.joints[k + 1][n]].ends
                )
            down = next(e for e in block.ends if e not in (rung_end, up))
            foot = "B" if k or n else outer
            sides = {rung_end: inner, up: "T", down: foot}
            names = {e: _port(network, e) for e in sides}
            tee = tee_placed(network.parts[block.joint], Point(x, heights[k]), {names[e]: s for e, s in sides.items()})
            tees.append((tee, {e: tee.ports[names[e]].at for e in sides}, rung_end, up, down))
        own = tees[-len(ladder.joints):]
        for k, (_, at, rung_end, up, _) in enumerate(own):
            _join(routes, rung_end, at[rung_end], pieces[k], ())
            if k == len(own) - 1:
                _join(routes, up, at[up], pieces[k + 1], (Point(x, heights[k + 1]),))
            else:
                routes[up.pipe] = directed(up, (at[up], own[k + 1][1][up.other]))
        down = own[0][4]
        if n == 0:
            ends[down] = Opening(own[0][1][down], "L")
        else:
            corner = Point(x, low)
            tip = Point(left - tees[0][0].box.w // 2, low)
            ends[down] = Opening(tip, "L")
            stubs[down] = (own[0][1][down], corner, tip)
    whole = joined(pieces)
    shape = Shape(
        (*whole.parts, *(t[0] for t in tees)), {**whole.routes, **routes}, whole.labels, whole.places, ends, stubs
    )
    return Block(tuple(p.tag for p in shape.parts), (shape,), tuple(ends))


def _join(routes: dict[int, tuple[Point, ...]], end: End, at: Point, piece: Shape, between: tuple[Point, ...]) -> None:
    """The pipe from a joint to the rung's opening, with the way inside the rung."""
    way = piece.stubs.get(end.other, (piece.open[end.other].at,))
    routes[end.pipe] = directed(end, simplified((at, *between, *way[::-1])))


def _port(network: Network, end: End) -> str:
    pipe = network.pipes[end.pipe]
    return (pipe.end if end.end else pipe.start).port
