"""Right-angled ways of one pipe between its two openings."""

from collections.abc import Iterator

from schemagen.base.geometry import NORMAL, Point, simplified

CLEAR = 10
"""Least distance between two pipes, and from a pipe to a part that is not its own."""


def ways_between(start: tuple[Point, str], end: tuple[Point, str], most: int) -> Iterator[tuple[Point, ...]]:
    """Right-angled ways from one opening to another with at most `most` bends, few bends first."""
    (a, s), (b, t) = start, end
    ax, ay = (NORMAL[s][0] * CLEAR, NORMAL[s][1] * CLEAR)
    bx, by = (NORMAL[t][0] * CLEAR, NORMAL[t][1] * CLEAR)
    a1, b1 = Point(a.x + ax, a.y + ay), Point(b.x + bx, b.y + by)
    seen: set[tuple[Point, ...]] = set()
    for middle in _middles(a1, b1, s in "LR", t in "LR", most):
        way = simplified((a, a1, *middle, b1, b))
        if len(way) - 2 <= most and way not in seen and _leaves(way, s, t):
            seen.add(way)
            yield way


def _leaves(way: tuple[Point, ...], s: str, t: str) -> bool:
    """True if a way leaves both its openings outwards and never turns straight back."""
    for (p, q), side in ((way[:2], s), (way[:-3:-1], t)):
        nx, ny = NORMAL[side]
        if (q.x - p.x) * nx + (q.y - p.y) * ny < CLEAR:
            return False
    return all(
        (q.x - p.x) * (r.x - q.x) + (q.y - p.y) * (r.y - q.y) >= 0
        for p, q, r in zip(way, way[1:], way[2:], strict=False)
    )


def _middles(a: Point, b: Point, level_out: bool, level_in: bool, most: int) -> Iterator[tuple[Point, ...]]:
    """Corners between two points: none, one, two, and three with the detour kept short.

    Of those with two or three, only what needs at most `most` bends if the way leaves and arrives level, or upright.
    """
    yield (Point(b.x, a.y),)
    yield (Point(a.x, b.y),)
    xs = _between(a.x, b.x)
    ys = _between(a.y, b.y)
    if 2 + (not level_out) + (not level_in) <= most:
        for x in xs:
            yield Point(x, a.y), Point(x, b.y)
    if 2 + level_out + level_in <= most:
        for y in ys:
            yield Point(a.x, y), Point(b.x, y)
    level_first, upright_first = 3 + (not level_out) + level_in <= most, 3 + level_out + (not level_in) <= most
    for x in xs[::2] if level_first or upright_first else ():
        for y in ys[::2]:
            if level_first:
                yield Point(x, a.y), Point(x, y), Point(b.x, y)
            if upright_first:
                yield Point(a.x, y), Point(x, y), Point(x, b.y)


def _between(a: int, b: int) -> list[int]:
    """Some places between two coordinates and a little beyond, the nearest first."""
    low, high = min(a, b), max(a, b)
    inner = range(low, high + 1, max(10, (high - low) // 80 * 10))
    return [*inner, *(low - d for d in (10, 20, 40)), *(high + d for d in (10, 20, 40))]
