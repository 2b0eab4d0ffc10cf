"""A pipe's line: its hops as half circles, its length, and its dash pattern stretched so that it ends on dashes."""

import math
from dataclasses import replace
from itertools import pairwise

from schemagen.base.geometry import MODULE, Point
from schemagen.drawing.drawing import Hop
from schemagen.drawing.style import MM_PER_UNIT, Pen

HOP_RADIUS = 0.8 * MODULE
LEAST_STRETCH, MOST_STRETCH = 0.8, 1.25


def length_of(a: Point, b: Point) -> int:
    return abs(a.x - b.x) + abs(a.y - b.y)


def without_idle_points(points: tuple[Point, ...]) -> tuple[Point, ...]:
    """The corners and ends only: doubled points and points in the middle of a straight line are left out."""
    kept: list[Point] = []
    for p in points:
        if kept and kept[-1] == p:
            continue
        while len(kept) > 1 and _between(kept[-2], kept[-1], p):
            kept.pop()
        kept.append(p)
    return tuple(kept)


def _between(a: Point, b: Point, c: Point) -> bool:
    if a.x == b.x == c.x:
        return (b.y - a.y) * (c.y - b.y) > 0
    return a.y == b.y == c.y and (b.x - a.x) * (c.x - b.x) > 0


def hops_of(points: tuple[Point, ...], at: tuple[Point, ...]) -> tuple[Hop, ...]:
    """The hops in the order in which the pipe meets them; made smaller where two would touch or meet a corner."""
    out: list[Hop] = []
    for i, (a, b) in enumerate(pairwise(points)):
        here = sorted((p for p in dict.fromkeys(at) if _between(a, p, b)), key=lambda p: length_of(a, p))
        stops = [a, *here, b]
        for before, p, after in zip(stops, here, stops[2:], strict=False):
            room = min(_room(a, before, p), _room(b, after, p))
            out.append(Hop(i, p, min(HOP_RADIUS, room)))
    return tuple(out)


def _room(end: Point, neighbour: Point, p: Point) -> float:
    """Half the way to a neighbouring hop, or nearly all the way to the end of the segment."""
    gap = length_of(neighbour, p)
    return gap - 1 if neighbour == end else gap / 2


def line_length(points: tuple[Point, ...], hops: tuple[Hop, ...]) -> float:
    """Length along the line with its half circles, in units."""
    straight = sum(length_of(a, b) for a, b in pairwise(points))
    return straight + sum((math.pi - 2) * h.radius for h in hops)


def corner_lengths(points: tuple[Point, ...], hops: tuple[Hop, ...]) -> list[float]:
    """How far along the line each corner lies, in units."""
    out, run = [], 0.0
    for i, (a, b) in enumerate(pairwise(points)):
        run += length_of(a, b) + sum((math.pi - 2) * h.radius for h in hops if h.segment == i)
        out.append(run)
    return out[:-1]


def stretched(pen: Pen, points: tuple[Point, ...], hops: tuple[Hop, ...] = ()) -> Pen:
    """The pen with its pattern fitted to the line, so that both ends and, if it can be, all corners fall on dashes.

    A line shorter than one period and a dash is solid. ISO 128-21 asks for lines prepared like this (its abstract).
    """
    if not pen.pattern:
        return pen
    period, first = sum(pen.pattern), pen.pattern[0]
    whole = line_length(points, hops) * MM_PER_UNIT
    corners = [c * MM_PER_UNIT for c in corner_lengths(points, hops)]
    best = None
    around = (whole - first) / period
    for n in range(max(1, math.floor(around / MOST_STRETCH) - 1), math.ceil(around / LEAST_STRETCH) + 2):
        factor = whole / (n * period + first)
        if LEAST_STRETCH <= factor <= MOST_STRETCH:
            score = (sum(_in_gap(c / factor, pen.pattern) for c in corners), abs(math.log(factor)), n)
            best = min(best or (score, factor), (score, factor))
    if best is None:
        return replace(pen, pattern=(), cap="butt")
    return replace(pen, pattern=tuple(d * best[1] for d in pen.pattern))


def _in_gap(at: float, pattern: tuple[float, ...]) -> bool:
    at %= sum(pattern)
    for i, piece in enumerate(pattern):
        if at <= piece + 1e-9:
            return i % 2 == 1 and at > 1e-9
        at -= piece
    return False
