"""The numbered marks of findings: beside the place they speak of, never on a text, a symbol or a pipe."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise, takewhile

from schemagen.base.finding import Finding
from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP
from schemagen.drawing.drawing import MarkItem, PartItem, PipeItem
from schemagen.drawing.free_space import GRID, Area, Taken, around
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import Circle, Shape, Text, polygon
from schemagen.drawing.style import Pen

FARTHEST = 400
NEAR = 22
"""A mark farther from its place than this gets a leader."""

_RING = Pen(0.35)


def mark_radius(number: int) -> float:
    """Half the width of a mark, in units: figures 1 M high with a margin."""
    return {1: 9.5, 2: 12.0}.get(len(str(number)), 15.0)


def mark_shapes(finding: Finding, number: int, x: float, y: float, scale: float = 1.0) -> tuple[Shape, ...]:
    """Error: disc with a white figure; warning: diamond; advice: square. An accepted finding's mark is hollow.

    `scale` is the length of a unit, so that tables on the sheet can show the same mark in millimetres.
    """
    r = mark_radius(number) * scale
    hollow = finding.accepted is not None or finding.severity != "error"
    fill, figure = ("#ffffff", "#000000") if hollow else ("#000000", "#ffffff")
    match finding.severity:
        case "error":
            shape: Shape = Circle(x, y, r, _RING, fill)
        case "warning":
            d = 1.35 * r
            shape = polygon(((x, y - d), (x + d, y), (x, y + d), (x - d, y)), fill, _RING)
        case _:
            shape = polygon(((x - r, y - r), (x + r, y - r), (x + r, y + r), (x - r, y + r)), fill, _RING)
    cap = LABEL_CAP * scale
    return shape, Text(x, y + cap / 2, str(number), cap, bold=True, anchor="middle", colour=figure)


def finding_marks(
    findings: Sequence[Finding],
    parts: Mapping[str, PartItem],
    pipes: Mapping[tuple[str, str], PipeItem],
    taken: Taken,
    solid: Taken,
) -> tuple[MarkItem, ...]:
    """One mark for each finding that has a place on the drawing; what is placed is added to `taken` and `solid`.

    A mark stands on nothing that is taken, its leader crosses nothing that is solid (symbols, texts, other marks). The
    number of a finding is its place in the report, counted from 1.
    """
    out = []
    for number, finding in enumerate(findings, 1):
        place = _place(finding, parts, pipes)
        if place is None:
            continue
        subject, anchors = place
        reach = 1.35 * mark_radius(number) if finding.severity == "warning" else mark_radius(number)
        at, anchor = _beside(anchors, reach, taken, solid)
        leader = _leader(at, anchor, reach)
        for area in (_area(at, reach), *_along(leader)):
            taken.add(area)
        solid.add(_area(at, reach))
        out.append(MarkItem(number, finding, subject, at, leader))
    return tuple(out)


def _beside(anchors: Sequence[Point], reach: float, taken: Taken, solid: Taken) -> tuple[Point, Point]:
    """The nearest free point to any of the anchors whose leader crosses nothing, and that anchor; else the nearest free
    one; else one far off."""
    best, within = None, FARTHEST
    for anchor in anchors:
        free = (p for p in _within(anchor, within) if taken.free(_area(p, reach + 1.5)))
        at = next((p for p in free if _seen(_leader(p, anchor, reach), solid)), None)
        if at and (best is None or _distance(at, anchor) < within):
            best, within = (at, anchor), _distance(at, anchor)
    if best:
        return best
    first = anchors[0]
    far = Point(first.x + FARTHEST, first.y)
    return next((p for p in around(first, FARTHEST) if taken.free(_area(p, reach + 1.5))), far), first


def _within(anchor: Point, reach: float) -> Iterator[Point]:
    """The spots round an anchor that are no farther, the nearest first."""
    return takewhile(lambda p: _distance(p, anchor) <= reach, around(anchor, FARTHEST))


def _leader(at: Point, anchor: Point, reach: float) -> tuple[Point, ...]:
    return (anchor, _towards(at, anchor, reach)) if _distance(at, anchor) > NEAR + reach / 2 else ()


def _seen(leader: tuple[Point, ...], solid: Taken) -> bool:
    """True if nothing solid lies under the leader, looked at from just beyond its place."""
    return all(solid.free(area) for area in _along(leader))


def _along(leader: tuple[Point, ...]) -> Iterator[Area]:
    """Small areas on a leader, GRID units apart, from its place outwards."""
    if leader:
        (x0, y0), (x1, y1) = leader
        steps = int(_distance(*leader) // GRID)
        for n in range(1, steps + 1):
            x, y = x0 + (x1 - x0) * n / steps, y0 + (y1 - y0) * n / steps
            yield Area(x - 1, y - 1, x + 1, y + 1)


def _area(p: Point, reach: float) -> Area:
    return Area(p.x - reach, p.y - reach, p.x + reach, p.y + reach)


def _place(finding, parts, pipes) -> tuple[str, tuple[Point, ...]] | None:
    """What the mark of a finding names, and the points that it may stand beside, the likeliest first."""
    for a, b in finding.pipes:
        if pipe := pipes.get((a, b)) or pipes.get((b, a)):
            runs = sorted(pairwise(pipe.points), key=lambda run: -length_of(*run))
            return pipe.name, tuple(Point((a.x + b.x) // 2, (a.y + b.y) // 2) for a, b in runs)
    for name in finding.ports:
        tag, _, port = name.rpartition(".")
        if tag in parts and (at := dict(parts[tag].ports).get(port)):
            return name, (at,)
    for tag in finding.parts:
        if tag in parts:
            box = parts[tag].box
            return tag, tuple(Point(x, y) for y in (box.y, box.bottom) for x in (box.right, box.x))
    return None


def _distance(a: Point, b: Point) -> float:
    return ((a.x - b.x) ** 2 + (a.y - b.y) ** 2) ** 0.5


def _towards(at: Point, anchor: Point, reach: float) -> Point:
    """The point on the edge of a mark at `at` in the direction of the anchor."""
    far = _distance(at, anchor)
    return Point(round(at.x + (anchor.x - at.x) * reach / far), round(at.y + (anchor.y - at.y) * reach / far))
