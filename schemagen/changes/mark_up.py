"""The drawing of both versions with every change marked.

Nothing hangs on colour: what was added has the thickest pen and a ring with +, what was removed the thinnest pen,
crosses and a ring with −, what has other values a ring with Δ and the old value struck through.
"""

from collections.abc import Iterator, Mapping, Sequence
from dataclasses import replace
from itertools import pairwise

from schemagen.base.finding import Finding
from schemagen.base.geometry import Box, Point
from schemagen.base.text import LABEL_SIZE, text_width
from schemagen.changes.changes import Changes, PartChange, PipeChange
from schemagen.changes.signs import SIGNS, ring
from schemagen.changes.union import Union
from schemagen.changes.words import counts_of, said_of
from schemagen.checks.check import Report
from schemagen.drawing.compose import DOT_RADIUS
from schemagen.drawing.drawing import Drawing, Hop, LabelItem, MarkItem, PartItem, PipeItem
from schemagen.drawing.pipe_lines import length_of, stretched, without_idle_points
from schemagen.drawing.shape import Circle, Shape, Text, line
from schemagen.drawing.style import Pen, Style, shipped_style
from schemagen.drawing.words import LONGEST
from schemagen.layout.placement import Plan
from schemagen.network.network import Pipe, PortId

CROSS = 5
"""Half the side of a cross, in units."""

BETWEEN = 60
"""Units from cross to cross on a long run."""

CLEAR = 12
"""Units that a cross keeps from the ends of its run, and from a crossing."""

LARGEST_CROSS = 20
"""Half the side of the largest cross over a symbol."""

THICKER = 2
"""Pens of an added symbol by this factor."""

_CROSS_PEN, _LEADER = Pen(0.35), Pen(0.25)

STRIKE = 0.36
"""How high a line through letters lies, in heights of capitals."""


def marks_wanted(changes: Changes, union: Union, plan: Plan) -> tuple[Report, tuple[tuple[int, str], ...]]:
    """What is to be marked on the union's drawing, as findings, and the number and sign of each mark.

    A change is carried as a finding, so that its mark finds its place by the same rules; of several pipes the longest
    has it.
    """
    findings, signs = [], []
    for number, change in enumerate(changes.rows, 1):
        title = said_of(changes, change)
        for sort, parts, pipes in _places(change, union):
            longest_first = sorted(pipes, key=lambda i: -_length(plan, i))
            names = tuple(union.network.pipes[i].pair for i in longest_first)
            findings.append(Finding(change.sort, "warning", title, "", parts, names))
            signs.append((number, SIGNS[sort]))
    return Report(tuple(findings), (), 0), tuple(signs)


def _length(plan: Plan, pipe: int) -> int:
    return sum(length_of(*run) for run in pairwise(plan.routes[pipe].points)) if pipe in plan.routes else 0


def _places(change: PartChange | PipeChange, union: Union) -> Iterator[tuple[str, tuple[str, ...], tuple[int, ...]]]:
    """Sort, tags and pipes of each mark of a change: two for a pipe that leads elsewhere."""
    if isinstance(change, PartChange):
        yield change.sort, ((change.new or union.old_tags[change.old]),), ()
    elif change.sort == "removed":
        yield "removed", (), tuple(union.old_pipes[i] for i in change.old)
    else:
        yield change.sort, (), tuple(union.new_pipes[i] for i in change.new)
        if change.sort == "re-piped":
            yield "removed", (), tuple(union.old_pipes[i] for i in change.old)


def marked(
    drawing: Drawing, plan: Plan, changes: Changes, union: Union, signs: Sequence[tuple[int, str]],
    style: Style | None = None,
) -> Drawing:  # fmt: skip
    """The union's drawing with its changes shown. `signs` are number and sign of each of the drawing's marks."""
    style = style or shipped_style()
    drawn = [pipe for pipe in union.network.pipes if pipe.index in plan.routes]
    sort_of = [union.pipes.get(pipe.index, "") for pipe in drawn]
    pipes = [_pipe(item, sort, style) for item, sort in zip(drawing.pipes, sort_of, strict=True)]
    at = {
        port: (item, sort)
        for pipe, item, sort in zip(drawn, pipes, sort_of, strict=True)
        for port in (pipe.start, pipe.end)
    }
    whole = list(_whole(drawn, pipes, union, plan, style))
    removed = [item for item, sort in whole if sort == "removed"]
    gone = {item.name for item in removed}
    labels = [_struck(label, union) for label in drawing.labels]
    return replace(
        drawing,
        title=f"{drawing.title}: changes",
        desc=_desc(changes),
        parts=tuple(_part(p, union, at, style) for p in drawing.parts if union.parts.get(p.tag) != "stand-in"),
        pipes=tuple(item for item, _ in whole),
        arrows=tuple(arrow for arrow in drawing.arrows if arrow.pipe not in gone),
        labels=(*labels, *map(_crossed, removed), *(_mark(mark, *signs[mark.number - 1]) for mark in drawing.marks)),
        marks=(),
        flagged_parts=(),
        circuits=(),
    )


def _desc(changes: Changes) -> str:
    """The changes in sentences, as many as fit."""
    out = f"Changes between two versions: {counts_of(changes)}."
    for number, change in enumerate(changes.rows, 1):
        longer = f"{out} {number}: {said_of(changes, change)}."
        if len(longer) > LONGEST:
            break
        out = longer
    return out


# pipes and parts


def _pipe(item: PipeItem, sort: str, style: Style) -> PipeItem:
    pen, said = item.pen, item.title
    if sort == "added":
        pen, said = replace(pen, width=style.pens["added"]), f"Added: {said}"
    if sort == "removed":
        pen, said = Pen(style.pens["removed"], style.colours["still"]), f"Removed: {said}"
    return replace(item, pen=pen, title=said, flagged=False)


def _whole(
    drawn: Sequence[Pipe], items: Sequence[PipeItem], union: Union, plan: Plan, style: Style
) -> Iterator[tuple[PipeItem, str]]:
    """The pipes with their sorts; the pieces on both sides of a stand-in are one pipe again, from port to port."""
    begins: dict[PortId, int] = {pipe.start: n for n, pipe in enumerate(drawn)}
    for n, (pipe, item) in enumerate(zip(drawn, items, strict=True)):
        sort = union.pipes.get(pipe.index, "")
        if union.parts.get(pipe.start.tag) == "stand-in" and pipe.start.port == "b":
            continue
        points, joined = [*item.points], [item]
        while union.parts.get(drawn[n].end.tag) == "stand-in" and drawn[n].end.port == "a":
            joint = drawn[n].end.tag
            n = begins[PortId(joint, "b")]
            points += [plan.parts[joint].box.centre, *items[n].points]
            joined.append(items[n])
        if len(joined) > 1:
            way = without_idle_points(tuple(points))
            over = tuple(_hops_on(way, joined))
            pen = item.pen if sort == "removed" else replace(style.sections[item.section].pen, width=item.pen.width)
            item = replace(item, points=way, hops=over, pen=stretched(pen, way, over))
        yield item, sort


def _hops_on(way: Sequence[Point], pieces: Sequence[PipeItem]) -> Iterator[Hop]:
    """The hops of pieces on the whole way: each on the run that goes as its piece went, as a way may cross itself."""
    for i, (a, b) in enumerate(pairwise(way)):
        here = [
            Hop(i, hop.at, hop.radius)
            for piece in pieces
            for hop in piece.hops
            if _is_level(piece.points, hop.segment) == (a.y == b.y) and _lies_between(a, hop.at, b)
        ]
        yield from sorted(here, key=lambda hop: length_of(a, hop.at))


def _is_level(points: Sequence[Point], segment: int) -> bool:
    return points[segment].y == points[segment + 1].y


def _lies_between(a: Point, p: Point, b: Point) -> bool:
    return length_of(a, p) + length_of(p, b) == length_of(a, b)


def _part(part: PartItem, union: Union, at: Mapping[PortId, tuple[PipeItem, str]], style: Style) -> PartItem:
    sort = union.parts.get(part.tag, "")
    said = f"{sort.capitalize()}: {part.title}" if sort else part.title
    facts = tuple(fact for fact in part.facts if fact[0] != "lines")
    if part.kind == "tee":
        shapes = tuple(_joint(part, sort, at))
    elif sort == "removed":
        shapes = (*(_thin(shape, style) for shape in part.shapes), *_cross(*part.box.centre, _reach(part.box)))
    elif sort == "added":
        shapes = tuple(_thick(shape) for shape in part.shapes)
    else:
        shapes = part.shapes
    return replace(part, shapes=shapes, title=said, facts=facts)


def _joint(part: PartItem, sort: str, at: Mapping[PortId, tuple[PipeItem, str]]) -> Iterator[Shape]:
    """The arms of a tee in the pens of its pipes, and its dot; a removed tee that is left in a pipe is no joint."""
    centre = part.box.centre
    met = {name: at[PortId(part.tag, name)] for name, _ in part.ports if PortId(part.tag, name) in at}
    left = [name for name, (_, of) in met.items() if of != "removed"]
    cut = sort == "removed" and bool(left)
    for name, end in part.ports:
        if name in met and not (cut and name not in left):
            pen = met[name][0].pen
            yield line((end, centre), Pen(pen.width, pen.colour))
    if not cut:
        yield Circle(centre.x, centre.y, DOT_RADIUS, None, "#000000")


def _thick(shape: Shape) -> Shape:
    if isinstance(shape, Text) or shape.pen is None:
        return shape
    return replace(shape, pen=replace(shape.pen, width=THICKER * shape.pen.width))


def _thin(shape: Shape, style: Style) -> Shape:
    """The shape in the thin grey pen; black fills in grey."""
    grey = style.colours["still"]
    if isinstance(shape, Text):
        return replace(shape, colour=grey)
    pen = shape.pen and replace(shape.pen, width=min(shape.pen.width, style.pens["rule"]), colour=grey)
    return replace(shape, pen=pen, fill=grey if shape.fill == "#000000" else shape.fill)


def _reach(box: Box) -> float:
    return min(min(box.w, box.h) / 2 + CROSS, LARGEST_CROSS)


def _cross(x: float, y: float, reach: float) -> tuple[Shape, Shape]:
    return tuple(line(((x - reach, y - d * reach), (x + reach, y + d * reach)), _CROSS_PEN) for d in (1, -1))


def _crossed(pipe: PipeItem) -> LabelItem:
    """Crosses along a pipe, clear of its ends and crossings; at least one."""
    runs = sorted(pairwise(pipe.points), key=lambda run: -length_of(*run))
    hops = [hop.at for hop in pipe.hops]
    spots = [spot for run in runs for spot in _along(*run) if all(length_of(spot, hop) > CLEAR for hop in hops)]
    if not spots:
        a, b = runs[0]
        spots = [Point((a.x + b.x) // 2, (a.y + b.y) // 2)]
    ink = tuple(shape for spot in spots for shape in _cross(*spot, CROSS))
    return LabelItem(pipe.name, "cross", pipe.section, (), ink=ink)


def _along(a: Point, b: Point) -> Iterator[Point]:
    whole = length_of(a, b)
    count = 1 + (whole - 2 * CLEAR) // BETWEEN if whole > 2 * CLEAR + CROSS else 0
    for n in range(count):
        share = (2 * n + 1) / (2 * count)
        yield Point(round(a.x + (b.x - a.x) * share), round(a.y + (b.y - a.y) * share))


# letters and marks


def _struck(label: LabelItem, union: Union) -> LabelItem:
    """A label with a line through what holds no longer."""
    if label.role == "code":
        ink = [_line_through(t, union.struck_sizes[t.text]) for t in label.texts if t.text in union.struck_sizes]
    else:
        caption = union.captions.get(label.subject, ())
        ink = [_line_through(t, t.text) for t, (_, old) in zip(label.texts, caption, strict=False) if old]
    return replace(label, ink=(*label.ink, *ink)) if ink else label


def _line_through(text: Text, words: str) -> Shape:
    """A line through the first words of a text."""
    whole, wide = (text_width(said, LABEL_SIZE, text.bold) for said in (text.text, words))
    start = -{"start": 0.0, "middle": whole / 2, "end": whole}[text.anchor]
    a, b, up = start - 1, start + wide + 1, STRIKE * text.cap
    if text.turn:
        return line(((text.x - up, text.y - a), (text.x - up, text.y - b)), _CROSS_PEN)
    return line(((text.x + a, text.y - up), (text.x + b, text.y - up)), _CROSS_PEN)


def _mark(mark: MarkItem, number: int, sign: str) -> LabelItem:
    """The ring of a change where the mark of a finding would stand, with a line to its place if it had to stand off."""
    disc, text = ring(sign, number, mark.at.x, mark.at.y)
    leader = (line(mark.leader, _LEADER),) if mark.leader else ()
    return LabelItem(mark.subject, "change", "", (replace(text, subject=mark.subject),), ink=(*leader, disc))
