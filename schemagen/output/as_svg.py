"""A sheet as SVG: one user unit is one millimetre, every property an attribute, nothing that needs a style or a script.

Only elements and attributes that common converters draw alike are used: no reference, marker, clip, pattern, filter or
font of the web. Attributes stand in the order in which they are given; numbers have three decimals at most.
"""

import math
import re
from collections.abc import Iterable, Iterator, Sequence
from html import escape

from schemagen.base.path import number, written
from schemagen.base.text import FAMILY, font_size_for
from schemagen.drawing.drawing import ArrowItem, Drawing, LabelItem, MarkItem, PartItem, PipeItem, PlaceItem
from schemagen.drawing.marks import mark_shapes
from schemagen.drawing.shape import Circle, Ellipse, Onto, Path, Rect, Shape, Text
from schemagen.drawing.style import MM_PER_UNIT, Pen
from schemagen.sheets.sheet import Block, Sheet

FONTS = f"{FAMILY}, 'DejaVu Sans Condensed', Arial, Helvetica, sans-serif"
_FORBIDDEN = re.compile("[\x00-\x08\x0b\x0c\x0e-\x1f\ud800-\udfff\ufffe\uffff]")
_IN_QUOTES = str.maketrans({'"': "&quot;", "\n": "&#10;", "\t": "&#9;", "\r": "&#13;"})
EMPHASIS = 2.4
"""Width of the grey band under a pipe that a finding names, in millimetres at the usual module."""


def encode(sheets: Sequence[Sheet], dpi: int = 0) -> tuple[bytes, ...]:
    """A file for each sheet. `dpi` is for formats made of dots."""
    return tuple(svg_text(sheet).encode("utf-8") for sheet in sheets)


def svg_text(sheet: Sheet, size: tuple[str, str] | None = None) -> str:
    """The file as text. `size` is the width and height to be shown at, if not the sheet's own in millimetres."""
    w, h = number(sheet.width), number(sheet.height)
    shown_w, shown_h = size or (f"{w}mm", f"{h}mm")
    body = [
        element("rect", x=0, y=0, width=w, height=h, fill="#ffffff"),
        *(_block(block) for block in sheet.blocks),
        *picture(sheet.drawing, sheet.onto),
    ]
    root = start_tag(
        "svg", xmlns="http://www.w3.org/2000/svg", width=shown_w, height=shown_h, viewBox=f"0 0 {w} {h}",
        role="img", lang="en", aria_labelledby="title desc", font_family=FONTS,
    )  # fmt: skip
    heads = [f'<title id="title">{escaped(sheet.title)}</title>', f'<desc id="desc">{escaped(sheet.desc)}</desc>']
    return "\n".join(('<?xml version="1.0" encoding="UTF-8"?>', root, *heads, *body, "</svg>", ""))


def picture(drawing: Drawing, onto: Onto, pipe=None, arrow=None, part=None, label=None) -> Iterator[str]:
    """Places first, then section by section in teaching order, then what lies on top.

    `pipe`, `arrow`, `part` and `label` write one of these instead of pipe_svg, arrow_svg, part_svg and label_svg.
    """
    pipe, arrow, part, label = pipe or pipe_svg, arrow or arrow_svg, part or part_svg, label or label_svg
    colour = onto.style.colours["emphasis"]
    yield from (place_svg(place, onto) for place in drawing.places)
    if glow := [*(_glow_box(box, onto, colour) for box in drawing.flagged_parts)] + [
        _glow(pipe, onto, colour) for pipe in drawing.pipes if pipe.flagged
    ]:
        yield group("emphasis", glow, aria_hidden="true")
    for section in (*drawing.sections, ""):
        inside = [pipe(item, onto) for item in drawing.pipes if item.section == section]
        inside += [arrow(item, onto) for item in drawing.arrows if item.section == section]
        inside += [part(item, onto) for item in drawing.parts if item.section == section]
        if inside:
            yield group("section", inside, data_section=section or "controls")
    yield group("labels", [label(item, onto) for item in drawing.labels])
    yield from (_mark(mark, onto) for mark in drawing.marks)


def place_svg(place: PlaceItem, onto: Onto) -> str:
    shapes = [shape_svg(onto.shape(s)) for s in (*place.sides, place.text)]
    return group("place", shapes, data_place=place.name)


def pipe_svg(pipe: PipeItem, onto: Onto, **more: str) -> str:
    """The pipe's path, with `more` attributes."""
    return element(
        "path", [_title(pipe.title, pipe.desc)],
        class_="pipe", data_from=pipe.start, data_to=pipe.end, data_medium=pipe.medium, data_section=pipe.section,
        data_size=pipe.size or None, data_half=pipe.half or None, data_moves=pipe.moves or None,
        d=_line(pipe, onto), fill="none",
        **_pen(onto.pen(pipe.pen)), **more,
    )  # fmt: skip


def _line(pipe: PipeItem, onto: Onto) -> str:
    """Absolute M, H and V from port point to port point, and A for each hop: bulging up, or left on an upright run."""
    first = pipe.points[0]
    out = [f"M{number(onto.x(first.x))} {number(onto.y(first.y))}"]
    for i, (a, b) in enumerate(zip(pipe.points, pipe.points[1:], strict=False)):
        level = a.y == b.y
        forward = 1 if (b.x > a.x or b.y > a.y) else -1
        for hop in (h for h in pipe.hops if h.segment == i):
            near, far = -forward * hop.radius, forward * hop.radius
            r = number(hop.radius * onto.scale)
            sweep = 1 if (level and forward > 0) or (not level and forward < 0) else 0
            if level:
                x, y = onto.x(hop.at.x + far), onto.y(hop.at.y)
                out.append(f"H{number(onto.x(hop.at.x + near))}A{r} {r} 0 0 {sweep} {number(x)} {number(y)}")
            else:
                x, y = onto.x(hop.at.x), onto.y(hop.at.y + far)
                out.append(f"V{number(onto.y(hop.at.y + near))}A{r} {r} 0 0 {sweep} {number(x)} {number(y)}")
        out.append(f"H{number(onto.x(b.x))}" if level else f"V{number(onto.y(b.y))}")
    return "".join(out)


def _glow(pipe: PipeItem, onto: Onto, colour: str) -> str:
    width = EMPHASIS * onto.scale / MM_PER_UNIT
    return element("path", class_="casing", d=_line(pipe, onto), fill="none", **_pen(Pen(width, colour)))


def _glow_box(box, onto: Onto, colour: str) -> str:
    width = EMPHASIS * onto.scale / MM_PER_UNIT
    frame = onto.shape(Rect(box.x - 2, box.y - 2, box.w + 4, box.h + 4, 4))
    return shape_svg(Rect(frame.x, frame.y, frame.w, frame.h, frame.r, Pen(width, colour)))


def arrow_svg(arrow: ArrowItem, onto: Onto, **more: str) -> str:
    """The arrow's triangle, with `more` attributes."""
    (x, y), (dx, dy) = arrow.tip, arrow.along
    back_x, back_y = x - dx * arrow.length, y - dy * arrow.length
    half = arrow.width / 2
    corners = ((x, y), (back_x - dy * half, back_y + dx * half), (back_x + dy * half, back_y - dx * half))
    points = "L".join(f"{number(onto.x(px))} {number(onto.y(py))}" for px, py in corners)
    d = f"M{points}Z"
    return element("path", class_="arrow", data_pipe=arrow.pipe, d=d, fill=arrow.colour, aria_hidden="true", **more)


def part_svg(part: PartItem, onto: Onto, ink: Iterable[str] | None = None, **more: str) -> str:
    """The part's group, `ink` instead of its own shapes if given, with `more` attributes or others for its own."""
    box = onto.shape(Rect(part.box.x, part.box.y, part.box.w, part.box.h))
    body = element("rect", class_="body", **_numbers(x=box.x, y=box.y, width=box.w, height=box.h), fill="none")
    ports = [_port(name, onto.x(at.x), onto.y(at.y)) for name, at in part.ports]
    own = (shape_svg(onto.shape(s)) for s in part.shapes) if ink is None else ink
    inside = [_title(part.title, part.desc), *own, body, *ports]
    spoken = {"role": "graphics-symbol img", "aria_label": part.title}
    if flag := part.connector:
        leads = {"data_pipe": flag.pipe, "data_way": "out" if flag.out else "in"}
        there = {"data_sheet": str(flag.sheet), "data_field": flag.field}
        return group("connector", inside, data_connector=flag.letters, **leads | there | spoken | more)
    return group("part", inside, data_part=part.tag, data_kind=part.kind, **spoken | more)


def _port(name: str, x: float, y: float) -> str:
    return element("circle", class_="port", data_port=name, **_numbers(cx=x, cy=y, r=0.1), fill="none")


def label_svg(label: LabelItem, onto: Onto, **more: str) -> str:
    """The label's group, with `more` attributes."""
    out = []
    if label.leader:
        ends = [(onto.x(p.x), onto.y(p.y)) for p in label.leader]
        out.append(_leader(ends, onto))
        out.append(shape_svg(Circle(*ends[-1], 1.5 * onto.scale, None, "#000000")))
    out += [shape_svg(onto.shape(s)) for s in (*label.ink, *label.texts)]
    return group(label.role, out, data_label_for=label.subject, **more)


def _mark(mark: MarkItem, onto: Onto) -> str:
    finding = mark.finding
    shapes = [shape_svg(onto.shape(s)) for s in mark_shapes(finding, mark.number, mark.at.x, mark.at.y)]
    if mark.leader:
        shapes.insert(0, _leader([(onto.x(p.x), onto.y(p.y)) for p in mark.leader], onto))
    title = _title(f"Finding {mark.number}, {finding.severity}: {finding.message}", finding.cure)
    return group(
        "finding", [title, *shapes], data_check=finding.check, data_severity=finding.severity, data_for=mark.subject,
        data_number=str(mark.number),
    )  # fmt: skip


def _leader(points: Sequence[tuple[float, float]], onto: Onto) -> str:
    d = "L".join(f"{number(x)} {number(y)}" for x, y in points)
    return element("path", class_="leader", d=f"M{d}", fill="none", **_pen(onto.pen(Pen(onto.style.pens["leader"]))))


def _block(block: Block) -> str:
    return group(block.name, [shape_svg(shape) for shape in block.shapes])


def shape_svg(shape: Shape) -> str:
    """A shape in millimetres as an element."""
    match shape:
        case Path(segments, pen, fill):
            return element("path", d=written(segments), fill=fill or "none", **_pen(pen))
        case Circle(x, y, r, pen, fill):
            return element("circle", **_numbers(cx=x, cy=y, r=r), fill=fill or "none", **_pen(pen))
        case Ellipse(x, y, rx, ry, pen, fill):
            return element("ellipse", **_numbers(cx=x, cy=y, rx=rx, ry=ry), fill=fill or "none", **_pen(pen))
        case Rect(x, y, w, h, r, pen, fill):
            size = _numbers(x=x, y=y, width=w, height=h) | (_numbers(rx=r) if r else {})
            return element("rect", **size, fill=fill or "none", **_pen(pen))
        case Text():
            return _letters(shape)
    raise TypeError(f"no such shape: {shape!r}")


def _letters(text: Text) -> str:
    """A line of text. The font size is rounded up, so that capitals are never lower than stated."""
    x, y = number(text.x), number(text.y)
    size = math.ceil(font_size_for(text.cap) * 100 - 1e-6) / 100
    return element(
        "text", [escaped(text.text)], x=x, y=y,
        font_size=number(size), font_weight="bold" if text.bold else None,
        text_anchor=None if text.anchor == "start" else text.anchor, fill=text.colour,
        transform=f"rotate(-90 {x} {y})" if text.turn else None, data_for=text.subject or None,
    )  # fmt: skip


def _pen(pen: Pen | None) -> dict[str, str]:
    if pen is None:
        return {}
    out = {"stroke": pen.colour, "stroke_width": number(pen.width)}
    if pen.pattern:
        out["stroke_dasharray"] = " ".join(number(d) for d in pen.pattern)
    if pen.skip:
        out["stroke_dashoffset"] = number(pen.skip)
    if pen.cap != "butt":
        out |= {"stroke_linecap": pen.cap, "stroke_linejoin": "round"}
    return out


def _numbers(**values: float) -> dict[str, str]:
    return {key: number(v) for key, v in values.items()}


def _title(title: str, desc: str) -> str:
    return f"<title>{escaped(title)}</title><desc>{escaped(desc)}</desc>"


def group(name: str, inside: Iterable[str], **attributes: str) -> str:
    return "\n".join((start_tag("g", class_=name, **attributes), *inside, "</g>"))


def element(name: str, inside: Sequence[str] = (), /, **attributes) -> str:
    start = start_tag(name, **attributes)
    return f"{start}{''.join(inside)}</{name}>" if inside else f"{start[:-1]}/>"


def start_tag(name: str, /, **attributes) -> str:
    """A start tag; in names `_` stands for `-`, and attributes that are None are left out."""
    given = ((key.rstrip("_").replace("_", "-"), value) for key, value in attributes.items() if value is not None)
    return f"<{name}" + "".join(f' {key}="{quoted(str(value))}"' for key, value in given) + ">"


def escaped(text: str) -> str:
    return escape(_clean(text), quote=False)


def quoted(text: str) -> str:
    return escaped(text).translate(_IN_QUOTES)


def _clean(text: str) -> str:
    """Without the characters that XML forbids: controls, halves of surrogate pairs, U+FFFE and U+FFFF."""
    return _FORBIDDEN.sub("", text)
