"""Emitters between one flow and one return become a ladder: one column, flow riser left, return riser right.

The flow comes in at the lower left and rises; the return falls at the right and goes back below the lowest rung, so
that no pipe of the ladder crosses another. An emitter that is in no ladder becomes one piece with its valves.
"""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from schemagen.base.geometry import Point, simplified
from schemagen.layout.block import Block
from schemagen.layout.placement import Placed
from schemagen.layout.risers import upright
from schemagen.layout.rungs import Rung, alone, rungs
from schemagen.layout.shapes import GAP, End, Opening, Shape, directed, joined, port_of, tee_placed
from schemagen.network.network import Network

RUNG_GAP = 10
REACH = 2 * GAP

FEW = 3
"""How many parts a run may have at most to be one piece with an emitter that is in no ladder."""


@dataclass(frozen=True)
class _Riser:
    """A run that stands in a riser: the number of its block, its shape, and its ends at the foot and at the head."""

    block: int
    shape: Shape
    foot: End
    head: End

    @property
    def height(self) -> int:
        return self.shape.open[self.foot].at.y - self.shape.open[self.head].at.y


class _Tee(NamedTuple):
    """A tee of a riser in its place: where each of its ends is, and the ends to its rung, onward and back."""

    part: Placed
    at: Mapping[End, Point]
    rung: End
    up: End
    down: End


@dataclass(frozen=True)
class _Ladder:
    """Rungs from the nearest to the farthest; `joints[k]` are those of rung k (the last has none).

    `risers[k]` has what stands in the flow and in the return between the joints of rung k and those of the next.
    """

    rungs: tuple[Rung, ...]
    joints: tuple[tuple[int, int], ...]
    risers: tuple[tuple[_Riser | None, _Riser | None], ...]
    feed: End
    back: End


def laddered(network: Network, blocks: Sequence[Block]) -> list[Block]:
    """The blocks, those of each ladder and of each emitter with its valves as one, at the place of its first.

    After: every part and every end is in exactly one block, as before.
    """
    where = {end: n for n, block in enumerate(blocks) for end in block.ends}
    found = rungs(blocks, where)
    ladders: list[_Ladder] = []
    used: set[int] = set()
    at: dict[tuple[int, int], list[Rung]] = {}
    for rung in found:
        key = where.get(rung.feed.other, -1), where.get(rung.back.other, -1)
        at.setdefault(key, []).append(rung)
    for (f, b), pair in at.items():
        if len(pair) == 2 and f != b and all(_free(blocks, j) for j in (f, b)) and not {f, b} & used:
            ladder = _grown(network, blocks, where, at, (f, b), pair, used)
            ladders.append(ladder)
            used |= set(_members(ladder))
    first = {min(_members(ladder)): _drawn(network, blocks, ladder) for ladder in ladders}
    for rung in found:
        runs = rung.blocks[1:]
        if runs and not used & set(rung.blocks) and all(len(blocks[n].tags) <= FEW for n in runs):
            used |= set(rung.blocks)
            first[min(rung.blocks)] = alone(rung)
    return [first.get(n, block) for n, block in enumerate(blocks) if n in first or n not in used]


def _members(ladder: _Ladder) -> list[int]:
    joints = [j for pair in ladder.joints for j in pair]
    standing = [riser.block for pair in ladder.risers for riser in pair if riser]
    return joints + standing + [n for rung in ladder.rungs for n in rung.blocks]


def _free(blocks: Sequence[Block], n: int) -> bool:
    """True if a block is a lone tee with three pipes."""
    return n >= 0 and bool(blocks[n].joint) and len(blocks[n].ends) == 3


def _grown(
    network: Network, blocks, where: Mapping[End, int], at, joints: tuple[int, int], pair: list[Rung], used: set[int]
) -> _Ladder:
    """The ladder over one pair of joints, and over all pairs that it hangs on in turn."""
    rungs, all_joints, risers = list(pair), [joints], []
    rest = [_rest(blocks[j], {(rung.feed, rung.back)[n].other for rung in rungs}) for n, j in enumerate(joints)]
    while True:
        feed, back = rest
        between = _riser(network, blocks, where, feed, "R"), _riser(network, blocks, where, back, "L")
        feet = [riser.foot if riser else end for riser, end in zip(between, rest, strict=True)]
        nearer = tuple(where.get(foot.other, -1) for foot in feet)
        rung = at.get(nearer, ())
        if len(rung) != 1 or nearer[0] == nearer[1] or not all(
            _free(blocks, j) and j not in used and all(j not in p for p in all_joints) for j in nearer
        ):
            return _Ladder(tuple(rungs), tuple(all_joints), tuple(risers), feed, back)
        taken = ({(rung[0].feed, rung[0].back)[n].other, foot.other} for n, foot in enumerate(feet))
        rest = [_rest(blocks[j], own) for j, own in zip(nearer, taken, strict=True)]
        rungs.insert(0, rung[0])
        all_joints.insert(0, nearer)
        risers.insert(0, between)


def _rest(joint: Block, taken: Collection[End]) -> End:
    """The end of a joint that is left."""
    return next(e for e in joint.ends if e not in taken)


def _riser(network: Network, blocks: Sequence[Block], where: Mapping[End, int], end: End, inner: str) -> _Riser | None:
    """The run below a joint in a riser, beyond the joint's end; None if there is none that can stand upright."""
    n = where.get(end.other, -1)
    if n < 0 or not blocks[n].run or len(blocks[n].ends) != 2:
        return None
    foot = next(e for e in blocks[n].ends if e != end.other)
    shape = upright(network, blocks[n], foot, inner)
    return _Riser(n, shape, foot, end.other) if shape else None


def _drawn(network: Network, blocks: Sequence[Block], ladder: _Ladder) -> Block:
    """Rungs one above the other, the nearest lowest, inlets in line."""
    y, pieces, heights = 0, [], []
    for k, rung in enumerate(ladder.rungs):
        box = rung.shape.bounds()
        y -= box.bottom if heights else 0
        if 0 < k < len(ladder.joints):
            y = min(y, heights[-1] - _least_height(network, blocks, ladder, k - 1))
        pieces.append(rung.shape.moved(0, y))
        heights.append(y)
        y += box.y - RUNG_GAP
    bounds = joined(pieces).bounds()
    left, right = bounds.x // 10 * 10 - REACH, -(-bounds.right // 10) * 10 + REACH
    low = -(-pieces[0].bounds().bottom // 10) * 10 + GAP
    routes: dict[int, tuple[Point, ...]] = {}
    tees, stands = [], []
    ends: dict[End, Opening] = {}
    stubs: dict[End, tuple[Point, ...]] = {}
    for n, x in ((0, left), (1, right)):
        inner, outer = ("R", "L") if n == 0 else ("L", "R")
        for k, pair in enumerate(ladder.joints):
            block = blocks[pair[n]]
            rung_end = (ladder.rungs[k].feed, ladder.rungs[k].back)[n].other
            if k == len(ladder.joints) - 1:
                up = (ladder.rungs[k + 1].feed, ladder.rungs[k + 1].back)[n].other
            else:
                riser = ladder.risers[k][n]
                beyond = blocks[riser.block if riser else ladder.joints[k + 1][n]].ends
                up = next(e for e in block.ends if e != rung_end and e.other in beyond)
            down = _rest(block, (rung_end, up))
            foot = "B" if k or n else outer
            sides = {rung_end: inner, up: "T", down: foot}
            names = {e: port_of(network, e).port for e in sides}
            tee = tee_placed(network.parts[block.joint], Point(x, heights[k]), {names[e]: s for e, s in sides.items()})
            tees.append(_Tee(tee, {e: tee.ports[names[e]].at for e in sides}, rung_end, up, down))
        own = tees[-len(ladder.joints):]
        for k, tee in enumerate(own):
            up, foot = tee.up, tee.at[tee.up]
            _join(routes, tee.rung, tee.at[tee.rung], pieces[k], ())
            if k == len(own) - 1:
                _join(routes, up, foot, pieces[k + 1], (Point(x, heights[k + 1]),))
                continue
            above = own[k + 1]
            top = above.at[above.down]
            if riser := ladder.risers[k][n]:
                spare = foot.y - top.y - riser.height
                standing = riser.shape.moved(x, foot.y - spare // (2 * GAP) * GAP)
                routes[up.pipe] = directed(up, (foot, standing.open[riser.foot].at))
                routes[above.down.pipe] = directed(above.down, (top, standing.open[riser.head].at))
                stands.append(standing)
            else:
                routes[up.pipe] = directed(up, (foot, top))
        first = own[0]
        if n == 0:
            ends[first.down] = Opening(first.at[first.down], "L")
        else:
            tip = Point(left - tees[0].part.box.w // 2, low)
            ends[first.down] = Opening(tip, "L")
            stubs[first.down] = (first.at[first.down], Point(x, low), tip)
    whole = joined([*pieces, *stands])
    shape = Shape(
        (*whole.parts, *(tee.part for tee in tees)), {**whole.routes, **routes}, whole.labels, whole.places, ends, stubs
    )
    return Block(tuple(p.tag for p in shape.parts), (shape,), tuple(ends))


def _least_height(network: Network, blocks: Sequence[Block], ladder: _Ladder, k: int) -> int:
    """How far apart the joints of a rung and of the next have to be for what stands in the risers between them."""
    tees = (network.parts[blocks[j].joint].kind.symbol.h for j in ladder.joints[k])
    standing = zip(ladder.risers[k], tees, strict=True)
    return max((riser.height + tee + 2 * GAP for riser, tee in standing if riser), default=0)


def _join(routes: dict[int, tuple[Point, ...]], end: End, at: Point, piece: Shape, between: tuple[Point, ...]) -> None:
    """The pipe from a joint to the rung's opening, with the way inside the rung."""
    way = piece.stubs.get(end.other, (piece.open[end.other].at,))
    routes[end.pipe] = directed(end, simplified((at, *between, *way[::-1])))
