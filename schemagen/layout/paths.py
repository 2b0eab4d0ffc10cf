"""The way of each link through the levels: its lines across levels, its corners at openings above and below."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass, field
from typing import Protocol

from schemagen.layout.block import Block
from schemagen.layout.gravity import Gravity
from schemagen.layout.levels import Link
from schemagen.layout.shapes import End, Shape


@dataclass
class Node:
    """Something that has a place in the order of its level: a block, a line that passes, or a corner of a pipe.

    `warm` is 1 if only flow pipes meet in it, -1 if only returns, else 0; `lift` says how high it belongs.
    """

    level: int
    block: int = -1
    pipe: int = -1
    owner: int = -1
    top: bool = False
    warm: int = 0
    lift: int = 0

    @property
    def is_block(self) -> bool:
        return self.block >= 0

    @property
    def is_corner(self) -> bool:
        return self.owner >= 0


@dataclass
class Way:
    """A link on its way from its first end to its second: nodes, and the channel between each two.

    `channels[i]` is the gap right of that level number between node i and node i + 1; None where the link stands
    upright within one level. `leaves` has the side by which it leaves each of its two blocks.
    """

    pipe: int
    nodes: list[int]
    channels: list[int | None]
    leaves: Sequence[str]


class Leaving(Protocol):
    """A pipe with the sides by which it leaves the levels of its two blocks."""

    leaves: Sequence[str]


@dataclass
class Ladder:
    """All levels with their nodes in order, and all ways. `falls` are nodes of one level from the one of which a pipe
    falls to the other."""

    nodes: list[Node]
    levels: list[list[int]]
    ways: list[Way]
    falls: frozenset[tuple[int, int]]
    uprights: list[tuple[int, int, int]] = field(default_factory=list)


def sides_wanted(block: int, links: Sequence[Link], level: Sequence[int]) -> dict[int, str]:
    """For each of a block's links: R or L, to the higher or lower level it leads to, or = within one level."""
    out = {}
    for k in links:
        other = k.right if k.left == block else k.left
        out[k.pipe] = "R" if level[other] > level[block] else "L" if level[other] < level[block] else "="
    return out


_COST = {
    "R": {"R": 0, "T": 3, "B": 3, "L": 8},
    "L": {"L": 0, "T": 3, "B": 3, "R": 8},
    "=": {"T": 1, "B": 1, "L": 3, "R": 3},
}


def chosen(shapes: Sequence[Shape], wanted: Mapping[int, str]) -> int:
    """The shape whose openings look best to where their pipes lead; the plainest of equals."""

    def cost(n: int) -> tuple[int, int]:
        c = sum(_COST[wanted[e.pipe]][o.side] for e, o in shapes[n].open.items() if e.pipe in wanted)
        return c * 2 + n, n

    return min(range(len(shapes)), key=cost)


def spread(blocks: Sequence[Block], links: Sequence[Link], level: Sequence[int]) -> tuple[list[int], set[int]]:
    """Levels such that each column of tees has one of its own, right of what shared its level; the pipes that stand
    upright in these columns."""
    beside: dict[int, list[int]] = {}
    upright = _uprights(blocks, links, level)
    for k in links:
        if k.pipe in upright:
            beside.setdefault(k.left, []).append(k.right)
            beside.setdefault(k.right, []).append(k.left)
    column: dict[int, int] = {}
    shares: dict[int, int] = {}
    for v in sorted(beside):
        if v in column:
            continue
        shares[level[v]] = shares.get(level[v], 0) + 1
        stack = [v]
        while stack:
            w = stack.pop()
            if w not in column:
                column[w] = shares[level[v]]
                stack += beside[w]
    alone = {level[v] for v in range(len(blocks)) if v not in column}
    first, at = {}, 0
    for n in range(max(level) + 1):
        first[n] = at if n in alone else at - 1
        at = first[n] + shares.get(n, 0) + 1
    return [first[n] + column.get(v, 0) for v, n in enumerate(level)], upright


def ladder(
    blocks: Sequence[Block],
    shapes: Sequence[Shape | None],
    upright: Collection[int],
    level: Sequence[int],
    ends: Mapping[int, tuple[int, int]],
    up: Gravity,
) -> Ladder:
    """Levels with blocks and lines in canonical order. `ends` has the blocks at the start and end of every pipe.

    Pipes `upright` join tees of one level in which nothing else stands.
    After: every way runs from a block to a block, one node per level that it passes.
    """  # fmt: skip
    count = max(level) + 1
    warm = warm_blocks(len(blocks), ends, up)
    nodes = [Node(level[b], block=b, warm=warm[b], lift=up.lift[b]) for b in range(len(blocks))]
    rows: list[list[int]] = [[] for _ in range(count)]
    for b in range(len(blocks)):
        rows[level[b]].append(b)
    falls = frozenset((a, b) for a, b in falling(ends, up) if level[a] == level[b])
    out = Ladder(nodes, rows, [], falls)
    out.uprights += [(pipe, *ends[pipe]) for pipe in ends if pipe in upright]
    for pipe, leaves in leaving(blocks, shapes, upright, level, ends).items():
        out.ways.append(_way(out, pipe, ends[pipe], leaves, up))
    return out


def warm_blocks(count: int, ends: Mapping[int, tuple[int, int]], up: Gravity) -> list[int]:
    """For each block 1 if only flow pipes meet in it, -1 if only returns, else 0."""
    meet: list[set[int]] = [set() for _ in range(count)]
    for pipe, pair in ends.items():
        for b in pair:
            meet[b].add(up.warm[pipe])
    return [min(m) if len(m) == 1 else 0 for m in meet]


def falling(ends: Mapping[int, tuple[int, int]], up: Gravity) -> list[tuple[int, int]]:
    """Pairs of blocks from the one of which a pipe falls to the other."""
    falls = ((fall.upper.end, ends[fall.upper.pipe]) for fall in up.falls)
    return [(pair[n], pair[1 - n]) for n, pair in falls]


def leaving(
    blocks: Sequence[Block],
    shapes: Sequence[Shape | None] | Mapping[int, Shape | None],
    upright: Collection[int],
    level: Sequence[int] | Mapping[int, int],
    ends: Mapping[int, tuple[int, int]],
) -> dict[int, tuple[str, str]]:
    """The sides by which each pipe that does not stand upright leaves the levels of its two blocks for the channels."""
    out = {}
    used: dict[tuple[int, str], int] = {}
    for pipe, pair in ends.items():
        if pipe not in upright:
            first, last = (_leave(n, pair, pipe, shapes, level, used if blocks[pair[n]].joint else {}) for n in (0, 1))
            for b, side in zip(pair, (first, last), strict=True):
                used[b, side] = used.get((b, side), 0) + 1
            out[pipe] = first, last
    return out


def _uprights(blocks: Sequence[Block], links: Sequence[Link], level: Sequence[int]) -> set[int]:
    """Pipes between lone tees of one level that can stand upright: at most two at each tee, and no ring."""
    arms: dict[int, dict[str, int]] = {}
    for k in links:
        for a, b in ((k.left, k.right), (k.right, k.left)):
            if blocks[a].joint:
                way = "R" if level[b] > level[a] else "L" if level[b] < level[a] else "="
                arms.setdefault(a, {}).setdefault(way, 0)
                arms[a][way] += 1
    chain: dict[int, int] = {}

    def root(v: int) -> int:
        while chain.get(v, v) != v:
            v = chain[v]
        return v

    up: dict[int, int] = {}
    out = set()
    for k in links:
        if not k.upright or level[k.left] != level[k.right] or root(k.left) == root(k.right):
            continue
        if all(_has_room(arms[v], up.get(v, 0) + 1) for v in (k.left, k.right)):
            out.add(k.pipe)
            chain[root(k.left)] = root(k.right)
            for v in (k.left, k.right):
                up[v] = up.get(v, 0) + 1
    return out


def _has_room(arms: Mapping[str, int], upright: int) -> bool:
    """True if a tee with these arms can give up `upright` of its top and bottom to pipes within its level."""
    spill = max(0, arms.get("L", 0) - 1) + max(0, arms.get("R", 0) - 1) + arms.get("=", 0) - upright
    return upright <= 2 and upright + spill <= 2


def _leave(n: int, pair: tuple[int, int], pipe: int, shapes, level, used) -> str:
    """L or R: the side of its level by which a pipe leaves its block for the channels."""
    own, other = pair[n], pair[1 - n]
    shape = shapes[own]
    if shape is not None:
        side = shape.open[End(pipe, n)].side
        if side in "LR":
            return side
    want = "R" if level[other] >= level[own] else "L"
    if shape is None and used.get((own, want), 0) >= 3:
        return "L" if want == "R" else "R"
    return want


def _way(out: Ladder, pipe: int, pair: tuple[int, int], leaves: tuple[str, str], up: Gravity) -> Way:
    passed, channels = passing(out.nodes[pair[0]].level, out.nodes[pair[1]].level, leaves)
    nodes = [pair[0]]
    for lv in passed:
        out.nodes.append(Node(lv, pipe=pipe, warm=up.warm[pipe], lift=up.pipe_lift[pipe]))
        out.levels[lv].append(len(out.nodes) - 1)
        nodes.append(len(out.nodes) - 1)
    nodes.append(pair[1])
    return Way(pipe, nodes, channels, leaves)


def passing(first: int, last: int, leaves: tuple[str, str]) -> tuple[range, list[int]]:
    """The levels that a pipe passes on its way from the first level to the last, and the channels it runs through."""
    a, b = (at if side == "R" else at - 1 for at, side in zip((first, last), leaves, strict=True))
    if b >= a:
        return range(a + 1, b + 1), list(range(a, b + 1))
    return range(a, b, -1), list(range(a, b - 1, -1))


def crossable(shape: Shape, pipes: Collection[int]) -> list[tuple[End, End]]:
    """Openings of pipes above or below a shape, by twos of one side: the left one first."""
    opened = [(end, o) for end, o in shape.open.items() if o.side in "TB" and end.pipe in pipes]
    return [(a, b) for a, o in opened for b, p in opened if o.side == p.side and o.at.x < p.at.x]


def twists(pairs: Sequence[tuple[End, End]], ways: Mapping[int, Leaving]) -> int:
    """Crossings right above or below a block: of two pipes by one side the left one goes right, the right one left."""
    return sum(ways[a.pipe].leaves[a.end] == "R" and ways[b.pipe].leaves[b.end] == "L" for a, b in pairs)
