"""Which of its shapes each block takes and on which level it stands: changed one at a time while fewer pipes cross."""

import math
from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import dataclass, replace

from schemagen.layout.contract import Block
from schemagen.layout.gravity import Gravity
from schemagen.layout.levels import Link, levels
from schemagen.layout.order import Wish, crossed, ordered
from schemagen.layout.paths import Ladder, chosen, ladder, sides_wanted, spread, twists
from schemagen.layout.settle import RulesContradict
from schemagen.layout.shapes import Shape

CROSSING, BACK, REVERSED, AWAY, PASS = 8, 5, 3, 1, 0.5
"""What a crossing costs, a pipe that turns back in a channel, a link drawn from right to left, a choice other than the
natural one, a level passed."""

APART, UNLIKE, LEANING, RISER = 16, 12, 8, 10
"""What it costs if two of a kind that naturally stand in one column do not, or have different shapes; if a pipe between
two tees that might stand upright does not; and what that costs more if the tees serve such a column."""

BESIDE, MAIN = 8, 3
"""What it costs if a main pipe of a place does not lead on to the right, and from which weight on a pipe is one."""

HINT = 1000
"""What it costs to leave a part right of another that the list wants it left of."""

TRIES, FEW = 6000, 4
"""Nodes looked at in all trials together, at most; for how many blocks one trial is too few to begin."""

MOST_TURNED, AGAIN = 30, 0.6
"""Up to how many blocks levels with one link turned are tried, and what share of the trials the best of them gets."""

STEPS = (-2, -1, 1, 2)
"""Levels by which a block is moved."""


@dataclass(frozen=True)
class Scene:
    """One way to draw: levels, the number of each block's shape, and the ladder in order that follows.

    `base` is what it costs without its crossings.
    """

    level: tuple[int, ...]
    shape: tuple[int, ...]
    ladder: Ladder
    base: float
    cost: float

    @property
    def lacking(self) -> float:
        """What it costs besides what there is to draw."""
        return self.cost - PASS * len(self.ladder.nodes)

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
    alike: Sequence[tuple[int, int]],
) -> Scene:
    """The best scene found from the natural one. `fixed` blocks, which stand for ways out, keep their level.

    `alike` are pairs of a kind that stand in one level naturally.
    """
    maker = _Maker(blocks, links, ends, fixed, wish, up, alike)
    first = maker.natural(level, max(1, min(8, TRIES // len(blocks))))
    tries = TRIES // max(len(first.ladder.nodes), 1)
    if tries * FEW < len(blocks):
        return first
    best = maker.improved(first, tries)
    if best.lacking >= CROSSING and len(blocks) <= MOST_TURNED:
        turned = min(maker.turned(best.cost), key=lambda s: s.cost, default=best)
        best = min(best, maker.improved(turned, int(tries * AGAIN)), key=lambda s: s.cost)
    return maker.polished(best)


class _Maker:
    """Makes scenes of the same blocks. `mains` are the main pipes of places; `upright` counts the pipes that may stand
    upright between two tees, `risers` are those of them whose tees serve a column of a kind."""

    def __init__(self, blocks, links: Sequence[Link], ends, fixed: Mapping[int, str], wish: Wish, up, alike) -> None:
        self.blocks, self.links, self.ends, self.wish, self.up = blocks, links, ends, wish, up
        self.fixed, self.alike = fixed, alike
        self.at: list[list[Link]] = [[] for _ in blocks]
        for k in links:
            self.at[k.left].append(k)
            self.at[k.right].append(k)
        rooms = {n for n, b in enumerate(blocks) if b.shapes and b.shapes[0].places}
        self.mains = [k for k in links if k.weight >= MAIN and (k.left in rooms or k.right in rooms)]
        self.upright = sum(k.upright for k in links)
        served = {n for pair in alike for n in pair}
        beside = {n for k in links for n, other in ((k.left, k.right), (k.right, k.left)) if other in served}
        self.risers = {k.pipe for k in links if k.upright and k.left in beside and k.right in beside}
        self.first: Scene | None = None

    def made(
        self, level: tuple[int, ...], shape: tuple[int, ...], rounds: int, limit: float = math.inf
    ) -> Scene | None:
        """The scene with these levels and shapes; None if it costs `limit` or more even without a crossing."""
        shapes = [b.shapes[n] if b.shapes else None for b, n in zip(self.blocks, shape, strict=True)]
        own, upright = spread(self.blocks, self.links, level)
        lad = ladder(self.blocks, shapes, upright, own, self.ends, self.up)
        base = PASS * len(lad.nodes) + BACK * sum(_turns_back(lad, way) for way in lad.ways)
        base += REVERSED * sum(level[k.left] > level[k.right] for k in self.links)
        base += BESIDE * sum(level[k.left] >= level[k.right] for k in self.mains)
        base += APART * sum(level[a] != level[b] for a, b in self.alike)
        base += UNLIKE * sum(shape[a] != shape[b] for a, b in self.alike)
        base += LEANING * (self.upright - len(lad.uprights))
        base += RISER * (len(self.risers) - sum(pipe in self.risers for pipe, _, _ in lad.uprights))
        base += HINT * sum(level[a] >= level[b] for a, b in self.up.before)
        base += CROSSING * (sum(s.crossings for s in shapes if s is not None) + twists(lad, shapes))
        if self.first:
            base += AWAY * sum(a != b for a, b in zip(self.first.shape, shape, strict=True))
            base += AWAY * sum(a != b for a, b in zip(self.first.level, level, strict=True))
        if base >= limit:
            return None
        lad.levels, crossings = ordered(lad, shapes, rounds, self.wish)
        made = Scene(level, shape, lad, base, base + CROSSING * crossings)
        self.first = self.first or made
        return made

    def natural(self, level: Sequence[int], rounds: int, limit: float = math.inf) -> Scene | None:
        """The scene with each block in the shape whose openings look best to where its pipes lead."""
        wanted = (sides_wanted(n, self.at[n], level) for n in range(len(self.blocks)))
        shape = tuple(chosen(b.shapes, w) if b.shapes else 0 for b, w in zip(self.blocks, wanted, strict=True))
        return self.made(tuple(level), shape, rounds, limit)

    def turned(self, limit: float) -> Iterator[Scene]:
        """Scenes that cost less than `limit` without crossings, each with the levels that follow if one link is laid
        from right to left."""
        seen = {self.first.level}
        for n, k in enumerate(self.links):
            links = [*self.links[:n], replace(k, left=k.right, right=k.left), *self.links[n + 1 :]]
            try:
                level = tuple(levels(links, len(self.blocks), self.fixed, self.up.roofs, self.up.before))
            except RulesContradict:
                continue
            if level not in seen:
                seen.add(level)
                made = self.natural(level, 1, limit)
                if made:
                    yield made

    def improved(self, best: Scene, tries: int) -> Scene:
        """The best scene to which changes of one block each lead, as long as any saves something.

        Blocks at crossings are changed first; a change that costs more than all their crossings is not looked into.
        """
        near = True
        while best.lacking >= CROSSING:
            before = best.cost
            at: Counter[int] = Counter()
            for pipe, times in crossed(best.ladder, best.shapes(self.blocks)).items():
                for n in set(self.ends[pipe]):
                    at[n] += times
            for n in sorted(at) if near else range(len(self.blocks)):
                for level, shape in self.moves(best, n):
                    limit = min(best.cost, best.base + CROSSING * at[n]) if near else best.cost
                    other = self.made(level, shape, 1, limit)
                    tries -= other is not None
                    if other and other.cost < best.cost:
                        best = other
                    if tries <= 0:
                        return best
            if best.cost >= before and not near:
                break
            near = best.cost < before
        return best

    def polished(self, best: Scene) -> Scene:
        """The scene with its pieces in an order looked for longer, if that saves anything."""
        return min(best, self.made(best.level, best.shape, 8), key=lambda s: s.cost)

    def moves(self, at: Scene, n: int) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
        """Levels and shapes with one block changed."""
        for m in range(len(self.blocks[n].shapes)):
            if m != at.shape[n]:
                yield at.level, (*at.shape[:n], m, *at.shape[n + 1 :])
        if n in self.fixed:
            return
        last = max(at.level)
        for step in STEPS:
            to = at.level[n] + step
            if (0 < to < last) if self.fixed else (0 <= to <= last):
                yield (*at.level[:n], to, *at.level[n + 1 :]), at.shape


def _turns_back(lad: Ladder, way) -> int:
    """How often a pipe leaves its block towards the side that its far end is not on."""
    a, b = lad.nodes[way.nodes[0]].level, lad.nodes[way.nodes[-1]].level
    out = 0
    for n, (own, other) in enumerate(((a, b), (b, a))):
        out += way.leaves[n] == ("L" if other >= own else "R") if other != own else 0
    return out
