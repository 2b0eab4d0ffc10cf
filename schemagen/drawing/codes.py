"""Code letters of sections and sizes of pipes, beside the lines: once on each connected run, again every 80 mm."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from functools import partial
from itertools import pairwise

from schemagen.base.geometry import Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE, LABEL_STEP, text_width
from schemagen.drawing.drawing import LabelItem, PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.led_off import BASELINE, Piece, leader_areas, led_off
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import Text
from schemagen.drawing.style import MM_PER_UNIT, Style
from schemagen.network.groups import Groups

REPEAT = 80 / MM_PER_UNIT
CLEAR, BESIDE = 2, 6
"""Units between a line's middle and the box of its letters, above or below a level line and beside an upright one."""

APART = 16
"""Units that letters keep from the lines of other runs, so that it is plain which line they name."""


@dataclass(frozen=True)
class _Space:
    """What is taken, and the lines of each run by its number: letters keep away from those of other runs."""

    taken: Taken
    lines: Taken
    solid: Taken

    def take(self, label: LabelItem) -> None:
        for area in (area_of(label), *leader_areas(label)):
            self.taken.add(area)
            self.solid.add(area)

    def seen(self, area: Area, run: int) -> bool:
        """True if a leader of a run may pass."""
        return self.solid.free(area) and self.lines.free(area, run)

    def free(self, area: Area, run: int, clear: float) -> bool:
        return self.taken.free(area) and self.lines.free(area.grown(clear), run)


def code_letters(
    pipes: Sequence[PipeItem], style: Style, taken: Taken, solid: Taken
) -> tuple[tuple[LabelItem, ...], tuple[str, ...]]:
    """Letters and sizes of all runs; and the sizes that found no room, in words. What is placed is added to `taken`.

    Each size of a run is written at least once, together with the letters if there is room; a size for which there is
    none beside its pipes stands off with a leader, which crosses no other run and nothing `solid`.
    """
    runs = _runs(pipes)
    space = _Space(taken, Taken(), solid)
    for number, run in enumerate(runs):
        for pipe in run:
            for a, b in pairwise(pipe.points):
                space.lines.add(Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)), number)
    labels: list[LabelItem] = []
    left_over: list[tuple[int, list[Piece]]] = []
    for number, run in enumerate(runs):
        written, lacking = _on_run(number, run, style, space)
        labels += written
        left_over += [(number, pieces) for pieces in lacking]
    unwritten = []
    for number, pieces in left_over:
        pipe = pieces[0][0]
        colour = style.sections[pipe.section].pen.colour
        free, seen = partial(space.free, run=number, clear=0), partial(space.seen, run=number)
        if label := led_off(pieces, colour, free, seen):
            space.take(label)
            labels.append(label)
        else:
            unwritten.append(f"{pipe.size} from {pipe.start} to {pipe.end}")
    return tuple(labels), tuple(unwritten)


def _on_run(
    number: int, run: Sequence[PipeItem], style: Style, space: _Space
) -> tuple[list[LabelItem], list[list[Piece]]]:
    """What is written beside a run, and for each size that is not the pieces of its pipes, the longest first."""
    pieces = [(pipe, a, b) for pipe in run for a, b in pairwise(pipe.points)]
    pieces.sort(key=lambda piece: -length_of(piece[1], piece[2]))
    code = style.sections[run[0].section].code
    out: list[LabelItem] = []
    placed: list[tuple[str, Point]] = []
    for pipe, a, b in pieces:
        middle = Point((a.x + b.x) // 2, (a.y + b.y) // 2)
        if any(size == pipe.size and length_of(middle, p) < REPEAT for size, p in placed):
            continue
        if label := _letters(pipe, a, b, (code, pipe.size), style, lambda area: space.free(area, number, APART)):
            space.take(label)
            placed.append((pipe.size, middle))
            out.append(label)
    wanted = [] if placed else [((code, ""), pieces)]
    for size in dict.fromkeys(pipe.size for pipe in run):
        if size and all(size != said for said, _ in placed):
            wanted.append((("", size), [piece for piece in pieces if piece[0].size == size]))
    lacking = []
    for words, where in wanted:
        tries = (_letters(*piece, words, style, lambda area: space.free(area, number, 0)) for piece in where)
        if label := next(filter(None, tries), None):
            space.take(label)
            out.append(label)
        elif words[1]:
            lacking.append(where)
    return out, lacking


def area_of(label: LabelItem) -> Area:
    """The box of letters or figures placed here."""
    widths = [text_width(text.text, LABEL_SIZE, text.bold) for text in label.texts]
    lefts = [t.x - w if t.anchor == "end" else t.x for t, w in zip(label.texts, widths, strict=True)]
    rights = [left + w for left, w in zip(lefts, widths, strict=True)]
    top, bottom = label.texts[0].y - BASELINE, label.texts[-1].y - BASELINE + LABEL_STEP
    return Area(min(lefts), top, max(rights), bottom)


def _runs(pipes: Sequence[PipeItem]) -> list[list[PipeItem]]:
    """Pipes of one section that hang together through parts, in the order of the first pipe of each run."""
    groups: Groups[int] = Groups(range(len(pipes)))
    first: dict[tuple[str, str], int] = {}
    for i, pipe in enumerate(pipes):
        for end in (pipe.start, pipe.end):
            groups.join(first.setdefault((pipe.section, end.rpartition(".")[0]), i), i)
    return [[pipes[i] for i in group] for group in groups.numbered()[1]]


def _letters(
    pipe: PipeItem, a: Point, b: Point, words: tuple[str, str], style: Style, free: Callable[[Area], bool]
) -> LabelItem | None:
    """Code letters in bold and a size, either of which may be empty, beside one straight piece; None without room."""
    code, size = words
    gap = text_width(" ", LABEL_SIZE) if code and size else 0
    code_width = text_width(code, LABEL_SIZE, bold=True) + gap
    area = next(filter(free, places_beside(a, b, code_width + text_width(size, LABEL_SIZE))), None)
    if area is None:
        return None
    colour, base = style.sections[pipe.section].pen.colour, area.top + BASELINE
    texts = (
        Text(area.left, base, code, LABEL_CAP, bold=True, colour=colour, subject=pipe.name),
        Text(area.left + code_width, base, size, LABEL_CAP, colour=colour, subject=pipe.name),
    )
    return LabelItem(pipe.name, "code", pipe.section, tuple(text for text in texts if text.text))


def places_beside(a: Point, b: Point, width: float, height: float = LABEL_STEP):
    """Boxes beside the line, from its middle outwards: above before below, left before right."""
    whole = length_of(a, b)
    level = a.y == b.y
    own = width if level else height
    start = min(a.x, b.x) if level else min(a.y, b.y)
    free = whole - own
    steps = sorted(range(0, max(int(free), 0) + 1, 5), key=lambda s: (abs(s - free / 2), s))
    for step in steps if free >= 0 else ():
        at = start + step
        if level:
            yield Area(at, a.y - CLEAR - height, at + width, a.y - CLEAR)
            yield Area(at, a.y + CLEAR, at + width, a.y + CLEAR + height)
        else:
            yield Area(a.x - BESIDE - width, at, a.x - BESIDE, at + height)
            yield Area(a.x + BESIDE, at, a.x + BESIDE + width, at + height)
