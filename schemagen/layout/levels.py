"""Which piece stands left of which: every piece gets a level, counted from the heat source and the cold main."""

from collections.abc import Collection, Mapping, Sequence
from dataclasses import dataclass

from schemagen.layout.settle import Pull, Rule, agreeing, pushed, settled

BACKWARD = frozenset(
    ("primary-return", "heating-return", "solar-return", "brine-return", "pool-return", "circulation")
)  # fmt: skip
"""Sections whose water runs back to where heat comes from: their pipes are laid from right to left."""

WEIGHT = {"primary-flow": 4, "primary-return": 4, "heating-flow": 3, "heating-return": 3, "filling": 1, "discharge": 2}


def warmth(section: str) -> int:
    """1 for a flow, which is drawn above its return; -1 for a return; 0 for all else."""
    return 1 if section.endswith("-flow") else -1 if section.endswith("-return") else 0


@dataclass(frozen=True)
class Link:
    """A pipe between two blocks, from left to right: block numbers, whether it may stand upright, and its weight."""

    pipe: int
    left: int
    right: int
    upright: bool
    weight: int


def oriented(pairs: Sequence[tuple[int, int, int, bool]], section: Sequence[str], count: int) -> list[Link]:
    """Links from (pipe, block at its start, block at its end, both lone tees), with cycles broken.

    After: the links, each from left to right, hold no cycle.
    """
    links = []
    for pipe, a, b, upright in pairs:
        if a == b:
            continue
        if section[pipe] in BACKWARD:
            a, b = b, a
        links.append(Link(pipe, a, b, upright, WEIGHT.get(section[pipe], 2)))
    return _acyclic(links, count)


def _acyclic(links: list[Link], count: int) -> list[Link]:
    out: list[list[int]] = [[] for _ in range(count)]
    entered = [0] * count
    for n, link in enumerate(links):
        out[link.left].append(n)
        entered[link.right] += 1
    state = [0] * count
    turned = set()
    for root in sorted(range(count), key=lambda v: (entered[v] > 0, v)):
        if state[root]:
            continue
        state[root] = 1
        stack = [(root, iter(out[root]))]
        while stack:
            v, rest = stack[-1]
            for n in rest:
                w = links[n].right
                if state[w] == 1:
                    turned.add(n)
                elif not state[w]:
                    state[w] = 1
                    stack.append((w, iter(out[w])))
                    break
            else:
                state[v] = 2
                stack.pop()
    return [Link(k.pipe, k.right, k.left, k.upright, k.weight) if n in turned else k for n, k in enumerate(links)]


def levels(
    links: Sequence[Link], count: int, exits: Mapping[int, str], leftmost: Collection[int] = (),
    before: Sequence[tuple[int, int]] = (),
) -> list[int]:  # fmt: skip
    """The level of each block, from 0. Tees in a row may share one; all other links span at least one.

    `exits` are blocks that stand for ways out of the place: "L" ones share the first level, "R" ones the last.
    `leftmost` are blocks to be left of all others, if no link leads to them; of the pairs `before` the first is to be
    left of the second, as far as the links and each other allow.
    """
    first, last = count, count + 1
    leftmost = set(leftmost) - {k.right for k in links} - set(exits)
    rules = [Rule(k.left, k.right, 0 if k.upright else 1) for k in links]
    rules = [r for r in rules if r.a not in exits and r.b not in exits]
    for v in range(count):
        if v not in exits:
            rules += [Rule(first, v, 1), Rule(v, last, 1)]
        if v not in exits and v not in leftmost:
            rules += [Rule(u, v, 1) for u in leftmost]
    rules += [Rule(first, last, 1)]
    rules = agreeing(count + 2, rules, [[Rule(a, b, 1)] for a, b in before])
    pulls = [
        Pull(k.left, k.right, 0 if k.upright else 1, k.weight)
        for k in links
        if k.left not in exits and k.right not in exits
    ]
    for k in links:
        for end, other in ((k.left, k.right), (k.right, k.left)):
            if end in exits and other not in exits:
                pulls.append(Pull(first, other, 1, 1) if exits[end] == "L" else Pull(other, last, 1, 1))
    start = pushed(count + 2, rules)
    at = settled(start, rules, pulls)
    low = at[first]
    return [
        at[first] - low if exits.get(v) == "L" else at[last] - low if exits.get(v) == "R" else at[v] - low
        for v in range(count)
    ]


SHEET = 1.4
"""Width to height of the room on a sheet."""

AIR, ROUNDS = 20, 4
"""Units between blocks; how often all blocks are tried elsewhere."""


def fitted(
    level: Sequence[int], links: Sequence[Link], sizes: Mapping[int, tuple[int, int]], stretch: int
) -> list[int]:
    """Levels for which a smaller sheet is needed: blocks go where a level is wide already, or not yet high.

    `sizes` has the width and height of each block that may move; links keep their directions. `stretch` is what a level
    more costs a pipe of weight 1, in units of the sheet's width.
    """
    at = list(level)
    beside: list[list[Link]] = [[] for _ in at]
    for k in links:
        beside[k.left].append(k)
        beside[k.right].append(k)
    least = _needed(at, sizes, links, stretch)
    for _ in range(ROUNDS):
        before = least
        for v in sorted(sizes, key=lambda v: (-sizes[v][0], v)):
            low = max((at[k.left] + 1 for k in beside[v] if k.right == v), default=min(at))
            high = min((at[k.right] - 1 for k in beside[v] if k.left == v), default=max(at))
            for to in range(low, high + 1):
                own, at[v] = at[v], to
                needed = _needed(at, sizes, links, stretch)
                if needed < least:
                    least = needed
                else:
                    at[v] = own
        if least == before:
            break
    return at


def _needed(at: Sequence[int], sizes: Mapping[int, tuple[int, int]], links: Sequence[Link], stretch: int) -> float:
    """How wide a sheet the levels need, and a bit for how far apart what is joined stands."""
    wide, high = {}, {}
    for v, (w, h) in sizes.items():
        wide[at[v]] = max(w, wide.get(at[v], 0))
        high[at[v]] = high.get(at[v], 0) + h + AIR
    across = sum(wide.values()) + AIR * len(wide)
    return max(across, SHEET * max(high.values(), default=0)) + stretch * sum(
        k.weight * (at[k.right] - at[k.left]) for k in links
    )
