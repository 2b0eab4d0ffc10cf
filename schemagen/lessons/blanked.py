"""A drawing with blanks, the same with the answers in, and what the kinds of blanks share."""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from itertools import pairwise

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, text_width
from schemagen.drawing.drawing import Drawing, LabelItem, PipeItem
from schemagen.drawing.free_space import Taken
from schemagen.drawing.shape import Text
from schemagen.lessons.exercise import Item
from schemagen.lessons.spots import text_area

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


def with_number(label: LabelItem, number: int, taken: Taken) -> LabelItem:
    """The label with its number before its first line: where there is room for it, else to the left."""
    first = label.texts[0]
    area = text_area(first)
    wide = text_width(f"{number}: ", LABEL_SIZE, bold=True)
    end = max(text_area(text).right for text in label.texts if text.y == first.y)
    to_right = area._replace(left=end + 0.5, right=end + wide)
    to_left = area._replace(left=area.left - wide, right=area.left - 0.5)
    shift = 0.0 if taken.free(to_left) or not taken.free(to_right) else wide
    at = area.left - wide + shift
    said = Text(at, first.y, f"{number}:", LABEL_CAP, True, colour=first.colour, subject=first.subject)
    if first.turn:
        return replace(label, texts=(replace(first, text=f"{number}: {first.text}"), *label.texts[1:]))
    moved = (replace(text, x=text.x + shift) if text.y == first.y else text for text in label.texts)
    return replace(label, texts=(said, *moved))
