"""Worksheet: every pipe is drawn alike and without its letters; asked is the section of each numbered one."""

from dataclasses import replace

from schemagen.drawing.drawing import LabelItem, PartItem
from schemagen.drawing.shape import Circle, Path
from schemagen.drawing.style import Pen, shipped_style
from schemagen.lessons.blanked import COUNTS, Blanked, label_place, number_beside
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Item
from schemagen.lessons.shades import BLACK
from schemagen.lessons.spots import centre, ring, space_of

ALIKE = Pen(0.5)


def blank_codes(course: Course) -> Blanked | None:
    """None if no pipe has letters."""
    drawing, style = course.drawing, shipped_style()
    lettered = [(n, label) for n, label in enumerate(drawing.labels) if label.role == "code" and label.texts[0].bold]
    order = shuffled(lettered, lambda one: f"{one[1].subject} {one[1].texts[0]}", course.mark, course.seed, "codes")
    chosen = sorted(order[: COUNTS[course.difficulty]], key=lambda one: label_place(one[1]))
    if not chosen:
        return None
    numbers = {place: number for number, (place, _) in enumerate(chosen, 1)}
    taken = space_of(drawing)
    rings = (number_beside(label, numbers[place], taken) for place, label in chosen)
    placed = list(enumerate(drawing.labels))
    return Blanked(
        slug="codes",
        title="Tell the sections",
        task=("All pipes are drawn alike.", "Write the letters of the section to which each numbered pipe belongs."),
        columns=("No.", "", "Letters of the section"),
        blank=replace(
            drawing,
            pipes=tuple(replace(pipe, pen=ALIKE) for pipe in drawing.pipes),
            parts=tuple(map(_plain_joint, drawing.parts)),
            arrows=tuple(replace(arrow, colour=BLACK) for arrow in drawing.arrows),
            labels=tuple(
                _in_ring(label, numbers[place]) if place in numbers else label
                for place, label in placed
                if place in numbers or label.role != "code"
            ),
        ),
        solved=replace(drawing, labels=(*drawing.labels, *filter(None, rings))),
        items=tuple(
            Item(str(n), f"Section {n}", style.sections[label.section].code, (style.sections[label.section].name,))
            for n, (_, label) in enumerate(chosen, 1)
        ),
        bank=tuple(f"{style.sections[s].code}: {style.sections[s].name}" for s in drawing.sections),
        sections=False,
    )


def _in_ring(label: LabelItem, number: int) -> LabelItem:
    """A number where the letters were; the size stays."""
    code, *size = label.texts
    made = ring(label.subject, str(number), *centre(code))
    return replace(made, texts=(*made.texts, *(replace(text, colour=BLACK) for text in size)))


def _plain_joint(part: PartItem) -> PartItem:
    if part.kind != "tee":
        return part
    shapes = (replace(s, pen=ALIKE) if isinstance(s, Path) else s for s in part.shapes)
    return replace(part, shapes=tuple(replace(s, fill=BLACK) if isinstance(s, Circle) else s for s in shapes))
