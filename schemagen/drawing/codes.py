"""Code letters of the sections, beside the lines: at least once on each connected run, again every 80 mm."""

from collections.abc import Sequence
from itertools import pairwise

import networkx as nx

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, LABEL_STEP, text_width
from schemagen.drawing.drawing import LabelItem, PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import Text
from schemagen.drawing.style import MM_PER_UNIT, Style

REPEAT = 80 / MM_PER_UNIT
CLEAR = 2
"""Units between a line's middle and the box of its letters: half a pen of 0.7 mm and some white."""

BASELINE = 12.75
"""Units from the top of a line's box to its baseline."""


def code_letters(pipes: Sequence[PipeItem], style: Style, taken: Taken) -> tuple[LabelItem, ...]:
    """Letters for every run, where there is room; what is placed is added to `taken`."""
    out: list[LabelItem] = []
    for run in _runs(pipes):
        placed: list[Point] = []
        pieces = [(pipe, a, b) for pipe in run for a, b in pairwise(pipe.points)]
        for pipe, a, b in sorted(pieces, key=lambda piece: -length_of(piece[1], piece[2])):
            middle = Point((a.x + b.x) // 2, (a.y + b.y) // 2)
            if all(length_of(middle, p) >= REPEAT for p in placed) and (label := _letters(pipe, a, b, style, taken)):
                placed.append(middle)
                out.append(label)
    return tuple(out)


def _runs(pipes: Sequence[PipeItem]) -> list[list[PipeItem]]:
    """Pipes of one section that hang together through parts, in the order of the first pipe of each run."""
    graph = nx.Graph()
    for i, pipe in enumerate(pipes):
        for end in (pipe.start, pipe.end):
            graph.add_edge(i, (pipe.section, end.rpartition(".")[0]))
    groups = (sorted(n for n in group if isinstance(n, int)) for group in nx.connected_components(graph))
    return [[pipes[i] for i in group] for group in sorted(groups)]


def _letters(pipe: PipeItem, a: Point, b: Point, style: Style, taken: Taken) -> LabelItem | None:
    section = style.sections[pipe.section]
    width = text_width(section.code, LABEL_SIZE, bold=True)
    for area in _places(a, b, width):
        if taken.free(area):
            taken.add(area)
            text = Text(
                area.left, area.top + BASELINE, section.code, LABEL_CAP, bold=True, colour=section.pen.colour,
                subject=pipe.name,
            )  # fmt: skip
            return LabelItem(pipe.name, "code", pipe.section, (text,))
    return None


def _places(a: Point, b: Point, width: float):
    """Boxes beside the line, from its middle outwards: above before below, left before right."""
    whole = length_of(a, b)
    level = a.y == b.y
    own = width if level else LABEL_STEP
    start = min(a.x, b.x) if level else min(a.y, b.y)
    free = whole - own
    steps = sorted(range(0, max(int(free), 0) + 1, 5), key=lambda s: (abs(s - free / 2), s))
    for step in steps if free >= 0 else ():
        at = start + step
        if level:
            yield Area(at, a.y - CLEAR - LABEL_STEP, at + width, a.y - CLEAR)
            yield Area(at, a.y + CLEAR, at + width, a.y + CLEAR + LABEL_STEP)
        else:
            yield Area(a.x - CLEAR - 2 - width, at, a.x - CLEAR - 2, at + LABEL_STEP)
            yield Area(a.x + CLEAR + 2, at, a.x + CLEAR + 2 + width, at + LABEL_STEP)
