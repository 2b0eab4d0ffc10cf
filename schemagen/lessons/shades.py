"""A drawing with some of it faint or left out: a drawing in, a drawing out, everything at its place."""

from collections.abc import Callable
from dataclasses import replace
from typing import Literal

from schemagen.drawing.drawing import Drawing, LabelItem, PartItem, PipeItem
from schemagen.drawing.shape import Circle, Shape, Text
from schemagen.drawing.style import Pen, Style

Shade = Literal["full", "faint", "absent"]

BLACK, WHITE = "#000000", "#ffffff"


def shaded(
    drawing: Drawing, of_pipe: Callable[[PipeItem], Shade], of_part: Callable[[PartItem], Shade], style: Style
) -> Drawing:
    """The drawing with pipes and parts in full pen, thin and grey, or left out; their arrows and labels with them.

    A joint has the arms of the pipes that are shown, and a dot where three of them meet.
    """
    pipes = {pipe.name: (pipe, of_pipe(pipe)) for pipe in drawing.pipes}
    parts = {part.tag: (part, of_part(part)) for part in drawing.parts}
    at = {end: shade for pipe, shade in pipes.values() for end in (pipe.start, pipe.end)}

    def shade_of(subject: str) -> Shade:
        return (parts.get(subject) or pipes.get(subject) or (None, "full"))[1]

    def drawn(part: PartItem, shade: Shade) -> PartItem:
        if part.kind == "tee":
            return _joint(part, at, style)
        return replace(part, shapes=tuple(faint(s, style) for s in part.shapes)) if shade == "faint" else part

    shown_pipes = [(p, s) for p, s in pipes.values() if s != "absent"]
    return replace(
        drawing,
        parts=tuple(drawn(part, shade) for part, shade in parts.values() if shade != "absent"),
        pipes=tuple(_faint_pipe(p, style) if s == "faint" else p for p, s in shown_pipes),
        arrows=tuple(
            replace(arrow, colour=_grey(style)) if shade_of(arrow.pipe) == "faint" else arrow
            for arrow in drawing.arrows
            if shade_of(arrow.pipe) != "absent"
        ),
        labels=tuple(
            _faint_label(label, style) if shade_of(label.subject) == "faint" else label
            for label in drawing.labels
            if shade_of(label.subject) != "absent"
        ),
        sections=tuple(s for s in drawing.sections if any(p.section == s for p, _ in shown_pipes)),
    )


def faint(shape: Shape, style: Style) -> Shape:
    """The shape in grey; what is white stays white."""
    grey = _grey(style)
    if isinstance(shape, Text):
        return replace(shape, colour=grey)
    pen = shape.pen and replace(shape.pen, colour=grey if shape.pen.colour != WHITE else WHITE)
    return replace(shape, pen=pen, fill=grey if shape.fill not in ("", WHITE) else shape.fill)


def only(drawing: Drawing, wanted: Callable[[PipeItem | PartItem], bool]) -> Drawing:
    """A drawing of some pipes and parts, for a legend."""
    pipes = tuple(filter(wanted, drawing.pipes))
    sections = tuple(s for s in drawing.sections if any(p.section == s for p in pipes))
    return replace(drawing, parts=tuple(filter(wanted, drawing.parts)), pipes=pipes, sections=sections)


def _grey(style: Style) -> str:
    return style.colours["still"]


def _faint_pipe(pipe: PipeItem, style: Style) -> PipeItem:
    return replace(pipe, pen=_faint_pen(pipe.pen, style))


def _faint_pen(pen: Pen, style: Style) -> Pen:
    return replace(pen, width=style.pens["still"], colour=_grey(style))


def _faint_label(label: LabelItem, style: Style) -> LabelItem:
    return replace(label, texts=tuple(faint(text, style) for text in label.texts))


def _joint(part: PartItem, at: dict[str, Shade], style: Style) -> PartItem:
    *arms, dot = part.shapes
    shades = [at.get(f"{part.tag}.{name}", "full") for name, _ in part.ports]
    drawn: list[Shape] = [
        replace(arm, pen=_faint_pen(arm.pen, style)) if shade == "faint" else arm
        for arm, shade in zip(arms, shades, strict=True)
        if shade != "absent"
    ]
    assert isinstance(dot, Circle)
    if len(drawn) > 2:
        drawn.append(faint(dot, style) if "full" not in shades else dot)
    return replace(part, shapes=tuple(drawn))
