"""Parts without a pipe that sit on another.

Each touches the other's box where neither it nor its caption covers anything; one that finds no such seat is left out.
"""

from collections.abc import Iterator, Sequence

from schemagen.base.geometry import OPPOSITE, Point
from schemagen.layout.captions import caption_lines, label_of, slots
from schemagen.layout.placement import Placed
from schemagen.layout.shapes import Shape, corridor, joined, lines_of, moved_part, placed, placed_at
from schemagen.network.network import Part


def with_mounted(shape: Shape, p: Placed, guests: Sequence[Part], sides: str) -> Shape:
    """Adds the parts that sit on the one placed at `p`, each touching it where there is room, on `sides` in turn."""
    for guest in guests:
        for where in _seats(guest, p, sides):
            blocked = [s.grown(2) for s in shape.solids() if s != p.box] + [corridor(o) for o in shape.open.values()]
            boxes = where.solids()
            if not any(b.overlaps(x) for b in boxes for x in [*blocked, *lines_of(shape), p.box]):
                shape = joined([shape, where])
                break
    return shape


def _seats(guest: Part, p: Placed, sides: str) -> Iterator[Shape]:
    """The guest with its caption at all places round its host, the best first."""
    port = next((q for q in guest.kind.ports.values() if q.need == "mount"), None) or next(
        iter(guest.kind.ports.values()), None
    )
    for side in sides:
        long = p.box.h if side in "LR" else p.box.w
        steps = sorted(range(10, long, 10), key=lambda s: (abs(s - long * 0.45), s))
        for step in steps:
            at = {
                "L": Point(p.box.x, p.box.y + step), "R": Point(p.box.right, p.box.y + step),
                "T": Point(p.box.x + step, p.box.y), "B": Point(p.box.x + step, p.box.bottom),
            }[side]  # fmt: skip
            seat = placed_at(guest, port.name, at, OPPOSITE[side]) if port else None
            if seat is None and port:
                seat = moved_part(placed(guest, 0, False), *_beside(guest, side, at))
            if seat:
                order = {"L": "l", "R": "r", "T": "rlt", "B": "rlb"}[side]
                lines = caption_lines(guest)
                for slot in slots(lines, seat.box, order):
                    yield Shape((seat,), {}, (label_of(guest, lines, slot),))


def _beside(guest: Part, side: str, at: Point) -> tuple[int, int]:
    w, h = guest.kind.symbol.w, guest.kind.symbol.h
    return {
        "L": (at.x - w, at.y - h // 2),
        "R": (at.x, at.y - h // 2),
        "T": (at.x - w // 2, at.y - h),
        "B": (at.x - w // 2, at.y),
    }[side]
