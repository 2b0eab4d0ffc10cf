"""Makes a drawing of a plan: symbols, lines, arrows, letters, outlines and the marks of findings."""

from collections.abc import Iterator, Mapping
from dataclasses import replace
from itertools import pairwise
from math import ceil, floor
from typing import TYPE_CHECKING

from schemagen.base.geometry import MODULE, Box, Point
from schemagen.base.text import LABEL_CAP, LABEL_SIZE
from schemagen.checks.check import Report
from schemagen.drawing.arrows import arrows_on, turned_round
from schemagen.drawing.codes import area_of, code_letters
from schemagen.drawing.drawing import ArrowItem, Connector, Drawing, LabelItem, MarkItem, PartItem, PipeItem, PlaceItem
from schemagen.drawing.figures import figures_at
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.marks import finding_marks, mark_radius
from schemagen.drawing.pipe_lines import hops_of, stretched, without_idle_points
from schemagen.drawing.shape import Circle, Shape, Text, line, shape_of
from schemagen.drawing.style import Pen, Style, shipped_style
from schemagen.drawing.symbol_ink import part_ink
from schemagen.drawing.words import (
    drawing_desc,
    drawing_title,
    part_desc,
    part_title,
    pipe_desc,
    pipe_title,
    state_desc,
    state_pipe_desc,
)
from schemagen.layout.hints import refused
from schemagen.layout.placement import Label, PlaceBox, Placed, Plan
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.waters import SECTIONS, Waters

if TYPE_CHECKING:
    from schemagen.operation.state_view import StateView

CLEAR = 3
"""Units that letters and marks keep from symbols."""

DOT_RADIUS = 0.4 * MODULE
ASCENT, LINE_BOX = 0.928, 1.164
"""Height of a line of text above its baseline, and in all, in em (the font's own figures)."""


def compose(
    network: Network, waters: Waters, plan: Plan, report: Report, style: Style | None = None,
    view: "StateView | None" = None,
) -> Drawing:  # fmt: skip
    """The drawing of a plan, with a mark for every finding that has a place on it.

    With a `view` the same drawing shows one state: everything stands at the same place, pipes in which water moves
    have their full pen and arrows the way it goes, the others are thin and grey, and symbols show their positions.

    After: no letter, arrow or mark that is added here lies on a symbol, a label or (arrows excepted) a pipe.
    """
    style = style or shipped_style()
    pipes = _pipes(network, waters, plan, report, style)
    shown = pipes if view is None else {i: _in_state(pipe, view.directions[i], style) for i, pipe in pipes.items()}
    parts = _parts(network, shown, plan, view)
    places = tuple(_place(box, style) for box in plan.places)
    labels = tuple(_label(label) for label in _tags(plan))
    solid = Taken([*_solid(parts, plan, -0.5), *_crossings(pipes)])
    arrows = _arrows(pipes, waters, solid)
    taken = Taken([*_solid(parts, plan, CLEAR), *_crossings(pipes)])
    for area in _thin(pipes, arrows, places):
        taken.add(area)
    marks = finding_marks(report.findings, parts, {(p.start, p.end): p for p in pipes.values()}, taken, solid)
    solid = Taken([*_solid(parts, plan, -0.5), *_crossings(pipes), *_added(marks, ())])
    codes, unwritten = code_letters(tuple(pipes.values()), style, taken, solid)
    figures: tuple[LabelItem, ...] = ()
    if view is not None:
        figures = tuple(figures_at(shown, view.figures, taken))
        solid = Taken([*_solid(parts, plan, -0.5), *_crossings(pipes), *_added(marks, codes + figures)])
        arrows = tuple(_state_arrows(shown, arrows, solid))
    account = " ".join(view.account) if view else ""
    desc = drawing_desc(network, waters, report, style)
    return Drawing(
        title=drawing_title(network),
        desc=state_desc(account, desc) if view else desc,
        parts=tuple(parts.values()),
        pipes=tuple(shown.values()),
        arrows=arrows,
        labels=labels + codes + figures,
        marks=marks,
        places=places,
        sections=tuple(s for s in SECTIONS if any(p.section == s for p in pipes.values())),
        flagged_parts=tuple(_flagged_boxes(report, parts)),
        box=_whole(plan, marks, codes + figures),
        state=view.title if view else "",
        account=account,
        circuits=waters.circuits,
        unwritten=unwritten,
        refused=refused(network, plan),
    )


def _pipes(network: Network, waters: Waters, plan: Plan, report: Report, style: Style) -> Mapping[int, PipeItem]:
    flagged = {frozenset(pair) for finding in report.findings for pair in finding.pipes}
    out = {}
    for pipe in network.pipes:
        route = plan.routes.get(pipe.index)
        if route is None:
            continue
        section = style.sections[waters.section[pipe.index]]
        points = without_idle_points(route.points)
        hops = hops_of(points, route.hops)
        out[pipe.index] = PipeItem(
            start=str(pipe.listed.start),
            end=str(pipe.listed.end),
            medium=waters.medium[pipe.index],
            section=section.section,
            size=pipe.size_text,
            points=points,
            hops=hops,
            pen=stretched(section.pen, points, hops),
            flagged=frozenset(pipe.pair) in flagged,
            title=pipe_title(pipe, section),
            desc=pipe_desc(waters.medium[pipe.index], waters.carries[pipe.index]),
            half=_half(network, pipe),
        )
    return out


def _half(network: Network, pipe: Pipe) -> str:
    """Which end of a pipe is on this sheet, if the other one is not."""
    return "end" if network.parts[pipe.start.tag].leads_on else "start" if network.parts[pipe.end.tag].leads_on else ""


def _in_state(pipe: PipeItem, direction: int, style: Style) -> PipeItem:
    """A pipe as it is in a state; one that stands still keeps its pattern, thin and grey."""
    moves = {1: "forward", -1: "backward", 0: "still"}[direction]
    pen = pipe.pen if direction else replace(pipe.pen, width=style.pens["still"], colour=style.colours["still"])
    return replace(pipe, pen=pen, moves=moves, desc=state_pipe_desc(pipe.medium, moves))


def _state_arrows(pipes: Mapping[int, PipeItem], plain: tuple[ArrowItem, ...], taken: Taken) -> Iterator[ArrowItem]:
    """The arrows of the plain drawing where water moves, turned round where it goes the other way.

    A pipe that has none there (water moves in it only while the system is filled) gets its own.
    """
    for pipe in pipes.values():
        if pipe.moves != "still":
            own = [arrow for arrow in plain if arrow.pipe == pipe.name] or arrows_on(pipe, taken)
            yield from own if pipe.moves == "forward" else map(turned_round, own)


def _parts(
    network: Network, pipes: Mapping[int, PipeItem], plan: Plan, view: "StateView | None"
) -> Mapping[str, PartItem]:
    return {
        tag: _part(network.parts[tag], placed, network, pipes, view.positions.get(tag, "") if view else "")
        for tag, placed in plan.parts.items()
    }  # fmt: skip


def _part(
    part: Part, placed: Placed, network: Network, pipes: Mapping[int, PipeItem], position: str
) -> PartItem:
    at = {}
    for name in part.kind.ports:
        for pipe in network.pipes_at.get(PortId(part.tag, name), ()):
            if pipe.index in pipes:
                at[name] = pipes[pipe.index]
    if part.kind.name == "tee":
        shapes = _joint(placed, at)
    else:
        shapes = tuple(shape_of(ink) for ink in part_ink(part, placed, (position,) if position else ()))
    return PartItem(
        tag=part.tag,
        kind=part.kind.name,
        box=placed.box,
        turn=placed.turn,
        mirror=placed.mirror,
        ports=tuple((name, port.at) for name, port in placed.ports.items()),
        shapes=shapes,
        section=min((pipe.section for pipe in at.values()), key=SECTIONS.index, default=""),
        title=part_title(part),
        desc=part_desc(part, network) + (f" In this state: {position}." if position else ""),
        name=part.kind.title,
        facts=tuple(part.texts.items()),
        near=_near(part, network),
        position=position,
        connector=_connector(at["to"]) if part.leads_on else None,
    )


def _connector(pipe: PipeItem) -> Connector:
    return Connector(pipe.name, out=pipe.half == "start")


def _near(part: Part, network: Network) -> tuple[str, ...]:
    """Tags of what it is joined to without a pipe, each once."""
    host = network.host_of(part.tag)
    tags = (
        *((host.tag,) if host else ()),
        *network.mounted_on.get(part.tag, ()),
        *part.value("switches", ()),
        *network.switched_by.get(part.tag, ()),
    )
    return tuple(dict.fromkeys(tag for tag in tags if tag in network.parts))


def _joint(placed: Placed, pipes: Mapping[str, PipeItem]) -> tuple[Shape, ...]:
    """A tee: its arms in the pens of the pipes that meet, and the dot, grey only where all of them stand still."""
    centre = placed.box.centre
    pens = {name: pipe.pen for name, pipe in pipes.items()}
    colours = {p.pen.colour for p in pipes.values() if p.moves != "still"} or {pen.colour for pen in pens.values()}
    arms = (
        line((port.at, centre), Pen(pens[name].width, pens[name].colour) if name in pens else Pen(0.35))
        for name, port in placed.ports.items()
    )
    return *arms, Circle(centre.x, centre.y, DOT_RADIUS, None, colours.pop() if len(colours) == 1 else "#000000")


def _place(place: PlaceBox, style: Style) -> PlaceItem:
    """Each side is a line of its own, so that the chain begins and ends on a dash at every corner."""
    box, pen = place.box, Pen(style.pens["place"], pattern=style.patterns["place"])
    corners = (Point(box.x, box.y), Point(box.right, box.y), Point(box.right, box.bottom), Point(box.x, box.bottom))
    sides = tuple(line(side, stretched(pen, side)) for side in pairwise((*corners, corners[0])))
    (text,) = _lines((place.name,), place.label, "start", 0, bold_first=False, subject="")
    return PlaceItem(place.name, box, sides, text)


def _tags(plan: Plan) -> list[Label]:
    """Labels of parts; those of pipes are set here, where their sections' letters are known."""
    return [label for label in plan.labels if label.subject in plan.parts]


def _label(label: Label) -> LabelItem:
    texts = _lines(label.lines, label.box, label.anchor, label.turn, True, label.subject)
    return LabelItem(label.subject, "tag", "", texts, label.leader)


def _lines(lines, box: Box, anchor: str, turn: int, bold_first: bool, subject: str) -> tuple[Text, ...]:
    """The lines of a text block, spread evenly over its box; turned ones run upwards, the first at the left."""
    across, along = (box.w, box.h) if turn else (box.h, box.w)
    step = across / len(lines)
    down = (step - LINE_BOX * LABEL_SIZE) / 2 + ASCENT * LABEL_SIZE
    shift = {"start": 1.0, "middle": along / 2, "end": along - 1.0}[anchor]
    out = []
    for i, text in enumerate(lines):
        x, y = (box.x + i * step + down, box.bottom - shift) if turn else (box.x + shift, box.y + i * step + down)
        out.append(Text(x, y, text, LABEL_CAP, bold_first and i == 0, anchor, turn, subject=subject))
    return tuple(out)


def _arrows(pipes: Mapping[int, PipeItem], waters: Waters, taken: Taken) -> tuple[ArrowItem, ...]:
    out: list[ArrowItem] = []
    for index, pipe in pipes.items():
        if waters.carries[index]:
            out += arrows_on(pipe, taken)
    return tuple(out)


def _solid(parts: Mapping[str, PartItem], plan: Plan, clear: float):
    """Symbols and texts: what nothing may be set upon."""
    for part in parts.values():
        yield _area_of(part.box).grown(clear)
    for label in _tags(plan):
        yield _area_of(label.box)
    for place in plan.places:
        yield _area_of(place.label)


def _crossings(pipes: Mapping[int, PipeItem]):
    """The half circles of hops, which bulge upwards, or to the left on an upright pipe."""
    for pipe in pipes.values():
        for hop in pipe.hops:
            (x, y), r = hop.at, hop.radius
            level = pipe.points[hop.segment].y == pipe.points[hop.segment + 1].y
            yield Area(x - r, y - r, x + r, y + 0.5) if level else Area(x - r, y - r, x + 0.5, y + r)


def _thin(pipes: Mapping[int, PipeItem], arrows: tuple[ArrowItem, ...], places: tuple[PlaceItem, ...]):
    """Lines and arrows: what letters and marks keep off as well."""
    for pipe in pipes.values():
        for a, b in pairwise(pipe.points):
            yield Area(min(a.x, b.x), min(a.y, b.y), max(a.x, b.x), max(a.y, b.y)).grown(1.4)
    for arrow in arrows:
        (x, y), (dx, dy) = arrow.tip, arrow.along
        yield Area(x, y, x, y).grown(arrow.width / 2)
        yield Area(x - dx * arrow.length, y - dy * arrow.length, x - dx * arrow.length, y - dy * arrow.length).grown(
            arrow.width / 2
        )
    for place in places:
        for side in place.sides:
            (_, a), (_, b) = side.segments
            yield Area(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1])).grown(2)


def _added(marks: tuple[MarkItem, ...], codes: tuple[LabelItem, ...]) -> Iterator[Area]:
    """Marks and letters that stand already."""
    for mark in marks:
        yield Area(mark.at.x, mark.at.y, mark.at.x, mark.at.y).grown(1.35 * mark_radius(mark.number))
    yield from map(area_of, codes)


def _area_of(box: Box) -> Area:
    return Area(box.x, box.y, box.right, box.bottom)


def _flagged_boxes(report: Report, parts: Mapping[str, PartItem]):
    """Boxes of the parts that findings with no pipe speak of, each once."""
    tags = dict.fromkeys(tag for finding in report.findings if not finding.pipes for tag in finding.parts)
    return (parts[tag].box for tag in tags if tag in parts)


def _whole(plan: Plan, marks: tuple[MarkItem, ...], codes: tuple[LabelItem, ...]) -> Box:
    box = plan.box
    for mark in marks:
        r = round(1.35 * mark_radius(mark.number)) + 1
        box = box.joined(Box(mark.at.x - r, mark.at.y - r, 2 * r, 2 * r))
    for label in codes:
        left, top, right, bottom = area_of(label)
        box = box.joined(Box(floor(left), floor(top), ceil(right - left) + 1, ceil(bottom - top) + 1))
    return box
