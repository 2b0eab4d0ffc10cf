"""Sizes that find no room beside their pipes: in free room near by, with a leader to the pipe."""

from collections.abc import Callable, Iterator, Sequence
from math import ceil, hypot

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, LABEL_STEP, text_width
from schemagen.drawing.drawing import LabelItem, PipeItem
from schemagen.drawing.free_space import GRID, Area, around
from schemagen.drawing.shape import Text

FARTHEST = 120
"""How far off its pipe a size may stand, in units on each axis."""

SHORTEST = 8
"""Units of the shortest leader."""

MOST = 4
"""Pieces of a run, the longest, that are tried."""

BASELINE = 12.75
"""Units from the top of a line's box to its baseline."""

Piece = tuple[PipeItem, Point, Point]


def led_off(
    pieces: Sequence[Piece], colour: str, free: Callable[[Area], bool], seen: Callable[[Area], bool]
) -> LabelItem | None:
    """The size of the pipes whose pieces are given, with a leader; None if there is no room for both near by.

    `free` says whether letters may stand somewhere, `seen` whether a leader may pass there.
    """
    width = text_width(pieces[0][0].size, LABEL_SIZE)
    for pipe, a, b in pieces[:MOST]:
        middle = Point((a.x + b.x) // 2, (a.y + b.y) // 2)
        for spot in around(middle, FARTHEST):
            area = Area(spot.x - width / 2, spot.y - LABEL_STEP / 2, spot.x + width / 2, spot.y + LABEL_STEP / 2)
            near = _nearest(area, middle)
            if _far(near, middle) >= SHORTEST and free(area) and all(map(seen, _along(near, middle))):
                text = Text(area.left, area.top + BASELINE, pipe.size, LABEL_CAP, colour=colour, subject=pipe.name)
                return LabelItem(pipe.name, "code", pipe.section, (text,), (near, middle))
    return None


def leader_areas(label: LabelItem) -> Iterator[Area]:
    """What the leader of a label takes, if it has one."""
    if label.leader:
        yield from _along(*label.leader)


def _nearest(area: Area, to: Point) -> Point:
    """The point of an area's edge that is nearest to a place: there its leader starts."""
    x = round(min(max(to.x, area.left), area.right))
    y = round(min(max(to.y, area.top), area.bottom))
    return Point(x, y)


def _far(a: Point, b: Point) -> float:
    return hypot(a.x - b.x, a.y - b.y)


def _along(near: Point, place: Point) -> Iterator[Area]:
    """Small areas along a leader, its last bit at the pipe left out."""
    steps = ceil(_far(near, place) / (GRID / 2))
    for n in range(steps - 1):
        x, y = near.x + (place.x - near.x) * n / steps, near.y + (place.y - near.y) * n / steps
        yield Area(x, y, x, y).grown(1)
