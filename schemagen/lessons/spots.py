"""Free places on a drawing for the numbers of a worksheet, and the numbers themselves."""

from collections.abc import Iterator
from itertools import pairwise

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, text_width
from schemagen.drawing.codes import BASELINE
from schemagen.drawing.drawing import Drawing, LabelItem, PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import Rect, Text
from schemagen.drawing.style import Pen

HIGH = 16.0
"""Height of a ring in units: it fits the line of a label."""

STEP = 5
"""How finely a place is looked for, in units."""

_RING = Pen(0.35)


def ring(subject: str, words: str, x: float, y: float, width: float = 0.0) -> LabelItem:
    """Words in a ring centred on x, y; a ring of a given width has its words at the left, with room behind them."""
    wide = width or ring_width(words)
    at = x - wide / 2 + 5 if width else x
    text = Text(at, y + LABEL_CAP / 2, words, LABEL_CAP, True, "start" if width else "middle", subject=subject)
    outline = Rect(x - wide / 2, y - HIGH / 2, wide, HIGH, HIGH / 2, _RING, "#ffffff")
    return LabelItem(subject, "blank", "", (text,), (), (outline,))


def ring_width(words: str) -> float:
    return max(HIGH, text_width(words, LABEL_SIZE, bold=True) + 9)


def text_area(text: Text) -> Area:
    """The box of a line of text at the size of labels."""
    wide = text_width(text.text, LABEL_SIZE, text.bold)
    back = {"start": 0.0, "middle": wide / 2, "end": wide}[text.anchor]
    up, down = BASELINE, 17 - BASELINE
    if text.turn:
        return Area(text.x - up, text.y - wide + back, text.x + down, text.y + back)
    return Area(text.x - back, text.y - up, text.x - back + wide, text.y + down)


def centre(text: Text) -> tuple[float, float]:
    """The middle of a line's capitals."""
    area = text_area(text)
    if text.turn:
        return text.x - LABEL_CAP / 2, (area.top + area.bottom) / 2
    return (area.left + area.right) / 2, text.y - LABEL_CAP / 2


def solid_areas(drawing: Drawing) -> Iterator[Area]:
    """Symbols and texts, in the order of the drawing; joints are small enough to be left out."""
    for part in drawing.parts:
        if part.kind != "tee":
            yield Area(part.box.x, part.box.y, part.box.right, part.box.bottom)
    for label in drawing.labels:
        yield from map(text_area, label.texts)
    for place in drawing.places:
        yield text_area(place.text)


def line_areas(pipe: PipeItem) -> Iterator[Area]:
    for a, b in pairwise(pipe.points):
        yield Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)).grown(1.5)


def space_of(drawing: Drawing) -> Taken:
    """All that a number must not stand upon; pipes are owned by their place in the drawing."""
    taken = Taken(solid_areas(drawing))
    for n, pipe in enumerate(drawing.pipes):
        for area in line_areas(pipe):
            taken.add(area, n)
    for part in drawing.parts:
        if part.kind == "tee":
            taken.add(Area(part.box.x, part.box.y, part.box.right, part.box.bottom))
    return taken


def around(x: float, y: float, wide: float, high: float = HIGH) -> Area:
    return Area(x - wide / 2, y - high / 2, x + wide / 2, y + high / 2)


def on_line(pipe: PipeItem, number: int, wide: float, taken: Taken) -> Point | None:
    """The middle of the longest straight piece, or a place near it, where a ring on the line meets nothing else."""
    for a, b in sorted(pairwise(pipe.points), key=lambda run: -length_of(*run)):
        whole = length_of(a, b)
        dx, dy = (b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y)
        half = int((wide if dx else HIGH) / 2 + 3)
        for at in sorted(range(half, whole - half + 1, STEP), key=lambda s: (abs(s - whole / 2), s)):
            p = Point(a.x + dx * at, a.y + dy * at)
            if taken.free(around(p.x, p.y, wide + 2, HIGH + 2), number):
                return p
    return None


def beside(x: float, y: float, wide: float, taken: Taken, reach: int) -> Point | None:
    """The nearest free place to a point for a ring, at most `reach` units off to each side; None if there is none."""
    steps = range(-reach, reach + 1, STEP)
    near = sorted(((dx, dy) for dx in steps for dy in steps), key=lambda d: (d[0] ** 2 + d[1] ** 2, -d[0], d[1]))
    places = (Point(round(x + dx), round(y + dy)) for dx, dy in near)
    return next((p for p in places if taken.free(around(p.x, p.y, wide + 3, HIGH + 2))), None)
