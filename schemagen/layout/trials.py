"""Trials of the layout: what a choice of levels and shapes costs, with an order of its levels in which little crosses.

Nothing here is left to chance: the same trials one after the other always cost the same and are drawn the same.
"""

import math
from collections import Counter
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from operator import ne
from typing import NamedTuple

from schemagen.layout.best_order import follow_order, search_order
from schemagen.layout.block import Block
from schemagen.layout.levels import Link
from schemagen.layout.order import Order, Wish
from schemagen.layout.paths import (
    Ladder,
    chosen,
    crossable,
    falling,
    ladder,
    leaving,
    passing,
    sides_wanted,
    spread,
    twists,
    warm_blocks,
)
from schemagen.layout.shapes import End, Shape
from schemagen.layout.strands import Strand, rank, strand

CROSSING, BACK, REVERSED, AWAY, PASS = 12, 5, 3, 3, 0.5
"""What a crossing costs, a pipe that turns back in a channel, a link drawn from right to left, a choice other than the
natural one, a level passed."""

APART, UNLIKE, LEANING, RISER = 24, 12, 8, 15
"""What it costs if two of a kind that naturally stand in one column do not, or have different shapes; if a pipe between
two tees that might stand upright does not; and what that costs more if the tees serve such a column."""

BESIDE, MAIN = 8, 3
"""What it costs if a main pipe of a place does not lead on to the right, and from which weight on a pipe is one."""

HINT = 1000
"""What it costs to leave a part right of another that the list wants it left of."""


@dataclass(frozen=True)
class Scene:
    """One way to draw: levels, the number of each block's shape, and the ladder in order that follows."""

    level: tuple[int, ...]
    shape: tuple[int, ...]
    ladder: Ladder

    def shapes(self, blocks: Sequence[Block]) -> list[Shape | None]:
        """The shape of each block; None for a lone tee."""
        return _shapes(blocks, self.shape)


class _Stance(NamedTuple):
    """Where all blocks stand: the level of each with those for columns of tees, the pipes that stand upright in these,
    and what that costs."""

    own: list[int]
    upright: set[int]
    cost: float


_Key = tuple[int, int, int, int, int, tuple[str, str] | None]
"""A pipe, the levels and the shapes of its blocks, and the sides by which it leaves them if others matter there."""


@dataclass(frozen=True, eq=False)
class Trial:
    """A scene looked into: its levels and shapes, where that makes its blocks stand, and the order found.

    `base` is what it costs without its crossings; `lacking` is what it costs besides what there is to draw.
    """

    level: tuple[int, ...]
    shape: tuple[int, ...]
    stance: _Stance
    order: Order
    base: float
    cost: float
    lacking: float


class Trials:
    """Makes trials of the same blocks. `mains` are the main pipes of places; `upright` counts the pipes that may stand
    upright between two tees, `risers` are those of them whose tees serve a column of a kind.

    Nodes of all its orders have the same numbers: blocks their own, and each pipe one for its line in each level. What
    follows from levels alone, or from where the two blocks of a pipe stand, is worked out once.
    """

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
        self.shelf = 2 * len(blocks) + 2
        """More levels than there can be: each pipe has as many numbers for its lines."""
        self.lines = {pipe: len(blocks) + n * self.shelf for n, pipe in enumerate(ends)}
        self.warm = dict(enumerate(warm_blocks(len(blocks), ends, up)))
        self.lift = dict(enumerate(up.lift))
        self.falls = falling(ends, up)
        meeting = Counter(v for pair in ends.values() for v in pair)
        full = {v for v, count in meeting.items() if count > 3 and blocks[v].joint}
        self.full = {pipe: pair for pipe, pair in ends.items() if not full.isdisjoint(pair)}
        """Pipes at tees where so many meet that the side by which one leaves may depend on the others."""
        pairs = [[crossable(shape, ends) for shape in block.shapes] for block in blocks]
        self.crossable = {n: of_shapes for n, of_shapes in enumerate(pairs) if any(of_shapes)}
        inner = [[shape.crossings for shape in block.shapes] for block in blocks]
        self.inner = {n: of_shapes for n, of_shapes in enumerate(inner) if any(of_shapes)}
        self.stances: dict[tuple[int, ...], _Stance] = {}
        self.strands: dict[_Key, Strand] = {}
        self.first: Trial | None = None

    def natural(self, level: Sequence[int], rounds: int, limit: float = math.inf) -> Trial | None:
        """The trial with each block in the shape whose openings look best to where its pipes lead."""
        wanted = (sides_wanted(n, self.at[n], level) for n in range(len(self.blocks)))
        shape = tuple(chosen(b.shapes, w) if b.shapes else 0 for b, w in zip(self.blocks, wanted, strict=True))
        return self.made(tuple(level), shape, rounds, limit)

    def made(
        self,
        level: tuple[int, ...],
        shape: tuple[int, ...],
        rounds: int,
        limit: float = math.inf,
        before: Trial | None = None,
    ) -> Trial | None:
        """The trial with these levels and shapes; None if it costs `limit` or more even without a crossing.

        Its order is looked for near that of the trial before, if there is one, else from so many starts.
        """
        stance = self.stances.get(level) or self._stance(level)
        strands = self._strands(stance, shape)
        base = stance.cost + BACK * sum(way.turns_back for way in strands.values())
        base += UNLIKE * sum(shape[a] != shape[b] for a, b in self.alike)
        base += CROSSING * sum(of_shapes[shape[n]] for n, of_shapes in self.inner.items())
        base += CROSSING * sum(twists(of_shapes[shape[n]], strands) for n, of_shapes in self.crossable.items())
        if self.first:
            base += AWAY * sum(map(ne, self.first.shape, shape))
            base += AWAY * sum(map(ne, self.first.level, level))
        drawn = PASS * (len(level) + sum(len(way.lines) for way in strands.values()))
        if base + drawn >= limit:
            return None
        order = self._order(stance, strands)
        if before:
            follow_order(order, before.order, self._places(before, level, stance.own))
        else:
            search_order(order, rounds)
        lacking = base + CROSSING * order.least
        made = Trial(level, shape, stance, order, base + drawn, lacking + drawn, lacking)
        self.first = self.first or made
        return made

    def drawn(self, trial: Trial) -> Scene:
        """The scene of a trial, with its ladder."""
        shapes = _shapes(self.blocks, trial.shape)
        lad = ladder(self.blocks, shapes, trial.stance.upright, trial.stance.own, self.ends, self.up)
        number = {v: v for v in range(len(self.blocks))}
        for way in lad.ways:
            for v in way.nodes[1:-1]:
                number[self.lines[way.pipe] + lad.nodes[v].level] = v
        lad.levels = [[number[v] for v in row] for row in trial.order.levels]
        return Scene(trial.level, trial.shape, lad)

    def _stance(self, level: tuple[int, ...]) -> _Stance:
        own, upright = spread(self.blocks, self.links, level)
        cost = REVERSED * sum(level[k.left] > level[k.right] for k in self.links)
        cost += BESIDE * sum(level[k.left] >= level[k.right] for k in self.mains)
        cost += APART * sum(level[a] != level[b] for a, b in self.alike)
        cost += LEANING * (self.upright - len(upright))
        cost += RISER * (len(self.risers) - len(self.risers & upright))
        cost += HINT * sum(level[a] >= level[b] for a, b in self.up.before)
        self.stances[level] = stance = _Stance(own, upright, cost)
        return stance

    def _strands(self, stance: _Stance, shape: tuple[int, ...]) -> dict[int, Strand]:
        """The way of each pipe that does not stand upright; made once for where its two blocks stand, their shapes and
        the sides by which it leaves them."""
        own, upright = stance.own, stance.upright
        full = leaving(self.blocks, _shapes(self.blocks, shape), upright, own, self.full) if self.full else {}
        out = {}
        for pipe, (a, b) in self.ends.items():
            if pipe not in upright:
                key = pipe, own[a], own[b], shape[a], shape[b], full.get(pipe)
                out[pipe] = self.strands.get(key) or self._strand(key)
        return out

    def _strand(self, key: _Key) -> Strand:
        pipe, at_a, at_b, shape_a, shape_b, leaves = key
        a, b = self.ends[pipe]
        shapes = {v: _shape(self.blocks[v], n) for v, n in ((a, shape_a), (b, shape_b))}
        leaves = leaves or leaving(self.blocks, shapes, (), {a: at_a, b: at_b}, {pipe: (a, b)})[pipe]
        passed, channels = passing(at_a, at_b, leaves)
        lines = [self.lines[pipe] + n for n in passed]
        self.warm |= dict.fromkeys(lines, self.up.warm[pipe])
        self.lift |= dict.fromkeys(lines, self.up.pipe_lift[pipe])
        ranks = rank(shapes[a], End(pipe, 0), leaves[0]), rank(shapes[b], End(pipe, 1), leaves[1])
        way = strand(pipe, [a, *lines, b], [at_a, *passed, at_b], channels, leaves, ranks)
        self.strands[key] = way
        return way

    def _order(self, stance: _Stance, strands: Mapping[int, Strand]) -> Order:
        own = stance.own
        rows: list[list[int]] = [[] for _ in range(max(own) + 1)]
        for v, n in enumerate(own):
            rows[n].append(v)
        for way in strands.values():
            for n, v in way.lines:
                rows[n].append(v)
        falls = {(a, b) for a, b in self.falls if own[a] == own[b]}
        uprights = [(pipe, *self.ends[pipe]) for pipe in self.ends if pipe in stance.upright]
        return Order(rows, list(strands.values()), uprights, falls, self.warm, self.lift, self.wish)

    def _places(self, before: Trial, level: Sequence[int], own: Sequence[int]) -> dict[int, int]:
        """The places in the trial before of all that stands in the same level now, whatever its number is."""
        pos, then = before.order.pos, before.stance.own
        now = {then[v]: n for v, n in enumerate(own) if level[v] == before.level[v]}
        out = {v: pos[v] for v, n in enumerate(own) if now.get(then[v]) == n}
        for way in before.order.strands:
            for n, v in way.lines:
                out[v + now.get(n, n) - n] = pos[v]
        return out


def _shape(block: Block, n: int) -> Shape | None:
    return block.shapes[n] if block.shapes else None


def _shapes(blocks: Sequence[Block], shape: Sequence[int]) -> list[Shape | None]:
    return list(map(_shape, blocks, shape))
