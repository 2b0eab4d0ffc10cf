"""The few shapes that everything drawn is made of, and how they are scaled onto a sheet.

In a picture lengths are drawing units, on a sheet millimetres. Pens and patterns are always millimetres: in a picture
those of the usual module of 2.5 mm, on a sheet as they are.
"""

from dataclasses import dataclass, replace

from schemagen.base.path import Segment, mapped, parsed
from schemagen.drawing.style import MM_PER_UNIT, Pen, Style
from schemagen.parts.kind import Ink


@dataclass(frozen=True, slots=True)
class Path:
    """Absolute segments of base.path; `fill` is a colour or empty."""

    segments: tuple[Segment, ...]
    pen: Pen | None = None
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Circle:
    x: float
    y: float
    r: float
    pen: Pen | None = None
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Ellipse:
    x: float
    y: float
    rx: float
    ry: float
    pen: Pen | None = None
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Rect:
    x: float
    y: float
    w: float
    h: float
    r: float = 0
    pen: Pen | None = None
    fill: str = ""


@dataclass(frozen=True, slots=True)
class Text:
    """One line; x, y is where its baseline starts, is in the middle or ends, `cap` the height of its capitals.

    `turn` is 0 or 270 (runs upwards, read from the right); `subject` is the tag or "FROM→TO" that it names.
    """

    x: float
    y: float
    text: str
    cap: float
    bold: bool = False
    anchor: str = "start"
    turn: int = 0
    colour: str = "#000000"
    subject: str = ""


Shape = Path | Circle | Ellipse | Rect | Text


def line(points, pen: Pen) -> Path:
    """An open polyline through points."""
    (x0, y0), *rest = points
    return Path((("M", (x0, y0)), *(("L", (x, y)) for x, y in rest)), pen)


def polygon(points, fill: str, pen: Pen | None = None) -> Path:
    (x0, y0), *rest = points
    return Path((("M", (x0, y0)), *(("L", (x, y)) for x, y in rest), ("Z", ())), pen, fill)


def shape_of(ink: Ink) -> Shape:
    """A symbol's element as a shape; its stroke width in units becomes a pen in millimetres."""
    attrs = dict(ink.attrs)
    value = {key: float(attrs.get(key, 0)) for key in ("x", "y", "width", "height", "rx", "ry", "cx", "cy", "r")}
    fill = {"#fff": "#ffffff", "#000": "#000000", "none": ""}.get(attrs.get("fill", "#000"), "")
    pen = None
    if attrs.get("stroke", "none") != "none":
        width = float(attrs.get("stroke-width", 1)) * MM_PER_UNIT
        dashes = tuple(float(v) * MM_PER_UNIT for v in attrs.get("stroke-dasharray", "").replace(",", " ").split())
        colour = "#ffffff" if attrs["stroke"] == "#fff" else "#000000"
        pen = Pen(width, colour, dashes, attrs.get("stroke-linecap", "butt"))
    match ink.tag:
        case "path":
            return Path(parsed(attrs["d"]), pen, fill)
        case "line":
            ends = [("M", (float(attrs["x1"]), float(attrs["y1"]))), ("L", (float(attrs["x2"]), float(attrs["y2"])))]
            return Path(tuple(ends), pen)
        case "rect":
            return Rect(value["x"], value["y"], value["width"], value["height"], value["rx"], pen, fill)
        case "circle":
            return Circle(value["cx"], value["cy"], value["r"], pen, fill)
    return Ellipse(value["cx"], value["cy"], value["rx"], value["ry"], pen, fill)


@dataclass(frozen=True, slots=True)
class Onto:
    """How a picture stands on a sheet: millimetres per unit, and where its origin lies."""

    style: Style
    scale: float
    dx: float = 0
    dy: float = 0

    def x(self, value: float) -> float:
        return value * self.scale + self.dx

    def y(self, value: float) -> float:
        return value * self.scale + self.dy

    def pen(self, pen: Pen | None) -> Pen | None:
        """The pen at this scale, rounded to the series; its pattern scaled along."""
        if pen is None:
            return None
        by = self.scale / MM_PER_UNIT
        width = self.style.on_series(pen.width * by) if pen.width <= self.style.series[-1] else pen.width * by
        return replace(pen, width=width, pattern=tuple(d * by for d in pen.pattern), skip=pen.skip * by)

    def shape(self, shape: Shape) -> Shape:
        """The shape in millimetres on the sheet."""
        s = self.scale
        match shape:
            case Path(segments, pen, fill):
                return Path(tuple(self._segment(*g) for g in segments), self.pen(pen), fill)
            case Circle(x, y, r, pen, fill):
                return Circle(self.x(x), self.y(y), r * s, self.pen(pen), fill)
            case Ellipse(x, y, rx, ry, pen, fill):
                return Ellipse(self.x(x), self.y(y), rx * s, ry * s, self.pen(pen), fill)
            case Rect(x, y, w, h, r, pen, fill):
                return Rect(self.x(x), self.y(y), w * s, h * s, r * s, self.pen(pen), fill)
            case Text():
                return replace(shape, x=self.x(shape.x), y=self.y(shape.y), cap=shape.cap * s)

    def _segment(self, command: str, numbers: tuple[float, ...]) -> Segment:
        if command == "A":
            rx, ry, angle, large, sweep, x, y = numbers
            return "A", (rx * self.scale, ry * self.scale, angle, large, sweep, self.x(x), self.y(y))
        return command, tuple(self.y(v) if i % 2 else self.x(v) for i, v in enumerate(numbers))


def shifted(shape: Shape, dx: float, dy: float) -> Shape:
    """The shape moved, pens and size unchanged."""
    match shape:
        case Path(segments):
            return replace(shape, segments=mapped(segments, lambda x, y: (x + dx, y + dy)))
        case _:
            return replace(shape, x=shape.x + dx, y=shape.y + dy)
