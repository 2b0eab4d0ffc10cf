"""Worksheet: valves are drawn without their position; asked is where each stands."""

from dataclasses import replace

from schemagen.drawing.drawing import PartItem
from schemagen.drawing.shape import Shape, Text
from schemagen.lessons.blanked import COUNTS, Blanked
from schemagen.lessons.chance import shuffled
from schemagen.lessons.exercise import Course, Item
from schemagen.lessons.shades import WHITE
from schemagen.network.network import Part

SHUT = ("shut", "disconnected")


def blank_positions(course: Course) -> Blanked | None:
    """Hand valves in normal use, motor valves without power; shut ones are half of them, if there are as many.

    None if there are no such valves.
    """
    network, drawing = course.facts.network, course.drawing
    valves = [network.parts[item.tag] for item in drawing.parts if position(network.parts[item.tag])]
    chosen = _chosen(course, valves)
    if not chosen:
        return None
    items = tuple(Item(part.tag, _when(part), position(part), _same(position(part))) for part in chosen)
    tags = {part.tag for part in valves}
    return Blanked(
        slug="positions",
        title="Set the valves",
        task=("Every valve is drawn hollow, whatever its position.", "Write where each valve of the table stands."),
        columns=("Valve", "When", "Position"),
        blank=replace(drawing, parts=tuple(_hollow(item) if item.tag in tags else item for item in drawing.parts)),
        solved=drawing,
        items=items,
        bank=tuple(sorted({item.expected for item in items})) if course.difficulty < 3 else (),
    )


def _chosen(course: Course, valves: list[Part]) -> list[Part]:
    mixed = shuffled(valves, lambda part: part.tag, course.mark, course.seed, "positions")
    shut = [part for part in mixed if position(part) in SHUT]
    others = [part for part in mixed if position(part) not in SHUT]
    count = COUNTS[course.difficulty]
    shut = shut[: max(count // 2, count - len(others))]
    taken = {part.tag for part in (*shut, *others[: count - len(shut)])}
    return [part for part in valves if part.tag in taken]


def position(part: Part) -> str:
    """Where a valve stands in normal use, a motor valve without power; "" for other parts."""
    kind = part.kind
    if kind.family != "valves" or not kind.positions:
        return ""
    if kind.moved_by == "hand":
        return str(part.value("normal", kind.normal) or "")
    return kind.rest if kind.moved_by == "motor" else ""


def _when(part: Part) -> str:
    return "without power" if part.kind.moved_by == "motor" else "in normal use"


def _same(word: str) -> tuple[str, ...]:
    return {"shut": ("closed",), "disconnected": ("taken off", "shut")}.get(word, ())


def _hollow(part: PartItem) -> PartItem:
    """The symbol without the filling that tells a shut valve."""
    return replace(part, shapes=tuple(map(_unfilled, part.shapes)))


def _unfilled(shape: Shape) -> Shape:
    if isinstance(shape, Text) or not shape.fill or shape.pen is None:
        return shape
    return replace(shape, fill=WHITE)
