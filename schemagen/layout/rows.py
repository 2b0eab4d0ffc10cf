"""Heights: every pipe that can be straight is, the most important first; then all stands as close as it may."""

from collections.abc import Mapping, Sequence

from schemagen.base.geometry import Box
from schemagen.layout.align import Aligner
from schemagen.layout.gravity import Gravity, downwards
from schemagen.layout.paths import Ladder
from schemagen.layout.settle import Pull, Rule, agreeing
from schemagen.layout.shapes import End, Shape

LINE_TO_LINE = 20
LINE_TO_BLOCK = 20
BLOCK_TO_BLOCK = 20
CORNER = 10


def heights(ladder: Ladder, shapes: Sequence[Shape], weight: Mapping[int, int], up: Gravity) -> list[int]:
    """The height of each node: of a block's own origin, or of a line.

    After: nodes of one level stand clear; what falls does so, and what belongs above other things is there, unless the
    order of the levels contradicts it.
    """
    boxes = [shapes[n.block].bounds() if n.is_block else Box(0, 0, 0, 0) for n in ladder.nodes]
    rules = []
    for row in ladder.levels:
        for a, b in zip(row, row[1:], strict=False):
            rules.append(Rule(a, b, boxes[a].bottom - boxes[b].y + _gap(ladder, a, b)))
    rules = agreeing(len(ladder.nodes), rules, [*_falls(ladder, shapes, up), *_stood_over(boxes, up)])
    pieces = list(_pieces(ladder, shapes, weight))
    ranks = _RANKS[: 3 if len(pieces) < MANY else 1]
    tried = (_aligned(len(ladder.nodes), rules, pieces, rank) for rank in ranks)
    aligner, failed = min(tried, key=lambda r: len(r[1]))
    pulls = [Pull(a, b, rest, 2) for a, b, rest in failed]
    for row in ladder.levels:
        for a, b in zip(row, row[1:], strict=False):
            tied = ladder.nodes[a].owner == b or ladder.nodes[b].owner == a
            pulls.append(Pull(a, b, 0, 2 if tied else 1))
    return aligner.settle(pulls)


def _falls(ladder: Ladder, shapes: Sequence[Shape], up: Gravity) -> list[list[Rule]]:
    """For each pipe that falls: none of its steps rises."""
    first = {fall.upper.pipe: fall.upper.end for fall in up.falls}
    out = []
    for way in ladder.ways:
        if way.pipe in first:
            marks = [(v, _offset(ladder, shapes, way, i, v)) for i, v in enumerate(way.nodes)]
            out.append(downwards(marks[:: -1 if first[way.pipe] else 1]))
    return out


def _stood_over(boxes: Sequence[Box], up: Gravity) -> list[list[Rule]]:
    return [[Rule(a, b, boxes[a].bottom - boxes[b].y + BLOCK_TO_BLOCK)] for a, b in up.over]


MANY = 400
"""From so many steps on only one order of wishes is tried."""

_RANKS = (
    lambda weight, lines: 10 * weight + 100 * (lines == 2) + 2 * (lines == 0),
    lambda weight, lines: weight + 100 * (lines == 2) + 10 * (lines == 0),
    lambda weight, lines: weight + 10 * (lines == 0),
)
"""What makes a step more important: the weight of its pipe, and how many of its two nodes are lines that pass."""


def _aligned(count: int, rules: list[Rule], pieces, rank):
    """The steps made level one by one, the most important first, and those that cannot be."""
    aligner, failed = Aligner(count, rules), []
    for _, _, a, b, rest in sorted(pieces, key=lambda p: -rank(p[0], p[1])):
        if not aligner.join(a, b, rest):
            failed.append((a, b, rest))
    return aligner, failed


def _gap(ladder: Ladder, a: int, b: int) -> int:
    m, n = ladder.nodes[a], ladder.nodes[b]
    if m.owner == b or n.owner == a:
        return CORNER
    if m.is_block and n.is_block:
        return BLOCK_TO_BLOCK
    return LINE_TO_BLOCK if m.is_block or n.is_block else LINE_TO_LINE


def _pieces(ladder: Ladder, shapes: Sequence[Shape], weight: Mapping[int, int]):
    """(weight, lines, node, node, difference in height that makes it level) for each step of a way between levels."""
    for way in ladder.ways:
        for i, (a, b) in enumerate(zip(way.nodes, way.nodes[1:], strict=False)):
            if way.channels[i] is None or ladder.nodes[a].level == ladder.nodes[b].level:
                continue
            lines = (not ladder.nodes[a].is_block) + (not ladder.nodes[b].is_block)
            ya, yb = _offset(ladder, shapes, way, i, a), _offset(ladder, shapes, way, i + 1, b)
            yield weight.get(way.pipe, 2), lines, a, b, ya - yb


def _offset(ladder: Ladder, shapes: Sequence[Shape], way, i: int, node: int) -> int:
    n = ladder.nodes[node]
    if not n.is_block:
        return 0
    return shapes[n.block].open[End(way.pipe, 0 if i == 0 else 1)].at.y
