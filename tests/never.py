"""What a drawing must never show, measured on the finished SVG: a reader of the file of its own, not of the program.

`faults(svg)` returns sentences, none if the drawing is clean.
"""

import re
from dataclasses import dataclass
from itertools import combinations, pairwise, permutations
from xml.etree import ElementTree

from schemagen.base.text import text_width

SVG = "{http://www.w3.org/2000/svg}"
EPS = 0.02
_TOKEN = re.compile(r"([MHVLA])|(-?\d+(?:\.\d+)?)")


@dataclass(frozen=True)
class Area:
    left: float
    top: float
    right: float
    bottom: float

    def meets(self, other: "Area", by: float = EPS) -> bool:
        """True if the insides share more than `by` in both directions."""
        across = min(self.right, other.right) - max(self.left, other.left)
        down = min(self.bottom, other.bottom) - max(self.top, other.top)
        return across > by and down > by

    def cut_by(self, a, b) -> bool:
        line = Area(min(a[0], b[0]), min(a[1], b[1]), max(a[0], b[0]), max(a[1], b[1]))
        across = min(self.right, line.right) - max(self.left, line.left)
        down = min(self.bottom, line.bottom) - max(self.top, line.top)
        return across > -1e-9 and down > -1e-9 and max(across, down) > EPS and self._inside(line)

    def _inside(self, line: "Area") -> bool:
        level = line.top == line.bottom
        if level:
            return self.top + EPS < line.top < self.bottom - EPS
        return self.left + EPS < line.left < self.right - EPS


@dataclass(frozen=True)
class Pipe:
    start: str
    end: str
    section: str
    points: tuple
    hops: tuple
    straight: bool
    moves: str = "forward"
    half: str = ""

    @property
    def name(self) -> str:
        return f"{self.start}→{self.end}"

    @property
    def runs(self):
        return list(pairwise(self.points))


@dataclass(frozen=True)
class Connector:
    """A flag where a pipe goes on to another sheet; `way` is out where the pipe starts on this one."""

    letters: str
    pipe: str
    way: str
    sheet: str
    field: str
    area: Area
    port: tuple

    @property
    def name(self) -> str:
        return f"connector {self.letters}"


class Picture:
    """Parts, pipes, texts, arrows and sheet size as the file has them, in millimetres."""

    def __init__(self, svg: str) -> None:
        root = ElementTree.fromstring(svg.encode("utf-8"))
        self.width, self.height = (float(v) for v in root.get("viewBox").split()[2:])
        self.parts, self.kinds, self.ports, self.dots = {}, {}, {}, {}
        for group in _all(root, "part"):
            tag = group.get("data-part")
            body = next(_all(group, "body"))
            x, y, w, h = (float(body.get(k)) for k in ("x", "y", "width", "height"))
            self.parts[tag] = Area(x, y, x + w, y + h)
            self.kinds[tag] = group.get("data-kind")
            for port in _all(group, "port"):
                self.ports[f"{tag}.{port.get('data-port')}"] = (float(port.get("cx")), float(port.get("cy")))
            self.dots[tag] = any(c.get("fill") not in (None, "none") for c in group.iter(f"{SVG}circle"))
        self.connectors = {}
        for flag in _all(root, "connector"):
            connector = _connector(flag)
            self.connectors[connector.name] = connector
        self.pipes = [_pipe(p) for p in _all(root, "pipe")]
        self.solid = self.parts | {name: c.area for name, c in self.connectors.items()}
        self.texts = [_text(t) for t in root.iter(f"{SVG}text") if "".join(t.itertext()).strip()]
        self.arrows = [(a.get("data-pipe"), _corners(a.get("d"))) for a in _all(root, "arrow")]
        self.caps = [float(t.get("font-size")) * 0.729 for t in root.iter(f"{SVG}text")]
        self.numbers = [float(n) for e in root.iter() for k in ("x", "y", "cx", "cy") if (n := e.get(k))]


def _all(element, name: str):
    return (e for e in element.iter() if name in (e.get("class") or "").split())


def _connector(element) -> Connector:
    body, port = next(_all(element, "body")), next(_all(element, "port"))
    x, y, w, h = (float(body.get(k)) for k in ("x", "y", "width", "height"))
    at = (float(port.get("cx")), float(port.get("cy")))
    said = (element.get(f"data-{key}") for key in ("connector", "pipe", "way", "sheet", "field"))
    return Connector(*said, Area(x, y, x + w, y + h), at)


def _pipe(element) -> Pipe:
    tokens, points, hops, straight = _TOKEN.findall(element.get("d")), [], [], True
    assert "".join(c + n for c, n in tokens) == element.get("d").replace(" ", ""), "only absolute M H V L A"
    values, command = [], ""
    x = y = 0.0
    for letter, value in tokens:
        if letter:
            command, values = letter, []
            continue
        values.append(float(value))
        if len(values) < {"M": 2, "L": 2, "H": 1, "V": 1, "A": 7}[command]:
            continue
        before = (x, y)
        x = values[0] if command == "H" else x if command == "V" else values[-2]
        y = values[-1] if command != "H" else y
        if command == "A":
            hops.append(((before[0] + x) / 2, (before[1] + y) / 2))
        if command in "LA" and not (abs(x - before[0]) < EPS or abs(y - before[1]) < EPS):
            straight = False
        points.append((x, y))
        values = []
    kept = [points[0]]
    for p, q in pairwise([*points[1:], None]):
        turn = q is None or not (_on_line(kept[-1], p, q))
        if turn:
            kept.append(p)
    start, end, section = (element.get(f"data-{key}") for key in ("from", "to", "section"))
    moves = element.get("data-moves", "forward")
    return Pipe(start, end, section, tuple(kept), tuple(hops), straight, moves, element.get("data-half", ""))


def _on_line(a, p, b) -> bool:
    return (abs(a[0] - p[0]) < EPS and abs(p[0] - b[0]) < EPS) or (abs(a[1] - p[1]) < EPS and abs(p[1] - b[1]) < EPS)


def _text(element):
    text = "".join(element.itertext())
    x, y, size = (float(element.get(k)) for k in ("x", "y", "font-size"))
    width = text_width(text, size, element.get("font-weight") == "bold")
    back = {"middle": width / 2, "end": width}.get(element.get("text-anchor"), 0)
    up, down = 0.76 * size, 0.22 * size
    if element.get("transform"):
        area = Area(x - up, y + back - width, x + down, y + back)
    else:
        area = Area(x - back, y - up, x - back + width, y + down)
    return text, element.get("data-for"), area


def _corners(d: str):
    numbers = [float(n) for n in re.findall(r"-?\d+(?:\.\d+)?", d)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def faults(svg: str) -> list[str]:
    picture = Picture(svg)
    return [sentence for measure in MEASURES for sentence in measure(picture)]


def ends_off_ports(p: Picture):
    flags = {(c.pipe, c.way): c.port for c in p.connectors.values()}
    for pipe in p.pipes:
        for name, at, way in ((pipe.start, pipe.points[0], "in"), (pipe.end, pipe.points[-1], "out")):
            cut = pipe.half == ("start" if way == "out" else "end")
            port = flags.get((pipe.name, way)) if cut else p.ports.get(name)
            if port is None or abs(port[0] - at[0]) > EPS or abs(port[1] - at[1]) > EPS:
                yield f"{pipe.name} ends at {at}, not on {name} at {port}"


def diagonals(p: Picture):
    for pipe in p.pipes:
        if not pipe.straight:
            yield f"{pipe.name} is not level or upright throughout"


def pipes_through_parts(p: Picture):
    for pipe in p.pipes:
        for tag, area in p.solid.items():
            if any(area.cut_by(a, b) for a, b in pipe.runs):
                yield f"{pipe.name} runs through {tag}"


def pipes_on_one_line(p: Picture):
    for one, other in combinations(p.pipes, 2):
        for (a, b), (c, d) in ((r, s) for r in one.runs for s in other.runs):
            for i, j in ((0, 1), (1, 0)):
                if abs(a[i] - b[i]) < EPS and abs(c[i] - d[i]) < EPS and abs(a[i] - c[i]) < EPS:
                    shared = min(max(a[j], b[j]), max(c[j], d[j])) - max(min(a[j], b[j]), min(c[j], d[j]))
                    if shared > EPS:
                        yield f"{one.name} and {other.name} share {shared:.1f} mm of one line"


def parts_on_parts(p: Picture):
    for (tag, one), (other_tag, other) in combinations(p.solid.items(), 2):
        if one.meets(other):
            yield f"{tag} lies on {other_tag}"


def texts_on_texts(p: Picture):
    for (text, _, one), (other_text, _, other) in combinations(p.texts, 2):
        if one.meets(other):
            yield f"{text!r} lies on {other_text!r}"


def texts_on_symbols(p: Picture):
    for text, subject, area in p.texts:
        for tag, box in p.solid.items():
            if tag != subject and area.meets(box):
                yield f"{text!r} lies on {tag}"


def texts_crossed(p: Picture):
    for text, _, area in p.texts:
        for pipe in p.pipes:
            if any(area.cut_by(a, b) for a, b in pipe.runs):
                yield f"{text!r} is crossed by {pipe.name}"


def outside_the_sheet(p: Picture):
    for text, _, area in p.texts:
        if area.left < 0 or area.top < 0 or area.right > p.width or area.bottom > p.height:
            yield f"{text!r} leaves the sheet"
    for tag, area in p.solid.items():
        if area.left < 0 or area.top < 0 or area.right > p.width or area.bottom > p.height:
            yield f"{tag} leaves the sheet"
    for pipe in p.pipes:
        if any(not (0 <= x <= p.width and 0 <= y <= p.height) for x, y in pipe.points):
            yield f"{pipe.name} leaves the sheet"


def crossings_without_hop(p: Picture):
    crossed = set()
    for (i, one), (j, other) in combinations(enumerate(p.pipes), 2):
        for (a, b), (c, d) in ((r, s) for r in one.runs for s in other.runs):
            if at := _crossing(a, b, c, d) or _crossing(c, d, a, b):
                hops = sum(_near(hop, at) for q in (one, other) for hop in q.hops)
                crossed |= {(i, at), (j, at)}
                if hops != 1:
                    yield f"{one.name} and {other.name} cross at {at} with {hops} hops"
    for i, pipe in enumerate(p.pipes):
        for hop in pipe.hops:
            if not any(i == n and _near(hop, at) for n, at in crossed):
                yield f"{pipe.name} hops over nothing at {hop}"


def _near(p, q) -> bool:
    return abs(p[0] - q[0]) < EPS and abs(p[1] - q[1]) < EPS


def _crossing(a, b, c, d):
    """Where a level line a-b and an upright line c-d cross inside both."""
    if abs(a[1] - b[1]) > EPS or abs(c[0] - d[0]) > EPS:
        return None
    x, y = c[0], a[1]
    inside = min(a[0], b[0]) + EPS < x < max(a[0], b[0]) - EPS and min(c[1], d[1]) + EPS < y < max(c[1], d[1]) - EPS
    return (x, y) if inside else None


def false_joints(p: Picture):
    """A corner or end of one pipe on the line of another reads like a tee."""
    for one, other in permutations(p.pipes, 2):
        ends = (other.points[0], other.points[-1])
        for point in one.points:
            if point not in ends and any(_lies_on(point, a, b) for a, b in other.runs):
                yield f"{one.name} touches {other.name} at {point}"


def _lies_on(p, a, b) -> bool:
    return all(min(a[i], b[i]) - EPS <= p[i] <= max(a[i], b[i]) + EPS for i in (0, 1))


def tees_without_dot(p: Picture):
    for tag, kind in p.kinds.items():
        if kind == "tee" and not p.dots[tag]:
            yield f"{tag} has no dot"


def arrows_astray(p: Picture):
    """An arrow lies on its own pipe and points the way the water moves, by default from its start to its end."""
    pipes = {pipe.name: pipe for pipe in p.pipes}
    for name, (tip, left, right) in p.arrows:
        back = ((left[0] + right[0]) / 2, (left[1] + right[1]) / 2)
        ways = {"forward": 1, "backward": -1, "still": 0}
        runs = [pair[:: ways[pipes[name].moves] or 1] for pair in pipes[name].runs] if name in pipes else []
        if not any(_lies_on(tip, a, b) and _lies_on(back, a, b) and _ahead(back, tip, a, b) for a, b in runs):
            yield f"an arrow of {name} does not lie along it"
        elif pipes[name].moves == "still":
            yield f"{name} stands still and has an arrow"


def _ahead(back, tip, a, b) -> bool:
    return (tip[0] - back[0]) * (b[0] - a[0]) + (tip[1] - back[1]) * (b[1] - a[1]) > 0


def small_letters(p: Picture):
    for cap in p.caps:
        if cap < 1.8:
            yield f"capitals of {cap:.3f} mm"


MEASURES = (
    ends_off_ports, diagonals, pipes_through_parts, pipes_on_one_line, parts_on_parts, texts_on_texts, texts_on_symbols,
    texts_crossed, outside_the_sheet, crossings_without_hop, false_joints, tees_without_dot, arrows_astray,
    small_letters,
)  # fmt: skip
