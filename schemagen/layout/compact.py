"""Moves everything closer along one axis and keeps its order; steps that can be straight become so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from schemagen.base.geometry import Point, simplified
from schemagen.layout.align import Aligner
from schemagen.layout.draft import Along, Draft, Wire
from schemagen.layout.facing import ROW
from schemagen.layout.gravity import Gravity, downwards
from schemagen.layout.settle import Rule, RulesContradict

WALL = 10


@dataclass(frozen=True)
class Near:
    """What is kept as all moves closer together, if the shapes are those of one arrangement.

    `walls` are shapes at the far left "L" or right "R": those of one side keep one line, and all else stays between.
    `alike` are pairs to be put in one column if they can be. What falls or stands above by `up`, goes on to do so.
    """

    walls: Mapping[int, str]
    alike: Sequence[tuple[int, int]]
    up: Gravity


def compacted(draft: Draft, axis: str, near: Near, above: Sequence[Rule] = ()) -> Draft | None:
    """The draft closer together along "x" or "y", itself if nothing moves, or None if nothing can be said.

    What was clear stays clear; order along the axis is kept. `above` are further rules between shapes.
    """
    line = draft.along(axis)
    if axis == "x":
        return _closer(line, near.walls, near.alike, above, _apart(line, near.up.before))
    return _closer(line, {}, (), above, _falling(line, near.up))


def in_the_way(draft: Draft, axis: str) -> list[Rule]:
    """Of the shapes that make the whole as long as it is along an axis, pairs behind each other: as rules across it.

    By such a rule they stand beside each other. The least overlap comes first.
    """
    line = draft.along(axis)
    things, start = line.things, line.start
    back: dict[int, list[int]] = {}
    for (a, b), gap in line.rules().items():
        if start[b] - start[a] == gap:
            back.setdefault(b, []).append(a)
    for a, b, _ in line.ties:
        back.setdefault(a, []).append(b)
        back.setdefault(b, []).append(a)
    most = max(things.high)
    stack = [point for point, high in zip(things.point, things.high, strict=True) if high >= most - ROW]
    seen = set(stack)
    while stack:
        for a in back.get(stack.pop(), ()):
            if a not in seen:
                seen.add(a)
                stack.append(a)
    out = []
    for (a, b), (j, i) in line.facing.things.items():
        if a in seen and b in seen and max(a, b) < len(line.draft.measured.shapes) and a in back.get(b, ()):
            upper, lower = sorted((i, j), key=lambda t: things.near[t] + things.far[t])
            overlap = things.far[upper] - things.near[lower]
            out.append((overlap, Rule(things.point[upper], things.point[lower], overlap + WALL)))
    return [rule for _, rule in sorted(out)]


def _falling(line: Along, up: Gravity) -> list[Rule]:
    """Along the height: what falls now, or stands now above what it belongs above, as rules."""
    first = {fall.upper.pipe: fall.upper.end for fall in up.falls}
    out = []
    for wire, run in zip(line.draft.wires, line.runs, strict=True):
        if wire.pipe not in first:
            continue
        ends = [(wire.a, wire.points[0].y), *((p, 0) for p in run if p >= 0), (wire.b, wire.points[-1].y)]
        marks = ends[:: -1 if first[wire.pipe] else 1]
        heights = [line.start[p] + off for p, off in marks]
        if all(p <= q for p, q in pairwise(heights)):
            out += downwards(marks)
    return out + _apart(line, up.over)


def _apart(line: Along, pairs: Sequence[tuple[int, int]]) -> list[Rule]:
    """Of pairs of shapes those of which the first ends before the second now, as rules."""
    begin, end = line.draft.bounds(line.axis)
    return [Rule(a, b, end[a] + WALL - begin[b]) for a, b in pairs if end[a] + WALL <= begin[b]]


def _closer(line: Along, walls: Mapping[int, str], alike, above: Sequence[Rule], kept: Sequence[Rule]) -> Draft | None:
    start, rules = line.start, line.rules()
    for a, b, gap in above:
        rules.pop((b, a), None)
        rules[a, b] = max(gap, rules.get((a, b), gap))
    ties = [*line.ties, *_walled(line, walls, rules)]
    steps = []
    for a, b, weight in line.steps:
        if start[a] == start[b]:
            continue
        key = (a, b) if start[a] < start[b] else (b, a)
        steps.append((weight, key, rules.pop(key, None)))
    try:
        al = Aligner(len(start), [*((a, b, gap) for (a, b), gap in rules.items()), *kept], ties)
    except RulesContradict:
        return None
    for _, (a, b), gap in sorted(steps, key=lambda s: -s[0]):
        if al.join(a, b, 0):
            continue
        rule = Rule(a, b, gap if gap is not None else min(10, start[b] - start[a]))
        if not add_rule(al, rule):
            return None
    for a, b in alike:
        al.join(a, b, line.draft.heart(a) - line.draft.heart(b))
    return _moved(line, al.settle(line.pulls))


def _walled(line: Along, walls: Mapping[int, str], rules: dict[tuple[int, int], int]) -> list[tuple[int, int, int]]:
    """Adds the rules that keep all between the walls; the ties that keep those of each side in one line."""
    at = {n: line.draft.opening(n) for n in walls}
    for point, low, high in zip(line.things.point, line.things.low, line.things.high, strict=True) if walls else ():
        for n, side in walls.items():
            if point != n:
                own = line.start[point]
                key, gap = ((n, point), at[n] - low + own) if side == "L" else ((point, n), high - own - at[n])
                rules[key] = max(gap + WALL, rules.get(key, gap + WALL))
    sides = [[n for n, s in walls.items() if s == side] for side in "LR"]
    return [(same[0], n, at[same[0]] - at[n]) for same in sides for n in same[1:]]


def _moved(line: Along, at: Sequence[int]) -> Draft:
    """The draft with all points where they are to be, from 0 on."""
    draft, things = line.draft, line.things
    by = [p - s for p, s in zip(at, line.start, strict=True)]
    lowest = min(low + by[point] for low, point in zip(things.low, things.point, strict=True))
    by = [d - lowest for d in by]
    if not any(by):
        return draft
    shift = [a + d for a, d in zip(draft.shift[line.axis], by, strict=False)]
    wires = [_drawn(wire, run, line.axis, by) for wire, run in zip(draft.wires, line.runs, strict=True)]
    return Draft(draft.measured, {**draft.shift, line.axis: shift}, wires)


def _drawn(wire: Wire, run: Sequence[int], axis: str, by: Sequence[int]) -> Wire:
    """The wire after its points have moved along an axis; `run` are those of its pieces."""
    first, last = run[0] if run[0] >= 0 else wire.a, run[-1] if run[-1] >= 0 else wire.b
    moves = [by[n] for n in (first, *(a if a >= 0 else b for a, b in pairwise(run)), last)]
    if not any(moves):
        return wire
    if axis == "x":
        points = [Point(x + d, y) for (x, y), d in zip(wire.points, moves, strict=True)]
    else:
        points = [Point(x, y + d) for (x, y), d in zip(wire.points, moves, strict=True)]
    return Wire(wire.pipe, wire.a, wire.b, simplified(points), wire.weight)


def add_rule(al: Aligner, rule: Rule) -> bool:
    """Adds a distance rule and moves things onward until it holds; False if it contradicts what is joined."""
    a, b, gap = rule
    al.rules.append(rule)
    al.ahead[a].append(rule)
    lack = al.at[a] + gap - al.at[b]
    if al.of[a] == al.of[b]:
        return lack <= 0
    moved: dict[int, int] = {}
    return lack <= 0 or al._push(al.of[b], lack, al.of[a], moved)
