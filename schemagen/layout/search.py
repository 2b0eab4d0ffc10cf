"""Which of its shapes each block takes and on which level it stands: changed one at a time while fewer pipes cross."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass

from schemagen.layout.contract import Block
from schemagen.layout.gravity import Gravity
from schemagen.layout.levels import Link
from schemagen.layout.order import Wish, crossed, ordered
from schemagen.layout.paths import Ladder, chosen, ladder, sides_wanted, spread
from schemagen.layout.shapes import Shape

CROSSING, BACK, AWAY, PASS = 8, 5, 1, 0.5
"""What a crossing costs, a pipe that turns back in a channel, a choice other than the natural one, a level passed."""

HINT = 1000
"""What it costs to leave a part right of another that the list wants it left of."""

TRIES = 3000
"""Nodes looked at in all trials together, at most."""


@dataclass(frozen=True)
class Scene:
    """One way to draw: levels, the number of each block's shape, and the ladder in order that follows."""

    level: tuple[int, ...]
    shape: tuple[int, ...]
    ladder: Ladder
    cost: float

    def shapes(self, blocks: Sequence[Block]) -> list[Shape | None]:
        return [b.shapes[n] if b.shapes else None for b, n in zip(blocks, self.shape, strict=True)]


def scene(
    blocks: Sequence[Block],
    links: Sequence[Link],
    level: Sequence[int],
    ends: Mapping[int, tuple[int, int]],
    fixed: Mapping[int, str],
    wish: Wish,
    up: Gravity,
) -> Scene:
    """The best scene found from the natural one. `fixed` blocks keep their level."""
    maker = _Maker(blocks, links, ends, wish, up)
    shape = tuple(
        chosen(b.shapes, sides_wanted(n, links, level)) if b.shapes else 0 for n, b in enumerate(blocks)
    )
    best = maker.made(tuple(level), shape, max(1, min(8, TRIES // len(blocks))))
    tries = TRIES // max(len(best.ladder.nodes), 1)
    if tries < len(blocks):
        return best
    near = True
    while best.cost >= CROSSING:
        before = best.cost
        pipes = crossed(best.ladder, best.shapes(blocks))
        for n in sorted({n for pipe in pipes for n in ends[pipe]}) if near else range(len(blocks)):
            for level_, shape_ in maker.moves(best, n, fixed):
                if tries <= 0:
                    return maker.polished(best)
                tries -= 1
                other = maker.made(level_, shape_, 1, best)
                if other.cost < best.cost:
                    best = other
        if best.cost >= before and not near:
            break
        near = best.cost < before
    return maker.polished(best)


class _Maker:
    def __init__(self, blocks, links: Sequence[Link], ends, wish: Wish, up: Gravity) -> None:
        self.blocks, self.links, self.ends, self.wish, self.up = blocks, links, ends, wish, up
        self.first: Scene | None = None
        self.at: list[list[Link]] = [[] for _ in blocks]
        for k in links:
            self.at[k.left].append(k)
            self.at[k.right].append(k)

    def made(self, level: tuple[int, ...], shape: tuple[int, ...], rounds: int, like: Scene | None = None) -> Scene:
        shapes = [b.shapes[n] if b.shapes else None for b, n in zip(self.blocks, shape, strict=True)]
        own = spread(self.blocks, self.links, level)
        lad = ladder(self.blocks, shapes, self.links, own, self.ends, self.up)
        changed = [n for n, (a, b) in enumerate(zip(like.shape, shape, strict=True)) if a != b] if like else ()
        lad.levels, crossings = ordered(lad, shapes, rounds, self.wish, like and like.ladder, changed)
        back = sum(_turns_back(lad, way) for way in lad.ways)
        crossings += sum(s.crossings for s in shapes if s is not None)
        cost = CROSSING * crossings + BACK * back + PASS * len(lad.nodes)
        cost += HINT * sum(level[a] >= level[b] for a, b in self.up.before)
        if self.first:
            cost += AWAY * sum(a != b for a, b in zip(self.first.shape, shape, strict=True))
            cost += AWAY * sum(a != b for a, b in zip(self.first.level, level, strict=True))
        out = Scene(level, shape, lad, cost)
        self.first = self.first or out
        return out

    def polished(self, best: Scene) -> Scene:
        return min(best, self.made(best.level, best.shape, 8, best), key=lambda s: s.cost)

    def moves(self, at: Scene, n: int, fixed: Mapping[int, str]):
        for m in range(len(self.blocks[n].shapes)):
            if m != at.shape[n]:
                yield at.level, (*at.shape[:n], m, *at.shape[n + 1 :])
        if n in fixed:
            return
        low = max((at.level[k.left] + (not k.upright) for k in self.at[n] if k.right == n), default=at.level[n] - 1)
        high = min((at.level[k.right] - (not k.upright) for k in self.at[n] if k.left == n), default=at.level[n] + 1)
        for to in (at.level[n] - 1, at.level[n] + 1):
            if low <= to <= high and 0 <= to <= max(at.level):
                if fixed and not 0 < to < max(at.level):
                    continue
                yield (*at.level[:n], to, *at.level[n + 1 :]), at.shape


def _turns_back(lad: Ladder, way) -> int:
    """How often a pipe leaves its block towards the side that its far end is not on."""
    a, b = lad.nodes[way.nodes[0]].level, lad.nodes[way.nodes[-1]].level
    out = 0
    for n, (own, other) in enumerate(((a, b), (b, a))):
        out += way.leaves[n] == ("L" if other >= own else "R") if other != own else 0
    return out
