"""Worksheet: some pipes are taken out, their ends marked × with a letter; asked is which ends belong together."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.base.geometry import Point
from schemagen.drawing.drawing import LabelItem, PipeItem
from schemagen.drawing.pipe_lines import length_of
from schemagen.drawing.shape import line
from schemagen.drawing.style import Pen, shipped_style
from schemagen.lessons.blanked import Blanked, between, pieces, reading
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Item
from schemagen.lessons.spots import HIGH, around, beside, ring, ring_width, space_of

PIPES = {1: 2, 2: 3, 3: 4}
"""Pipes taken out, by difficulty."""

LEAST = 60
"""A pipe that is taken out is at least this long, in units."""

FAR = 150
"""Units within which the letter of an end is put."""

ARM = 5
"""Half the width of a cross, in units."""


def blank_pipes(course: Course) -> Blanked | None:
    """None if no pipe can be taken out without leaving a trace."""
    drawing = course.drawing
    gone = _pipes_to_take(course)
    if not gone:
        return None
    names = {pipe.name for pipe in gone}
    ends = [(end, at) for pipe in gone for end, at in ((pipe.start, pipe.points[0]), (pipe.end, pipe.points[-1]))]
    ends.sort(key=lambda e: reading(e[1].x, e[1].y))
    letters = {end: chr(ord("A") + n) for n, (end, _) in enumerate(ends)}
    crosses = tuple(_crosses(course, ends, letters))
    labels = tuple(label for label in drawing.labels if label.subject not in names)
    return Blanked(
        slug="pipes",
        title="Draw the missing pipes",
        task=(
            f"{len(gone)} pipe{'s are' if len(gone) > 1 else ' is'} missing; the ends are marked × with a letter.",
            "Draw what is missing, with its arrows.",
        ),
        columns=("No.", "Asked", "Answer"),
        blank=replace(
            drawing,
            pipes=tuple(pipe for pipe in drawing.pipes if pipe.name not in names),
            arrows=tuple(arrow for arrow in drawing.arrows if arrow.pipe not in names),
            labels=(*labels, *crosses),
        ),
        solved=replace(drawing, labels=(*drawing.labels, *crosses)),
        items=tuple(_items(course, gone, letters)),
    )


def _items(course: Course, gone: list[PipeItem], letters: dict[str, str]) -> Iterator[Item]:
    """For each pipe: its ends, its section, and which way water goes in it, if it does."""
    style = shipped_style()
    flowing = {arrow.pipe for arrow in course.drawing.arrows}
    for n, pipe in enumerate(sorted(gone, key=lambda p: min(letters[p.start], letters[p.end])), 1):
        start, end = letters[pipe.start], letters[pipe.end]
        first, last = sorted((start, end))
        section = style.sections[pipe.section]
        yield Item(f"{n}a", f"Pipe {n} joins {first} to", last, (f"{first} and {last}", f"{first}–{last}"))
        yield Item(f"{n}b", f"Section of pipe {n}", section.code, (section.name,))
        if pipe.name in flowing:
            yield Item(f"{n}c", f"Water in pipe {n} goes", f"from {start} to {end}", (f"{start} → {end}", f"to {end}"))


def _pipes_to_take(course: Course) -> list[PipeItem]:
    """Long pipes that neither cross others nor are crossed, in a seeded choice."""
    hops = [hop.at for pipe in course.drawing.pipes for hop in pipe.hops]
    fit = [
        pipe
        for pipe in course.drawing.pipes
        if not pipe.hops
        and sum(length_of(a, b) for a, b in pieces(pipe)) >= LEAST
        and not any(between(a, b, at) for a, b in pieces(pipe) for at in hops)
    ]
    return shuffled(fit, lambda p: p.name, course.mark, course.seed, "pipes")[: PIPES[course.difficulty]]


def _crosses(course: Course, ends: list[tuple[str, Point]], letters: dict[str, str]) -> Iterator[LabelItem]:
    taken, wide = space_of(course.drawing), ring_width("W")
    for end, at in ends:
        spot = beside(at.x, at.y, wide, taken, FAR) or at
        taken.add(around(spot.x, spot.y, wide, HIGH))
        strokes = (line(((at.x - ARM, at.y + s * ARM), (at.x + ARM, at.y - s * ARM)), Pen(0.5)) for s in (-1, 1))
        made = ring(end, letters[end], spot.x, spot.y)
        yield replace(made, ink=(*strokes, *made.ink))
