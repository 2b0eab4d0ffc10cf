"""Worksheet: the arrows are taken off; in numbered rings on the lines they are to be drawn in."""

from dataclasses import replace

from schemagen.base.geometry import Point
from schemagen.drawing.drawing import ArrowItem, PipeItem
from schemagen.lessons.blanked import COUNTS, Blanked, between, pieces, reading, way
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Item
from schemagen.lessons.spots import around, on_line, ring, ring_width, space_of

WORDS = {
    (1, 0): ("→", "to the right"), (-1, 0): ("←", "to the left"), (0, 1): ("↓", "downwards"), (0, -1): ("↑", "upwards")
}  # fmt: skip

ROOM = 13
"""Units in a ring behind its number, for an arrow drawn by hand."""


def blank_arrows(course: Course) -> Blanked | None:
    """None if no line has room for a ring."""
    drawing = course.drawing
    bare = replace(drawing, arrows=())
    wide = ring_width("88") + ROOM
    spots = _spots(course, wide)
    if not spots:
        return None
    arrows = {arrow.pipe: arrow for arrow in drawing.arrows}
    ways = [_way_at(pipe, at, arrows[pipe.name]) for pipe, at in spots]
    numbered = list(enumerate(zip(spots, ways, strict=True), 1))
    rings = tuple(ring(pipe.name, str(n), at.x, at.y, wide) for n, ((pipe, at), _) in numbered)
    filled = tuple(ring(pipe.name, f"{n} {WORDS[w][0]}", at.x, at.y, wide) for n, ((pipe, at), w) in numbered)
    under = [around(at.x, at.y, wide + 4, 20) for _, at in spots]
    kept = tuple(a for a in drawing.arrows if not any(around(*_middle(a), 8, 8).meets(area) for area in under))
    return Blanked(
        slug="arrows",
        title="Draw the arrows",
        task=(
            "Draw in each numbered ring the arrow that shows which way water moves.",
            "Write its direction in the table.",
        ),
        columns=("No.", "", "Direction"),
        blank=replace(bare, labels=(*drawing.labels, *rings)),
        solved=replace(drawing, arrows=kept, labels=(*drawing.labels, *filled)),
        items=tuple(Item(str(n), f"Arrow {n}", WORDS[w][1], (WORDS[w][0],)) for n, (_, w) in numbered),
        bank=tuple(words for _, words in WORDS.values()) if course.difficulty < 3 else (),
    )


def _spots(course: Course, wide: float) -> list[tuple[PipeItem, Point]]:
    """Pipes with an arrow, and where on each a ring has room; a seeded choice, in the order of reading."""
    drawing = course.drawing
    taken = space_of(drawing)
    pipes = {pipe.name: (n, pipe) for n, pipe in enumerate(drawing.pipes)}
    spots: list[tuple[PipeItem, Point]] = []
    for name in shuffled(dict.fromkeys(a.pipe for a in drawing.arrows), str, course.mark, course.seed, "arrows"):
        number, pipe = pipes[name]
        if len(spots) < COUNTS[course.difficulty] and (at := on_line(pipe, number, wide, taken)):
            spots.append((pipe, at))
            taken.add(around(at.x, at.y, wide + 4, 20))
    return sorted(spots, key=lambda spot: reading(spot[1].x, spot[1].y))


def _middle(arrow: ArrowItem) -> tuple[float, float]:
    (x, y), (dx, dy) = arrow.tip, arrow.along
    return x - dx * arrow.length / 2, y - dy * arrow.length / 2


def _way_at(pipe: PipeItem, at: Point, arrow: ArrowItem) -> tuple[int, int]:
    """Which way water goes at a place of a pipe of which one arrow is known."""
    forward = any(way(a, b) == arrow.along and between(a, b, _middle(arrow)) for a, b in pieces(pipe))
    dx, dy = next(way(a, b) for a, b in pieces(pipe) if between(a, b, at))
    return (dx, dy) if forward else (-dx, -dy)
