"""Which of its shapes each block takes and on which level it stands: changed one at a time while fewer pipes cross.

No scene costs more than the start from which it was found.
"""

from collections import Counter
from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace

from schemagen.layout.block import Block
from schemagen.layout.gravity import Gravity
from schemagen.layout.levels import Link, levels
from schemagen.layout.order import Wish
from schemagen.layout.settle import RulesContradict
from schemagen.layout.trials import CROSSING, Scene, Trial, Trials

TRIES, FEW, AFRESH = 12000, 4, 2
"""Nodes looked at in all trials together, at most, if nothing else is said; for how many blocks one trial is too few to
begin; for how many trials one counts whose order is looked for from scratch."""

PHASES = (True, False), (False, False), (True, True), (False, True)
"""What is tried in turn as long as nothing before it saves anything: only blocks at crossings or all; from the order of
the best scene so far or from scratch."""

MOST_TURNED = 30
"""Up to how many blocks levels with one link turned are tried."""

STEPS = (-2, -1, 1, 2)
"""Levels by which a block is moved."""


def scenes(
    blocks: Sequence[Block],
    links: Sequence[Link],
    level: Sequence[int],
    ends: Mapping[int, tuple[int, int]],
    fixed: Mapping[int, str],
    wish: Wish,
    up: Gravity,
    alike: Sequence[tuple[int, int]],
    most: int = TRIES,
) -> list[Scene]:
    """The best scene found from the natural one, and the best from another start if that was looked for; best first.

    `fixed` blocks, which stand for ways out, keep their level. `alike` are pairs of a kind that stand in one level
    naturally; `most` nodes are looked at in all trials together.
    """
    trials = Trials(blocks, links, ends, fixed, wish, up, alike)
    first = trials.natural(level, max(1, min(8, most // len(blocks))))
    tries = most // max(sum(map(len, first.order.levels)), 1)
    if tries * FEW < len(blocks):
        return [trials.drawn(first)]
    found = [_improved(trials, first, tries)]
    if found[0].lacking >= CROSSING and len(blocks) <= MOST_TURNED:
        turned = min(_turned(trials, found[0].cost), key=_cost, default=None)
        found += [_improved(trials, turned, tries)] if turned else []
    return [trials.drawn(trial) for trial in sorted(found, key=_cost)]


def _turned(trials: Trials, limit: float) -> Iterator[Trial]:
    """Trials that cost less than `limit` without crossings, each with the levels that follow if one link is laid
    from right to left."""
    seen = {trials.first.level}
    for n, k in enumerate(trials.links):
        links = [*trials.links[:n], replace(k, left=k.right, right=k.left), *trials.links[n + 1 :]]
        try:
            level = tuple(levels(links, len(trials.blocks), trials.fixed, trials.up.roofs, trials.up.before))
        except RulesContradict:
            continue
        if level not in seen:
            seen.add(level)
            made = trials.natural(level, 2, limit)
            if made:
                yield made


def _improved(trials: Trials, best: Trial, tries: int) -> Trial:
    """The best trial to which changes of one block each lead, as long as any saves something.

    Blocks with most crossings are changed first; where only blocks at crossings are, a change that costs more than
    all their crossings is not looked into.
    """
    seen = set()
    phase = 0
    while best.lacking >= CROSSING and phase < len(PHASES):
        near, afresh = PHASES[phase]
        start, at = best, _crossings_at(trials, best)
        for n in sorted(at if near else range(len(trials.blocks)), key=lambda n: (-at[n], n)):
            for level, shape in _moves(trials, best, n):
                before = None if afresh else best
                if (level, shape, before) in seen:
                    continue
                limit = min(best.cost, best.base + CROSSING * at[n]) if near else best.cost
                other = trials.made(level, shape, 1, limit, before)
                if other:
                    seen.add((level, shape, before))
                    tries -= AFRESH if afresh else 1
                    best = min(best, other, key=_cost)
                if tries <= 0:
                    return best
        phase = phase + 1 if best is start else 0
    return best


def _crossings_at(trials: Trials, trial: Trial) -> Counter[int]:
    """How many crossings the pipes at each block have."""
    at: Counter[int] = Counter()
    for pipe, times in trial.order.crossed().items():
        for n in set(trials.ends[pipe]):
            at[n] += times
    return at


def _moves(trials: Trials, at: Trial, n: int) -> Iterator[tuple[tuple[int, ...], tuple[int, ...]]]:
    """Levels and shapes with one block changed."""
    for m in range(len(trials.blocks[n].shapes)):
        if m != at.shape[n]:
            yield at.level, (*at.shape[:n], m, *at.shape[n + 1 :])
    if n in trials.fixed:
        return
    last = max(at.level)
    for step in STEPS:
        to = at.level[n] + step
        if (0 < to < last) if trials.fixed else (0 <= to <= last):
            yield (*at.level[:n], to, *at.level[n + 1 :]), at.shape


def _cost(trial: Trial) -> float:
    return trial.cost
