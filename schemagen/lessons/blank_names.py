"""Worksheet: tags and labels of parts are replaced by numbers in their slots; asked is the name of each part."""

from dataclasses import replace

from schemagen.drawing.drawing import LabelItem
from schemagen.lessons.blanked import Blanked, label_place, number_beside
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Item
from schemagen.lessons.spots import centre, ring, space_of
from schemagen.lessons.synonyms import also_right

SHARES = {1: 1 / 3, 2: 2 / 3, 3: 1.0}
"""Share of the labels that is blanked out, by difficulty; the others stay as a help."""

LEAST = 6


def blank_names(course: Course) -> Blanked | None:
    """None if no part has a label."""
    drawing, network = course.drawing, course.facts.network
    labels = [label for label in drawing.labels if label.role == "tag"]
    order = shuffled(labels, lambda label: label.subject, course.mark, course.seed, "names")
    chosen = sorted(order[: max(LEAST, round(SHARES[course.difficulty] * len(order)))], key=label_place)
    if not chosen:
        return None
    numbers = {label.subject: n for n, label in enumerate(chosen, 1)}
    taken = space_of(drawing)
    rings = (number_beside(label, numbers[label.subject], taken) for label in chosen)
    items = tuple(
        Item(str(n), f"Part {n}, {tag}", network.parts[tag].kind.title, also_right(network.parts[tag].kind))
        for tag, n in numbers.items()
    )
    return Blanked(
        slug="names",
        title="Name the parts",
        task=("Write the name of each numbered part in the table.",),
        columns=("No.", "", "Name of the part"),
        blank=replace(
            drawing,
            labels=tuple(
                _in_ring(label, numbers[label.subject]) if label.role == "tag" and label.subject in numbers else label
                for label in drawing.labels
            ),
        ),
        solved=replace(drawing, labels=(*drawing.labels, *filter(None, rings))),
        items=items,
        bank=tuple(dict.fromkeys(item.expected for item in items)) if course.difficulty < 3 else (),
    )


def _in_ring(label: LabelItem, number: int) -> LabelItem:
    """A number in the slot of the label's first line; the label's leader stays."""
    return replace(ring(label.subject, str(number), *centre(label.texts[0])), leader=label.leader)
