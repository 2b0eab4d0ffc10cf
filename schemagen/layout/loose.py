"""Where things without pipes stand: as near as may be to what they act on, in rows of one height."""

from collections.abc import Iterable, Sequence

from schemagen.base.geometry import Box
from schemagen.layout.shapes import Shape, joined
from schemagen.network.network import Network

GAP = 10
STEP = 10
BUCKET = 100
FARTHEST = 600
"""How far from what it acts on a control device may stand before it goes into the row below the drawing."""


class Room:
    """The boxes that are taken, in buckets."""

    def __init__(self, boxes: Iterable[Box]) -> None:
        self._cells: dict[tuple[int, int], list[Box]] = {}
        for box in boxes:
            self.take(box)

    def take(self, box: Box) -> None:
        for cell in _span(box):
            self._cells.setdefault(cell, []).append(box)

    def free(self, box: Box) -> bool:
        return not any(box.overlaps(b) for cell in _span(box) for b in self._cells.get(cell, ()))


def _span(b: Box) -> Iterable[tuple[int, int]]:
    for i in range(b.x // BUCKET, b.right // BUCKET + 1):
        for j in range(b.y // BUCKET, b.bottom // BUCKET + 1):
            yield i, j


def beside_targets(network: Network, drawn: Shape, loose: Sequence[Shape]) -> tuple[list[Shape], list[Shape]]:
    """Loose shapes stood near what they switch (else by the lower edge), in rows; and those for which no room is near.

    After: what stands overlaps nothing of `drawn` and does not make it larger.
    """
    boxes = {p.tag: p.box for p in drawn.parts}
    rows: dict[str, list[Shape]] = {}
    left: list[Shape] = []
    for shape in loose:
        targets = [t for p in shape.parts for t in network.parts[p.tag].value("switches", ()) if t in boxes]
        rows.setdefault(targets[0] if targets else "", []).append(shape)
    whole = drawn.bounds() if drawn.parts else Box(0, 0, 0, 0)
    boxes[""] = Box(whole.x, whole.bottom, 1, 1)
    room = Room(b.grown(GAP) for b in taken_by(drawn))
    standing: list[Shape] = []
    for target, members in rows.items():
        together = _stood(room, row_of(members), boxes[target], whole)
        for member, found in [(row_of(members), together)] if together else [
            (m, _stood(room, m, boxes[target], whole)) for m in members
        ]:  # fmt: skip
            (standing if found else left).append(found or member)
    return standing, left


def _stood(room: Room, shape: Shape, target: Box, whole: Box) -> Shape | None:
    """The shape at the nearest free spot, which it then takes."""
    box = shape.bounds()
    spot = _nearest(room, box, target, whole)
    if spot is None:
        return None
    room.take(Box(*spot, box.w, box.h).grown(GAP))
    return shape.moved(spot[0] - box.x, spot[1] - box.y)


def taken_by(drawn: Shape) -> Iterable[Box]:
    """The boxes of all that is drawn: outlines, parts, texts, and pieces of pipe."""
    yield from (p.box for p in drawn.places)
    yield from (p.box for p in drawn.parts)
    yield from (t.box for t in drawn.labels)
    for points in drawn.routes.values():
        for a, b in zip(points, points[1:], strict=False):
            yield Box(min(a.x, b.x), min(a.y, b.y), abs(a.x - b.x), abs(a.y - b.y))


def row_of(shapes: Sequence[Shape]) -> Shape:
    """Shapes side by side, their tops in line, as one."""
    x, out = 0, []
    for shape in shapes:
        box = shape.bounds()
        out.append(shape.moved(x - box.x, -box.y))
        x += box.w + GAP
    return joined(out)


def _nearest(room: Room, own: Box, target: Box, whole: Box) -> tuple[int, int] | None:
    """The top left corner nearest to standing right above or below the target, on rings round it."""
    x0, y0 = target.centre.x - own.w // 2, target.centre.y - own.h // 2
    for far in range(0, FARTHEST, STEP):
        for along in range(0, far + STEP, STEP):
            for dx, dy in (
                (along, far), (-along, far), (along, -far), (-along, -far),
                (far, along), (far, -along), (-far, along), (-far, -along),
            ):  # fmt: skip
                box = Box(x0 + dx, y0 + dy, own.w, own.h)
                if (
                    box.x >= whole.x and box.y >= whole.y and box.right <= whole.right and box.bottom <= whole.bottom
                    and room.free(box)
                ):  # fmt: skip
                    return box.x, box.y
    return None
