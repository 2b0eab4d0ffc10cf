"""Shapes as DXF entities. A place to draw on is a block or the model space; lengths are millimetres, y upwards."""

import math
import re
from collections.abc import Sequence
from itertools import pairwise

from schemagen.base.path import Segment
from schemagen.drawing.shape import Circle, Ellipse, Path, Rect, Shape, Text
from schemagen.drawing.style import Pen
from schemagen.output.plain_text import plain

BLACK, WHITE = "#000000", "#ffffff"
BY_LAYER, FOREGROUND = 256, 7
"""Colour numbers: as the layer has it; black on white paper, white on a black screen."""

STEPS = 16
"""Straight pieces for one curve that is no part of a circle."""

PERIOD = 10.0
"""Millimetres of one period of the line types made for patterns that are no section's."""

LONGEST_TEXT = 600
"""Most characters of one line: readers of the format take 2049 at most, and a sign may have to be written as three."""

STYLES = {False: "PLAN", True: "PLAN-BOLD"}

Vertex = tuple[float, float, float]
"""x, y and the bulge to the next vertex: the tangent of a quarter of the arc's angle, positive anticlockwise."""


def draw(on, shape: Shape, height: float, layer: str) -> None:
    """Draws a shape that is in millimetres with y downwards from the top of something `height` high."""
    match shape:
        case Text():
            _text(on, shape, height, layer)
        case Circle(x, y, r, pen, fill):
            _lines(on, [([(x - r, height - y, 1.0), (x + r, height - y, 1.0)], True)], pen, fill, layer)
        case Path(segments, pen, fill):
            _lines(on, [(flipped(run, height), closed) for run, closed in runs_of(segments)], pen, fill, layer)
        case Rect():
            _lines(on, [(flipped(_corners(shape), height), True)], shape.pen, shape.fill, layer)
        case Ellipse():
            _lines(on, [(flipped(_round(shape), height), True)], shape.pen, shape.fill, layer)


def flipped(run: Sequence[Vertex], height: float) -> list[Vertex]:
    """The run with y upwards from the bottom of something `height` high."""
    return [(x, height - y, -bulge) for x, y, bulge in run]


def polyline(on, run: Sequence[Vertex], closed: bool, pen: Pen, layer: str, **attributes):
    """A line with the pen's width, colour and pattern."""
    line = on.add_lwpolyline(
        [(round(x, 4), round(y, 4), round(bulge, 6)) for x, y, bulge in run], format="xyb", close=closed,
        dxfattribs={"layer": layer, "flags": 128 + closed, **ink(pen, on.doc), **attributes},
    )  # fmt: skip
    return line


def ink(pen: Pen, doc) -> dict:
    """Colour, line weight and line type of a pen as attributes; the line type is made if it is new."""
    return colour(pen.colour) | {"lineweight": round(pen.width * 100)} | dashes(doc, pen.pattern)


def colour(hue: str) -> dict:
    return {"color": FOREGROUND} if hue == BLACK else {"true_color": int(hue[1:], 16)}


def dashes(doc, pattern: Sequence[float]) -> dict:
    """Line type and scale of a pattern of dashes and gaps in millimetres. Patterns alike but for scale share a type."""
    if not pattern:
        return {"linetype": "CONTINUOUS"}
    period = sum(pattern)
    shares = [round(100 * v / period) for v in pattern]
    name = "DASH-" + "-".join(map(str, shares))
    add_line_type(doc, name, [v * PERIOD / 100 for v in shares])
    return {"linetype": name, "ltscale": round(period / PERIOD, 4)}


def add_line_type(doc, name: str, pattern: Sequence[float]) -> None:
    """A line type of dashes and gaps in millimetres; a dash shorter than a tenth is a dot."""
    if name not in doc.linetypes:
        pieces = [-v if i % 2 else v if v >= 0.1 else 0.0 for i, v in enumerate(pattern)]
        doc.linetypes.add(name, [sum(map(abs, pieces)), *pieces], description=_picture(pattern))


def _picture(pattern: Sequence[float]) -> str:
    return " ".join(("." if v < 0.1 else "_" if v < 2 else "____") for v in (*pattern[::2], *pattern[::2]))


def _lines(on, runs: Sequence[tuple[list[Vertex], bool]], pen: Pen | None, fill: str, layer: str) -> None:
    if fill == WHITE:
        for run, _ in runs:
            on.add_wipeout(straightened(run, True)).dxf.layer = layer
    elif fill:
        hatch = on.add_hatch(dxfattribs={"layer": layer, **colour(fill)})
        for run, _ in runs:
            hatch.paths.add_polyline_path([(round(x, 4), round(y, 4), b) for x, y, b in run], is_closed=True)
    if pen:
        for run, closed in runs:
            polyline(on, run, closed, pen, layer)


def _text(on, text: Text, height: float, layer: str) -> None:
    from ezdxf.enums import TextEntityAlignment

    words = written(text.text)
    if not words:
        return
    align = {"start": "LEFT", "middle": "CENTER", "end": "RIGHT"}[text.anchor]
    entity = on.add_text(
        words, height=round(text.cap, 3), rotation=90 if text.turn else 0,
        dxfattribs={"layer": layer, "style": STYLES[text.bold], **colour(text.colour)},
    )  # fmt: skip
    entity.set_placement((round(text.x, 3), round(height - text.y, 3)), align=TextEntityAlignment[align])


def written(text: str) -> str:
    """The text with what the format would read as an order (%%c, ^J, \\U+00B0) written so that it is shown."""
    shown = plain(text)[:LONGEST_TEXT]
    shown = re.sub("%%+", lambda signs: "%%%" * len(signs[0]), shown)
    return shown.replace("^", "^ ").replace("\\U+", "\\\u200bU+").replace("\\M+", "\\\u200bM+")


# geometry, y downwards


def runs_of(segments: Sequence[Segment]) -> list[tuple[list[Vertex], bool]]:
    """The path's lines, each with True if it is closed. Curves that are no arcs of circles become straight pieces."""
    runs: list[tuple[list[Vertex], bool]] = []
    run: list[Vertex] = []
    for command, numbers in segments:
        if command == "M":
            runs += [(run, False)] if len(run) > 1 else []
            run = [(*numbers, 0.0)]
        elif command == "Z":
            runs.append((run, True))
            run = run[:1]
        else:
            run += _onward(run, command, numbers)
    return runs + ([(run, False)] if len(run) > 1 else [])


def _onward(run: list[Vertex], command: str, numbers: Sequence[float]) -> list[Vertex]:
    """The vertices that a segment adds; an arc of a circle bends the last one of the run instead."""
    x0, y0, _ = run[-1]
    if command == "L":
        return [(*numbers, 0.0)]
    if command == "A":
        rx, ry, angle, large, sweep, x, y = numbers
        if math.isclose(rx, ry):
            run[-1] = (x0, y0, _bulge(x0, y0, rx, large, sweep, x, y))
            return [(x, y, 0.0)]
        return [(*p, 0.0) for p in _arc((x0, y0), rx, ry, angle, large, sweep, (x, y))]
    points = [(x0, y0), *zip(numbers[::2], numbers[1::2], strict=True)]
    return [(*_bezier(points, i / STEPS), 0.0) for i in range(1, STEPS + 1)]


def _bulge(x0: float, y0: float, r: float, large: float, sweep: float, x: float, y: float) -> float:
    half = min(1.0, math.hypot(x - x0, y - y0) / 2 / r)
    quarter = math.asin(half) / 2
    return math.tan(math.pi / 2 - quarter if large else quarter) * (1 if sweep else -1)


def _bezier(points: Sequence[tuple[float, float]], t: float) -> tuple[float, float]:
    while len(points) > 1:
        points = [(a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t) for a, b in pairwise(points)]
    return points[0]


def _arc(start, rx, ry, angle, large, sweep, end) -> list[tuple[float, float]]:
    """Points of an elliptical arc after its start, by the conversion to a centre in SVG 1.1, appendix F.6."""
    turn = math.radians(angle)
    cos, sin = math.cos(turn), math.sin(turn)
    dx, dy = (start[0] - end[0]) / 2, (start[1] - end[1]) / 2
    px, py = cos * dx + sin * dy, cos * dy - sin * dx
    grow = max(1.0, math.hypot(px / rx, py / ry))
    rx, ry = rx * grow, ry * grow
    left = (rx * ry) ** 2 / ((rx * py) ** 2 + (ry * px) ** 2) - 1
    k = math.sqrt(max(0.0, left)) * (1 if large != sweep else -1)
    cx, cy = k * rx * py / ry, -k * ry * px / rx
    first, last = math.atan2((py - cy) / ry, (px - cx) / rx), math.atan2((-py - cy) / ry, (-px - cx) / rx)
    if sweep and last < first:
        last += 2 * math.pi
    if not sweep and last > first:
        last -= 2 * math.pi
    mx, my = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    angles = [first + (last - first) * i / STEPS for i in range(1, STEPS + 1)]
    ups = [(cx + rx * math.cos(a), cy + ry * math.sin(a)) for a in angles]
    return [(cos * u - sin * v + mx, sin * u + cos * v + my) for u, v in ups]


def _corners(rect: Rect) -> list[Vertex]:
    x, y, right, bottom, r = rect.x, rect.y, rect.x + rect.w, rect.y + rect.h, min(rect.r, rect.w / 2, rect.h / 2)
    if not r:
        return [(x, y, 0), (right, y, 0), (right, bottom, 0), (x, bottom, 0)]
    quarter = math.tan(math.pi / 8)
    return [
        (x + r, y, 0), (right - r, y, quarter), (right, y + r, 0), (right, bottom - r, quarter),
        (right - r, bottom, 0), (x + r, bottom, quarter), (x, bottom - r, 0), (x, y + r, quarter),
    ]  # fmt: skip


def _round(ellipse: Ellipse) -> list[Vertex]:
    angles = [2 * math.pi * i / (4 * STEPS) for i in range(4 * STEPS)]
    return [(ellipse.x + ellipse.rx * math.cos(a), ellipse.y + ellipse.ry * math.sin(a), 0.0) for a in angles]


def straightened(run: Sequence[Vertex], closed: bool) -> list[tuple[float, float]]:
    """The run's points, with STEPS straight pieces for each of its arcs."""
    out: list[tuple[float, float]] = []
    for (x0, y0, bulge), (x1, y1, _) in pairwise([*run, run[0]] if closed else run):
        out.append((x0, y0))
        if bulge:
            # the chord's middle, moved aside by what is left of the radius, is the arc's centre
            side = (1 - bulge * bulge) / (4 * bulge)
            cx, cy = (x0 + x1) / 2 - (y1 - y0) * side, (y0 + y1) / 2 + (x1 - x0) * side
            r, start, whole = math.hypot(x0 - cx, y0 - cy), math.atan2(y0 - cy, x0 - cx), 4 * math.atan(bulge)
            steps = (start + whole * i / STEPS for i in range(1, STEPS))
            out += [(cx + r * math.cos(a), cy + r * math.sin(a)) for a in steps]
    return out if closed else [*out, run[-1][:2]]
