"""Moves everything closer along one axis and keeps its order; steps that can be straight become so."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from itertools import pairwise

from schemagen.base.geometry import Box, Point
from schemagen.layout.align import Aligner
from schemagen.layout.gravity import Gravity, downwards
from schemagen.layout.settle import Pull, Rule, RulesContradict
from schemagen.layout.shapes import Shape

ROW = 20
WALL = 10
DEPTH = 10
"""How many things behind each other in one row are looked at."""

CLEARANCE = {
    ("part", "part"): 10, ("part", "pipe"): 10, ("pipe", "pipe"): 10,
    ("label", "label"): 4, ("label", "part"): 4, ("label", "pipe"): 4, ("place", "place"): 20,
    ("part", "place"): 20, ("pipe", "place"): 10, ("label", "place"): 10,
}  # fmt: skip

CLEAR_OF = {
    s: {t: CLEARANCE[min(s, t), max(s, t)] for t in ("label", "part", "pipe", "place")}
    for s in ("label", "part", "pipe", "place")
}
"""The same by either of the two."""


@dataclass(frozen=True)
class Wire:
    """A pipe between two shapes (numbers; -1 for none), as points from the first to the second."""

    pipe: int
    a: int
    b: int
    points: tuple[Point, ...]
    weight: int = 2


@dataclass(frozen=True)
class Near:
    """What is kept as all moves closer together, if the shapes are those of one arrangement.

    `walls` are shapes at the far left "L" or right "R": those of one side keep one line, and all else stays between.
    `alike` are pairs to be put in one column if they can be. What falls or stands above by `up`, goes on to do so.
    """

    walls: Mapping[int, str]
    alike: Sequence[tuple[int, int]]
    up: Gravity


class _Thing:
    """A rectangle that moves with a point: `lo` to `hi` from it along the axis, `near` to `far` across."""

    __slots__ = ("sort", "point", "lo", "hi", "near", "far", "owner")

    def __init__(self, sort: str, point: int, lo: int, hi: int, near: int, far: int, owner: object) -> None:
        self.sort, self.point, self.lo, self.hi, self.near, self.far, self.owner = sort, point, lo, hi, near, far, owner


def simplified(points: Sequence[Point]) -> tuple[Point, ...]:
    """The same way without points on straight pieces and without pieces of no length."""
    out: list[Point] = []
    for p in points:
        if out and p == out[-1]:
            continue
        if len(out) > 1 and (out[-2].x == out[-1].x == p.x or out[-2].y == out[-1].y == p.y):
            out[-1] = p
            continue
        out.append(p)
    return tuple(out)


def _turn(p: Point) -> Point:
    return Point(p.y, p.x)


def compacted(
    shapes: Sequence[Shape],
    wires: Sequence[Wire],
    axis: str,
    near: Near,
    above: Sequence[Rule] = (),
):
    """Shapes and wires closer together along "x" or "y", or None if nothing can be said.

    What was clear stays clear; order along the axis is kept. `above` are further rules between shapes.
    """
    compaction = _Compaction(shapes, wires, axis == "y")
    if axis == "x":
        return compaction.done(near.walls, near.alike, above, compaction.apart(near.up.before))
    return compaction.done({}, (), above, compaction.falling(near.up))


def in_the_way(shapes: Sequence[Shape], wires: Sequence[Wire], axis: str) -> list[Rule]:
    """Of the shapes that make the whole as long as it is along an axis, pairs behind each other: as rules across it.

    By such a rule they stand beside each other. The least overlap comes first.
    """
    return _Compaction(shapes, wires, axis == "y").tight_pairs()


class _Compaction:
    def __init__(self, shapes: Sequence[Shape], wires: Sequence[Wire], flip: bool) -> None:
        self.shapes, self.wires, self.flip = shapes, wires, flip
        self.start: list[int] = [0] * len(shapes)
        self.things: list[_Thing] = []
        for n, shape in enumerate(shapes):
            self._shape_things(n, shape)
        self.runs: list[list[int]] = []
        self.equal: list[tuple[int, int, int]] = []
        self.pulls: list[Pull] = []
        self.steps: list[tuple[int, int, int]] = []
        self.facing: dict[tuple[int, int], tuple[int, int]] = {}
        for n, wire in enumerate(wires):
            self._wire_things(n, wire)

    def _box(self, b: Box) -> tuple[int, int, int, int]:
        return (b.y, b.bottom, b.x, b.right) if self.flip else (b.x, b.right, b.y, b.bottom)

    def _shape_things(self, n: int, shape: Shape) -> None:
        sorts = [("place", p.box) for p in shape.places] or (
            [("part", p.box) for p in shape.parts] + [("label", t.box) for t in shape.labels]
        )
        for sort, box in sorts:
            self.things.append(_Thing(sort, n, *self._box(box), n))
        if shape.places:
            return
        for points in (*shape.routes.values(), *shape.stubs.values()):
            for a, b in zip(points, points[1:], strict=False):
                box = Box(min(a.x, b.x), min(a.y, b.y), abs(a.x - b.x), abs(a.y - b.y))
                self.things.append(_Thing("pipe", n, *self._box(box), n))

    def _wire_things(self, n: int, wire: Wire) -> None:
        """One point for each piece that lies across the axis; the first and last may belong to their shapes."""
        pts = [_turn(p) for p in wire.points] if self.flip else list(wire.points)
        owners: list[int] = []
        for a, b in zip(pts, pts[1:], strict=False):
            if a.x != b.x:
                owners.append(-1)
                continue
            self.start.append(a.x)
            point = len(self.start) - 1
            owners.append(point)
            self.things.append(_Thing("pipe", point, 0, 0, min(a.y, b.y), max(a.y, b.y), ("wire", n)))
        self.runs.append(owners)
        ends = ((wire.a, owners[0], pts[0].x), (wire.b, owners[-1], pts[-1].x))
        for shape, point, x in ends:
            if shape >= 0 and point >= 0:
                self.equal.append((shape, point, x - self.start[shape]))
        for i, owner in enumerate(owners):
            if owner >= 0:
                continue
            left = (wire.a, pts[0].x) if i == 0 else (owners[i - 1], None)
            right = (wire.b, pts[-1].x) if i == len(owners) - 1 else (owners[i + 1], None)
            if left[0] < 0 or right[0] < 0:
                continue
            rest = (left[1] - self.start[left[0]] if left[1] is not None else 0) - (
                right[1] - self.start[right[0]] if right[1] is not None else 0
            )
            self.pulls.append(Pull(left[0], right[0], rest, wire.weight))
            inner = 0 < i < len(owners) - 1
            turn_back = inner and (pts[i].y - pts[i - 1].y) * (pts[i + 2].y - pts[i + 1].y) < 0
            if inner and not turn_back:
                self.steps.append((left[0], right[0], wire.weight))

    def _rules(self) -> dict[tuple[int, int], int]:
        """For things that face each other: how far apart their points have to stay."""
        things, start = self.things, self.start
        low = [start[t.point] + t.lo for t in things]
        high = [start[t.point] + t.hi for t in things]
        rows: dict[int, list[int]] = {}
        rules: dict[tuple[int, int], int] = {}
        for i in sorted(range(len(things)), key=lambda i: (low[i] + high[i], low[i], i)):
            t = things[i]
            point, near, far, clearance = t.point, t.near, t.far, CLEAR_OF[t.sort]
            seen: dict[int, None] = {}
            for row in range((near - 20) // ROW, (far + 20) // ROW + 1):
                line = rows.setdefault(row, [])
                seen.update(dict.fromkeys(line))
                line.append(i)
                if len(line) > DEPTH:
                    del line[0]
            for j in seen:
                s = things[j]
                clear = clearance[s.sort]
                if s.point == point or s.near - clear >= far or near - clear >= s.far:
                    continue
                have = low[i] - high[j]
                gap = s.hi - t.lo + (clear if have > clear else have)
                key = (s.point, point)
                if gap > rules.get(key, gap - 1):
                    rules[key] = gap
                    self.facing[key] = (j, i)
        return rules

    def _wall_rules(self, walls: Mapping[int, str], rules: dict[tuple[int, int], int]) -> None:
        at = {n: next(iter(self.shapes[n].open.values())).at.x for n in walls}
        for t in self.things:
            for n, side in walls.items():
                if t.owner == n:
                    continue
                key, gap = ((n, t.point), at[n] - t.lo) if side == "L" else ((t.point, n), t.hi - at[n])
                rules[key] = max(gap + WALL, rules.get(key, gap + WALL))
        for side in "LR":
            same = [n for n, s in walls.items() if s == side]
            self.equal += [(same[0], n, at[same[0]] - at[n]) for n in same[1:]]

    def tight_pairs(self) -> list[Rule]:
        rules = self._rules()
        back: dict[int, list[int]] = {}
        for (a, b), gap in rules.items():
            if self.start[b] - self.start[a] == gap:
                back.setdefault(b, []).append(a)
        for a, b, _ in self.equal:
            back.setdefault(a, []).append(b)
            back.setdefault(b, []).append(a)
        most = max(self.start[t.point] + t.hi for t in self.things)
        stack = [t.point for t in self.things if self.start[t.point] + t.hi >= most - ROW]
        seen = set(stack)
        while stack:
            for a in back.get(stack.pop(), ()):
                if a not in seen:
                    seen.add(a)
                    stack.append(a)
        out = []
        for (a, b), (j, i) in self.facing.items():
            if a in seen and b in seen and max(a, b) < len(self.shapes) and a in back.get(b, ()):
                s, t = self.things[j], self.things[i]
                upper, lower = (s, t) if s.near + s.far < t.near + t.far else (t, s)
                out.append((upper.far - lower.near, Rule(upper.point, lower.point, upper.far - lower.near + WALL)))
        return [rule for _, rule in sorted(out)]

    def falling(self, up: Gravity) -> list[Rule]:
        """Along the height: what falls now, or stands now above what it belongs above, as rules."""
        first = {fall.upper.pipe: fall.upper.end for fall in up.falls}
        out = []
        for n, wire in enumerate(self.wires):
            if wire.pipe not in first:
                continue
            ends = [(wire.a, wire.points[0].y), *((p, 0) for p in self.runs[n] if p >= 0), (wire.b, wire.points[-1].y)]
            marks = ends[:: -1 if first[wire.pipe] else 1]
            heights = [self.start[p] + off for p, off in marks]
            if all(p <= q for p, q in pairwise(heights)):
                out += downwards(marks)
        return out + self.apart(up.over)

    def apart(self, pairs: Sequence[tuple[int, int]]) -> list[Rule]:
        """Of pairs of shapes those of which the first ends before the second now, as rules."""
        boxes = [self._box(shape.bounds()) for shape in self.shapes]
        return [Rule(a, b, boxes[a][1] + WALL - boxes[b][0]) for a, b in pairs if boxes[a][1] + WALL <= boxes[b][0]]

    def done(self, walls, alike, above: Sequence[Rule], kept: Sequence[Rule]):
        rules = self._rules()
        for a, b, gap in above:
            rules.pop((b, a), None)
            rules[a, b] = max(gap, rules.get((a, b), gap))
        self._wall_rules(walls, rules)
        steps = []
        for a, b, weight in self.steps:
            if self.start[a] == self.start[b]:
                continue
            key = (a, b) if self.start[a] < self.start[b] else (b, a)
            steps.append((weight, key, rules.pop(key, None)))
        try:
            al = Aligner(len(self.start), [*(Rule(a, b, gap) for (a, b), gap in rules.items()), *kept], self.equal)
        except RulesContradict:
            return None
        for _, (a, b), gap in sorted(steps, key=lambda s: -s[0]):
            if al.join(a, b, 0):
                continue
            rule = Rule(a, b, gap if gap is not None else min(10, self.start[b] - self.start[a]))
            if not add_rule(al, rule):
                return None
        for a, b in alike:
            al.join(a, b, self._first(a) - self._first(b))
        at = al.settle(self.pulls)
        return self._moved(at)

    def _first(self, n: int) -> int:
        """Where the first part of a shape is along the axis, seen from the shape's point."""
        return self._box(self.shapes[n].parts[0].box)[0] - self.start[n]

    def _moved(self, at: Sequence[int]):
        low = min(at[t.point] + t.lo for t in self.things)
        shift = [p - s - low for p, s in zip(at, self.start, strict=True)]
        if not any(shift):
            return self.shapes, self.wires
        shapes = [s.moved(0, shift[n]) if self.flip else s.moved(shift[n], 0) for n, s in enumerate(self.shapes)]
        wires = []
        for n, wire in enumerate(self.wires):
            pts = [_turn(p) for p in wire.points] if self.flip else list(wire.points)
            xs: list[int] = []
            owners = self.runs[n]
            for i, p in enumerate(pts):
                touching = [owners[k] for k in (i - 1, i) if 0 <= k < len(owners) and owners[k] >= 0]
                if touching:
                    xs.append(p.x + shift[touching[0]])
                else:
                    end = wire.a if i == 0 else wire.b
                    xs.append(p.x + shift[end])
            new = [Point(x, p.y) for x, p in zip(xs, pts, strict=True)]
            new = [_turn(p) for p in new] if self.flip else new
            wires.append(Wire(wire.pipe, wire.a, wire.b, simplified(new), wire.weight))
        return shapes, wires


def add_rule(al: Aligner, rule: Rule) -> bool:
    """Adds a distance rule and moves things onward until it holds; False if it contradicts what is joined."""
    a, b, gap = rule
    al.rules.append(rule)
    al.ahead[a].append((b, gap))
    lack = al.at[a] + gap - al.at[b]
    if al.of[a] == al.of[b]:
        return lack <= 0
    moved: dict[int, int] = {}
    return lack <= 0 or al._push(al.of[b], lack, al.of[a], moved)
