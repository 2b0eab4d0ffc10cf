"""A drawing with blanks, the same with the answers in, and what the kinds of blanks share."""

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from schemagen.base.geometry import Point
from schemagen.drawing.drawing import Drawing, LabelItem, PipeItem
from schemagen.drawing.free_space import Taken
from schemagen.lessons.exercise import Item
from schemagen.lessons.spots import around, beside, centre, ring, ring_width

COUNTS = {1: 6, 2: 12, 3: 20}
"""Most arrows, positions and codes that are asked for, by difficulty."""

BAND = 80
"""Numbers run from left to right in bands of this height, in units."""


@dataclass(frozen=True)
class Blanked:
    """`task` tells in short sentences what to do, `columns` heads the answer table: name, what is asked, answer.

    Without a heading for what is asked, that column is left out. `bank` are words to choose from. `sections` says
    whether the key of sections may stand on the sheet.
    """

    slug: str
    title: str
    task: tuple[str, ...]
    columns: tuple[str, str, str]
    blank: Drawing
    solved: Drawing
    items: tuple[Item, ...]
    bank: tuple[str, ...] = ()
    sections: bool = True


def reading(x: float, y: float) -> tuple[float, float, float]:
    """Where a place comes when the drawing is read from the top left to the bottom right."""
    return y // BAND, x, y


def label_place(label: LabelItem) -> tuple:
    return (*reading(label.texts[0].x, label.texts[0].y), label.subject)


def way(a: Point, b: Point) -> tuple[int, int]:
    """The unit direction of a straight piece."""
    return (b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y)


def between(a: Point, b: Point, p: Sequence[float]) -> bool:
    """True if a place is on a straight piece."""
    return min(a.x, b.x) <= p[0] <= max(a.x, b.x) and min(a.y, b.y) <= p[1] <= max(a.y, b.y)


def pieces(pipe: PipeItem) -> list[tuple[Point, Point]]:
    return list(pairwise(pipe.points))


def number_beside(label: LabelItem, number: int, taken: Taken) -> LabelItem | None:
    """A number in a ring at the nearest free place to a label, which is then taken; None if there is none near by."""
    words = str(number)
    wide = ring_width(words)
    spot = beside(*centre(label.texts[0]), wide, taken, NEAR)
    if spot is None:
        return None
    taken.add(around(spot.x, spot.y, wide))
    return ring(label.subject, words, spot.x, spot.y)


NEAR = 45
"""Units within which a number belongs to its label."""
