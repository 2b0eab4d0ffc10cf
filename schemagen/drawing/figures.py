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


def figures_at(
    pipes: Mapping[int, PipeItem], said: Mapping[int, tuple[str, ...]], taken: Taken
) -> Iterator[LabelItem]:
    """What is said of the pipes, by their index. What is placed is added to `taken`.

    Where there is no room for all that is said, one of it stands there, else none; no text lies on anything.
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
        pieces = [(pipes[i], a, b) for i in run for a, b in pairwise(pipes[i].points)]
        pieces.sort(key=lambda piece: -length_of(piece[1], piece[2]))
        for clear in (APART, APART / 4):
            placed = _placed(pieces, said[run[0]], lambda area, n=number, c=clear: lines.free(area.grown(c), n), taken)
            if placed is not None:
                label, area = placed
                taken.add(area)
                yield label
                break


def _runs(pipes: Mapping[int, PipeItem], said: Mapping[int, tuple[str, ...]]) -> Iterator[list[int]]:
    """Pipes of which the same is said and that hang together through parts, in the order of the list."""
    groups: Groups[int] = Groups(dict.fromkeys(i for i in pipes if i in said))
    first: dict[tuple[str, tuple[str, ...], str], int] = {}
    for i, pipe in pipes.items():
        if i in said:
            for end in (pipe.start, pipe.end):
                groups.join(first.setdefault((pipe.section, said[i], end.rpartition(".")[0]), i), i)
    yield from groups.numbered()[1]


def _placed(pieces, words: Sequence[str], apart, taken: Taken) -> tuple[LabelItem, Area] | None:
    """All the words on one line or below each other, else the last of them alone, else the first."""
    whole = (" ".join(words),)
    tries = [whole] if len(words) == 1 else [whole, tuple(words), (words[-1],), (words[0],)]
    for texts in dict.fromkeys(tries):
        width = max(text_width(text, LABEL_SIZE) for text in texts)
        for pipe, a, b in pieces:
            spots = places_beside(a, b, width, LABEL_STEP * len(texts))
            area = next((spot for spot in spots if taken.free(spot) and apart(spot)), None)
            if area is not None:
                return _label(pipe, a, b, texts, area), area
    return None


def _label(pipe: PipeItem, a: Point, b: Point, texts: Sequence[str], area: Area) -> LabelItem:
    at_left = a.x == b.x and area.right <= a.x
    anchor, x = ("end", area.right) if at_left else ("start", area.left)
    shown = tuple(
        Text(x, area.top + BASELINE + n * LABEL_STEP, text, LABEL_CAP, anchor=anchor, colour=pipe.pen.colour)
        for n, text in enumerate(texts)
    )
    return LabelItem(pipe.name, "figure", pipe.section, shown)
