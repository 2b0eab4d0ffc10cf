"""Counts what is wrong with a finished plan, and how good the rest is, whatever made it."""

from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from schemagen.base.geometry import Box, Point
from schemagen.layout.placement import Plan
from schemagen.network.network import Network, PortId

CELL = 100
LEAST_SPACING = 10


@dataclass(frozen=True)
class Audit:
    """Faults as (what, where) pairs; the area in square units; all other fields are counts."""

    faults: tuple[tuple[str, str], ...]
    crossings: int
    bends: int
    pipes: int
    straight: int
    area: int

    @property
    def bends_per_pipe(self) -> float:
        return self.bends / max(self.pipes, 1)

    @property
    def straight_share(self) -> float:
        return self.straight / max(self.pipes, 1)


@dataclass(frozen=True)
class _Piece:
    pipe: int
    a: Point
    b: Point

    @property
    def level(self) -> bool:
        return self.a.y == self.b.y

    @property
    def box(self) -> Box:
        return Box(min(self.a.x, self.b.x), min(self.a.y, self.b.y), abs(self.a.x - self.b.x), abs(self.a.y - self.b.y))


def audit(network: Network, plan: Plan) -> Audit:
    """Every hard fault of a plan, and its crossings, bends, straight pipes and area."""
    faults: list[tuple[str, str]] = []
    routes = {i: r.points for i, r in plan.routes.items()}
    pieces = [_Piece(i, a, b) for i, pts in routes.items() for a, b in pairwise(pts)]
    faults += [("pipe missing", p.name) for p in network.pipes if p.index not in routes]
    faults += [("part missing", tag) for tag in network.parts if tag not in plan.parts]
    faults += [("diagonal", network.pipes[p.pipe].name) for p in pieces if p.a.x != p.b.x and p.a.y != p.b.y]
    faults += _off_ports(network, plan)
    faults += _through_parts(network, plan, pieces)
    crossings, more = _meetings(network, pieces)
    faults += more
    faults += _overlaps(plan, pieces)
    faults += _places(network, plan)
    bends = sum(len(_corners(pts)) for pts in routes.values())
    straight = sum(not _corners(pts) for pts in routes.values())
    return Audit(tuple(faults), len(crossings), bends, len(routes), straight, plan.box.w * plan.box.h)


def crossings_of(network: Network, routes: dict[int, tuple[Point, ...]]) -> list[tuple[int, int, Point]]:
    """(level pipe, upright pipe, point) for every crossing."""
    return _meetings(network, [_Piece(i, a, b) for i, pts in routes.items() for a, b in pairwise(pts)])[0]


def _corners(pts: tuple[Point, ...]) -> list[Point]:
    return [q for p, q, r in zip(pts, pts[1:], pts[2:], strict=False) if not (p.x == q.x == r.x or p.y == q.y == r.y)]


def _off_ports(network: Network, plan: Plan) -> Iterable[tuple[str, str]]:
    for i, route in plan.routes.items():
        pipe = network.pipes[i]
        for end, point in ((pipe.start, route.points[0]), (pipe.end, route.points[-1])):
            port = plan.parts[end.tag].ports.get(end.port) if end.tag in plan.parts else None
            if port is None or port.at != point:
                yield "pipe off its port", f"{end} of {pipe.name}"


def _grid(boxes: Iterable[tuple[int, Box]]) -> dict[tuple[int, int], list[int]]:
    cells: dict[tuple[int, int], list[int]] = {}
    for n, box in boxes:
        for cell in _cells(box):
            cells.setdefault(cell, []).append(n)
    return cells


def _cells(b: Box) -> Iterable[tuple[int, int]]:
    for i in range((b.x - 1) // CELL, (b.right + 1) // CELL + 1):
        for j in range((b.y - 1) // CELL, (b.bottom + 1) // CELL + 1):
            yield i, j


def _near(cells: dict[tuple[int, int], list[int]], box: Box) -> list[int]:
    return list(dict.fromkeys(n for cell in _cells(box) for n in cells.get(cell, ())))


def _touches(box: Box, piece: Box, inset: int = 0) -> bool:
    """True if a piece of pipe (a box without width) enters the inside of a box."""
    return (
        piece.x < box.right - inset and piece.right > box.x + inset
        and piece.y < box.bottom - inset and piece.bottom > box.y + inset
    )  # fmt: skip


def _through_parts(network: Network, plan: Plan, pieces: list[_Piece]) -> Iterable[tuple[str, str]]:
    parts = list(plan.parts.values())
    cells = _grid((n, p.box) for n, p in enumerate(parts))
    for piece in pieces:
        pipe = network.pipes[piece.pipe]
        for n in _near(cells, piece.box):
            if _touches(parts[n].box, piece.box):
                own = parts[n].tag in (pipe.start.tag, pipe.end.tag)
                yield "pipe through its own part" if own else "pipe through a part", f"{pipe.name} at {parts[n].tag}"


def _joints(network: Network) -> dict[int, set]:
    out = {}
    for pipe in network.pipes:
        out[pipe.index] = {
            e.tag if network.parts[e.tag].kind.shape == "tee" else PortId(e.tag, e.port) for e in (pipe.start, pipe.end)
        }
    return out


def _meetings(network: Network, pieces: list[_Piece]):
    """Crossings, and as faults: pipes on one line, too near side by side, or touching."""
    joints = _joints(network)
    cells = _grid((n, p.box.grown(LEAST_SPACING)) for n, p in enumerate(pieces))
    crossings, faults = [], []
    for n, p in enumerate(pieces):
        for m in _near(cells, p.box.grown(LEAST_SPACING)):
            if m <= n:
                continue
            q = pieces[m]
            names = f"{network.pipes[p.pipe].name} and {network.pipes[q.pipe].name}"
            if p.level != q.level:
                h, v = (p, q) if p.level else (q, p)
                x, y = v.a.x, h.a.y
                inside_h = h.box.x < x < h.box.right
                inside_v = v.box.y < y < v.box.bottom
                if inside_h and inside_v:
                    crossings.append((h.pipe, v.pipe, Point(x, y)))
                elif (
                    h.box.x <= x <= h.box.right and v.box.y <= y <= v.box.bottom and p.pipe != q.pipe
                    and joints[p.pipe].isdisjoint(joints[q.pipe])
                ):  # fmt: skip
                    faults.append(("pipes touch", f"{names} at {x},{y}"))
                continue
            if p.pipe == q.pipe:
                continue
            apart = abs(p.a.y - q.a.y) if p.level else abs(p.a.x - q.a.x)
            along = (
                min(p.box.right, q.box.right) - max(p.box.x, q.box.x) if p.level
                else min(p.box.bottom, q.box.bottom) - max(p.box.y, q.box.y)
            )  # fmt: skip
            if apart == 0 and along > 0:
                faults.append(("pipes on one line", f"{names} at {p.a.x},{p.a.y}"))
            elif apart < LEAST_SPACING and along > 0 and joints[p.pipe].isdisjoint(joints[q.pipe]):
                faults.append(("pipes too near", f"{names} at {p.a.x},{p.a.y}"))
    return crossings, faults


def _overlaps(plan: Plan, pieces: list[_Piece]) -> Iterable[tuple[str, str]]:
    boxes = [("part", p.tag, p.box) for p in plan.parts.values()]
    boxes += [("text", t.subject, t.box) for t in plan.labels] + [("text", p.name, p.label) for p in plan.places]
    cells = _grid((n, b) for n, (_, _, b) in enumerate(boxes))
    for n, (sort, name, box) in enumerate(boxes):
        for m in _near(cells, box):
            other, whose, b = boxes[m]
            if (
                m > n
                and box.overlaps(b)
                and not (sort == "part" and other == "text" and name == whose and _within(b, box))
            ):
                yield f"{sort} on {other}", f"{name} on {whose}"
        inside = plan.box
        if not _within(box, inside):
            yield "outside the box", name
    lines = _grid((n, p.box) for n, p in enumerate(pieces))
    for sort, name, box in boxes:
        if sort == "text":
            for n in _near(lines, box):
                if _touches(box, pieces[n].box):
                    yield "text crossed by a pipe", f"{name} by pipe {pieces[n].pipe}"
    for p in pieces:
        if not _within(p.box, plan.box):
            yield "outside the box", f"pipe {p.pipe}"


def _within(inner: Box, outer: Box) -> bool:
    return inner.x >= outer.x and inner.y >= outer.y and inner.right <= outer.right and inner.bottom <= outer.bottom


def _places(network: Network, plan: Plan) -> Iterable[tuple[str, str]]:
    for n, place in enumerate(plan.places):
        for tag, part in plan.parts.items():
            mine = network.parts[tag].place == place.name
            if mine and not _within(part.box, place.box):
                yield "part outside its place", tag
            if not mine and not network.host_of(tag) and part.box.overlaps(place.box):
                yield "stranger in a place", f"{tag} in {place.name}"
        for other in plan.places[n + 1 :]:
            if place.box.overlaps(other.box):
                yield "outlines cross", f"{place.name} and {other.name}"
        for label in plan.labels:
            cut = label.box.overlaps(place.box) and not _within(label.box, place.box)
            if cut:
                yield "text crossed by an outline", label.subject
