"""The picture of the page: the plain drawing as SVG, with the ink that parts have in other states beside their own."""

from collections.abc import Mapping, Sequence
from dataclasses import replace
from functools import reduce

from schemagen.base.geometry import Box
from schemagen.base.path import number
from schemagen.drawing.arrows import turned_round
from schemagen.drawing.drawing import ArrowItem, Drawing, LabelItem, PartItem, PipeItem
from schemagen.drawing.shape import Onto
from schemagen.drawing.style import MM_PER_UNIT, Style
from schemagen.output.as_svg import (
    FONTS,
    arrow_svg,
    escaped,
    group,
    label_svg,
    part_svg,
    picture,
    pipe_svg,
    shape_svg,
    start_tag,
)

PAD = 3.0
"""White round the picture, in millimetres."""


def page_picture(plain: Drawing, states: Sequence[Drawing], style: Style) -> str:
    """The SVG. Every part and pipe has an id (part-0 …, pipe-0 … in the order of the drawing) and can take the focus.

    A part that looks different in some states has its ink in groups: class "ink", data-states "plain", "0", "1" ….
    An arrow that is there in states only has data-extra; a label that is, data-states with their numbers.
    """
    onto = page_onto(plain, states, style)
    box = _whole(plain, states)
    w, h = (number(side * onto.scale + 2 * PAD) for side in (box.w, box.h))
    part_ids = {id(part): f"part-{i}" for i, part in enumerate(plain.parts)}
    pipe_ids = {id(pipe): f"pipe-{i}" for i, pipe in enumerate(plain.pipes)}
    inks = {part.tag: _inks(part, [s.parts[i] for s in states], onto) for i, part in enumerate(plain.parts)}
    known = {arrow.pipe for arrow in plain.arrows}
    extra = _extra_arrows(known, states)
    told = _state_labels(plain, states)

    def pipe_of(pipe: PipeItem, onto: Onto) -> str:
        return pipe_svg(pipe, onto, id=pipe_ids[id(pipe)], **_focusable("pipe", pipe.title))

    def arrow_of(arrow: ArrowItem, onto: Onto) -> str:
        return arrow_svg(arrow, onto, **({} if arrow.pipe in known else {"data_extra": "yes"}))

    def part_of(part: PartItem, onto: Onto) -> str:
        return part_svg(part, onto, inks[part.tag], id=part_ids[id(part)], **_focusable("part", part.title))

    def label_of(label: LabelItem, onto: Onto) -> str:
        return label_svg(label, onto, **({"data_states": " ".join(told[label])} if label in told else {}))

    whole = replace(plain, arrows=(*plain.arrows, *extra), labels=(*plain.labels, *told))
    return "\n".join(
        (
            start_tag(
                "svg", xmlns="http://www.w3.org/2000/svg", id="picture", viewBox=f"0 0 {w} {h}", role="group",
                aria_labelledby="picture-title", font_family=FONTS,
            ),
            f'<title id="picture-title">{escaped(plain.title)}</title><desc>{escaped(plain.desc)}</desc>',
            *picture(whole, onto, pipe_of, arrow_of, part_of, label_of),
            "</svg>",
        )
    )  # fmt: skip


def page_onto(plain: Drawing, states: Sequence[Drawing], style: Style) -> Onto:
    """How the drawing stands in the picture: in millimetres, PAD from the edges in every state."""
    scale, box = MM_PER_UNIT, _whole(plain, states)
    return Onto(style, scale, PAD - box.x * scale, PAD - box.y * scale)


def _whole(plain: Drawing, states: Sequence[Drawing]) -> Box:
    return reduce(Box.joined, (state.box for state in states), plain.box)


def symbol(part: PartItem, style: Style) -> str:
    """The symbol of a part by itself, a picture for a list."""
    box, scale = part.box, MM_PER_UNIT
    onto = Onto(style, scale, 1 - box.x * scale, 1 - box.y * scale)
    w, h = (number(side * scale + 2) for side in (box.w, box.h))
    start = start_tag(
        "svg", class_="symbol", viewBox=f"0 0 {w} {h}", width=f"{w}mm", height=f"{h}mm", aria_hidden="true",
        font_family=FONTS,
    )  # fmt: skip
    return "".join((start, *(shape_svg(onto.shape(s)) for s in part.shapes), "</svg>"))


def _focusable(word: str, title: str) -> dict[str, str]:
    return {"tabindex": "-1", "role": "button", "aria_roledescription": word, "aria_label": title}


def _inks(part: PartItem, in_states: Sequence[PartItem], onto: Onto) -> list[str] | None:
    """One group for each look, None if the part always looks alike."""
    looks = {part.shapes: ["plain"]}
    for n, other in enumerate(in_states):
        looks.setdefault(other.shapes, []).append(str(n))
    if len(looks) == 1:
        return None
    return [
        group(
            "ink" if "plain" in names else "ink off",
            [shape_svg(onto.shape(s)) for s in shapes],
            data_states=" ".join(names),
        )
        for shapes, names in looks.items()
    ]


def _state_labels(plain: Drawing, states: Sequence[Drawing]) -> dict[LabelItem, list[str]]:
    """Labels that only states have (temperatures, flows), each with the numbers of its states."""
    usual, found = set(plain.labels), {}
    for n, state in enumerate(states):
        for label in state.labels:
            if label not in usual:
                found.setdefault(label, []).append(str(n))
    return found


def _extra_arrows(known: set[str], states: Sequence[Drawing]) -> list[ArrowItem]:
    """Arrows, the way of the list, on pipes in which water moves in some state but never in plain use."""
    found: Mapping[str, list[ArrowItem]] = {}
    for drawing in states:
        moves = {pipe.name: pipe.moves for pipe in drawing.pipes}
        fresh = [arrow for arrow in drawing.arrows if arrow.pipe not in known and arrow.pipe not in found]
        for arrow in fresh:
            found.setdefault(arrow.pipe, []).append(turned_round(arrow) if moves[arrow.pipe] == "backward" else arrow)
    return [arrow for arrows in found.values() for arrow in arrows]
