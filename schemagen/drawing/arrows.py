"""Flow arrows: on every pipe that carries water, clear of symbols, dots, corners and crossings where there is room."""

from collections.abc import Iterator
from dataclasses import replace
from itertools import islice, pairwise

from schemagen.base.geometry import MODULE, Point
from schemagen.drawing.drawing import ArrowItem, PipeItem
from schemagen.drawing.free_space import Area, Taken
from schemagen.drawing.pipe_lines import length_of

LONG_RUN = 8 * MODULE
"""A straight run this long gets an arrow of its own."""

REPEAT = 60 * MODULE
"""On a longer run an arrow follows each time after this length."""

# length, width, room kept in front of the tip and behind the tail; the first is the rule, the rest for short pipes
SIZES = ((10, 8, 20), (10, 8, 10), (10, 8, 5), (8, 6.4, 3), (6, 5.2, 2), (4, 4, 0.5), (4, 4, 0.2))


def arrows_on(pipe: PipeItem, taken: Taken) -> tuple[ArrowItem, ...]:
    """The arrows of one pipe, in its direction; at least one, if the pipe has any length to speak of.

    `taken` holds symbols, texts and crossings, not pipes. Where they leave no room, a small arrow stands on them.
    """
    runs = list(pairwise(pipe.points))
    out = [arrow for run in runs if length_of(*run) >= LONG_RUN for arrow in _along(pipe, run, taken)]
    longest_first = sorted(runs, key=lambda run: -length_of(*run))
    for size, obstacles in (*((size, taken) for size in SIZES), (SIZES[-1], Taken())):
        if out:
            break
        tries = (_arrow(pipe, run, length_of(*run) / 2, size, obstacles) for run in longest_first)
        out = list(islice(filter(None, tries), 1))
    return tuple(out)


def turned_round(arrow: ArrowItem) -> ArrowItem:
    """The arrow on the same piece of pipe, pointing the other way."""
    (x, y), (dx, dy) = arrow.tip, arrow.along
    return replace(arrow, tip=(x - dx * arrow.length, y - dy * arrow.length), along=(-dx, -dy))


def _along(pipe: PipeItem, run: tuple[Point, Point], taken: Taken):
    whole = length_of(*run)
    count = 1 + whole // REPEAT
    for n in range(count):
        if arrow := _arrow(pipe, run, whole * (2 * n + 1) / (2 * count), SIZES[0], taken):
            yield arrow


def _arrow(pipe: PipeItem, run: tuple[Point, Point], wanted: float, size, taken: Taken) -> ArrowItem | None:
    """An arrow whose middle is as near to `wanted` units along the run as what is taken allows, or None."""
    (a, b), (length, width, room) = run, size
    whole = length_of(a, b)
    along = ((b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y))
    if whole < 2 * room + length:
        return None
    step = 5 if whole >= LONG_RUN else 0.5
    first, last = room + length / 2, whole - room - length / 2
    for middle in _outwards(wanted, first, last, step):
        tip = (a.x + along[0] * (middle + length / 2), a.y + along[1] * (middle + length / 2))
        if taken.free(_area(tip, along, length, width, room)):
            return ArrowItem(pipe.name, pipe.section, tip, along, length, width, pipe.pen.colour)
    return None


def _outwards(wanted: float, first: float, last: float, step: float) -> Iterator[float]:
    """Places from `first` to `last` along a run, the nearest to `wanted` first, at most half a REPEAT away."""
    wanted = min(max(wanted, first), last)
    for i in range(int(REPEAT / 2 / step) + 1):
        yield from (s for s in (wanted - i * step, wanted + i * step)[: 1 + (i > 0)] if first <= s <= last)


def _area(tip, along, length, width, room) -> Area:
    """The arrow with `room` before and behind it, less a hair, so that what only touches is no obstacle."""
    (x, y), (dx, dy) = tip, along
    x0, y0 = x - dx * (length + room), y - dy * (length + room)
    x1, y1 = x + dx * room, y + dy * room
    across_x, across_y = abs(dy) * width / 2, abs(dx) * width / 2
    area = Area(min(x0, x1) - across_x, min(y0, y1) - across_y, max(x0, x1) + across_x, max(y0, y1) + across_y)
    return area.grown(-0.1)
