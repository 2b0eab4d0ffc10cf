"""Temperatures and flows of a state beside the lines: once on each run that has the same, where there is room."""

from collections.abc import Iterator, Mapping, Sequence
from itertools import pairwise

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, LABEL_STEP, text_width
from schemagen.drawing.codes import APART, BASELINE, places_beside
from schemagen.drawing.drawing import LabelItem, PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import Text
from schemagen.network.groups import Groups

BEYOND = 30
"""Units by which figures may reach beyond the ends of a piece of line."""

CLOSE = 8
"""Units that figures keep from the lines of other runs where there is no room for more."""


def figures_at(
    pipes: Mapping[int, PipeItem], said: Mapping[int, tuple[str, ...]], taken: Taken
) -> Iterator[LabelItem]:
    """What is said of the pipes, by their index. What is placed is added to `taken`.

    What finds no room is left out; no text lies on anything.
    """
    lines = Taken()
    runs = list(_runs(pipes, said))
    for number, run in enumerate(runs):
        for pipe in run:
            for a, b in pairwise(pipes[pipe].points):
                lines.add(Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)), number)
    for pipe in pipes:
        if pipe not in said:
            for a, b in pairwise(pipes[pipe].points):
                lines.add(Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)))
    for number, run in enumerate(runs):
        pieces = [(pipes[i], *_longer(a, b)) for i in run for a, b in pairwise(pipes[i].points)]
        pieces.sort(key=lambda piece: -length_of(piece[1], piece[2]))
        yield from _placed(pieces, said[run[0]], lambda spot, by, n=number: lines.free(spot.grown(by), n), taken)


def _longer(a: Point, b: Point) -> tuple[Point, Point]:
    """A piece of line with room for figures beyond its ends."""
    dx, dy = (b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y)
    return Point(a.x - dx * BEYOND, a.y - dy * BEYOND), Point(b.x + dx * BEYOND, b.y + dy * BEYOND)


def _runs(pipes: Mapping[int, PipeItem], said: Mapping[int, tuple[str, ...]]) -> Iterator[list[int]]:
    """Pipes of which the same is said and that hang together through parts, in the order of the list."""
    groups: Groups[int] = Groups(dict.fromkeys(i for i in pipes if i in said))
    first: dict[tuple[str, tuple[str, ...], str], int] = {}
    for i, pipe in pipes.items():
        if i in said:
            for end in (pipe.start, pipe.end):
                groups.join(first.setdefault((pipe.section, said[i], end.rpartition(".")[0]), i), i)
    yield from groups.numbered()[1]


def _placed(pieces, words: Sequence[str], apart, taken: Taken) -> Iterator[LabelItem]:
    """All the words on one line or below each other, else each where it finds room; adds them to `taken`."""
    for texts in dict.fromkeys(((" ".join(words),), tuple(words))):
        if label := _spot(pieces, texts, apart, taken):
            yield label
            return
    for word in words if len(words) > 1 else ():
        if label := _spot(pieces, (word,), apart, taken):
            yield label


def _spot(pieces, texts: Sequence[str], apart, taken: Taken) -> LabelItem | None:
    width = max(text_width(text, LABEL_SIZE) for text in texts)
    for clear in (APART, CLOSE):
        for pipe, a, b in pieces:
            spots = places_beside(a, b, width, LABEL_STEP * len(texts))
            area = next((spot for spot in spots if taken.free(spot) and apart(spot, clear)), None)
            if area is not None:
                taken.add(area)
                return _label(pipe, a, b, texts, area)
    return None


def _label(pipe: PipeItem, a: Point, b: Point, texts: Sequence[str], area: Area) -> LabelItem:
    at_left = a.x == b.x and area.right <= a.x
    anchor, x = ("end", area.right) if at_left else ("start", area.left)
    shown = tuple(
        Text(x, area.top + BASELINE + n * LABEL_STEP, text, LABEL_CAP, anchor=anchor, colour=pipe.pen.colour)
        for n, text in enumerate(texts)
    )
    return LabelItem(pipe.name, "figure", pipe.section, shown)
