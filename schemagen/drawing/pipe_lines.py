"""A pipe's line: its hops as half circles, its length, and its dash pattern stretched so that it ends on dashes."""

import math
from dataclasses import replace
from itertools import pairwise

from schemagen.base.geometry import MODULE, Point
from schemagen.drawing.drawing import Hop
from schemagen.drawing.style import MM_PER_UNIT, Pen

HOP_RADIUS = 0.8 * MODULE
LEAST_STRETCH, MOST_STRETCH = 0.8, 1.25
TRIES = 4
"""How many periods more or fewer than the usual number are tried."""

CUTS = tuple((skip, cut) for skip in (0, 0.25, 0.5) for cut in (0, 0.25, 0.5))
"""Shares of a dash that may be left out at the start and at the end of a line with corners."""


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
    """How far a hop may reach: not quite to a neighbouring hop, and half the way to the end, so that an arrow fits."""
    return length_of(neighbour, p) * (0.55 if neighbour == end else 0.45)


def line_length(points: tuple[Point, ...], hops: tuple[Hop, ...]) -> float:
    """Length along the line with its half circles, in units."""
    straight = sum(length_of(a, b) for a, b in pairwise(points))
    return straight + sum((math.pi - 2) * h.radius for h in hops)


def places_along(points: tuple[Point, ...], hops: tuple[Hop, ...]) -> tuple[list[float], list[float]]:
    """How far along the line each corner lies, and the middle of each hop, in units."""
    corners, tops, run = [], [], 0.0
    for i, (a, b) in enumerate(pairwise(points)):
        longer = 0.0
        for hop in (h for h in hops if h.segment == i):
            tops.append(run + length_of(a, hop.at) + longer + (math.pi - 2) * hop.radius / 2)
            longer += (math.pi - 2) * hop.radius
        run += length_of(a, b) + longer
        corners.append(run)
    return corners[:-1], tops


def stretched(pen: Pen, points: tuple[Point, ...], hops: tuple[Hop, ...] = ()) -> Pen:
    """The pen with its pattern fitted to the line: both ends and, if it can be, all corners and hops fall on dashes.

    It is stretched by a quarter at most (on a line of one or two periods by what it takes). Where only that brings a
    corner onto a dash, the first and the last dash are cut short. A line too short for a period and a dash is solid.
    ISO 128-21 is about lines prepared like this.
    """
    if not pen.pattern:
        return pen
    period, first = sum(pen.pattern), pen.pattern[0]
    whole = line_length(points, hops) * MM_PER_UNIT
    corners, tops = ([c * MM_PER_UNIT for c in places] for places in places_along(points, hops))
    usual = max(1, round((whole - first) / period))
    best = None
    for n in range(max(1, usual - TRIES), usual + TRIES + 1):
        for skip, cut in CUTS if (corners or tops) and pen.cap == "butt" else CUTS[:1]:
            factor = whole / (n * period + (1 - skip - cut) * first)
            if LEAST_STRETCH <= factor <= MOST_STRETCH:
                begun = skip * first
                missed = [sum(not _on_dash(p / factor + begun, pen.pattern) for p in ps) for ps in (corners, tops)]
                score = (*missed, skip + cut, abs(math.log(factor)), factor, skip)
                best = min(best or score, score)
    if whole < LEAST_STRETCH * (period + first):
        return replace(pen, pattern=(), cap="butt")
    *_, factor, skip = best or (whole / (usual * period + first), 0)
    return replace(pen, pattern=tuple(d * factor for d in pen.pattern), skip=skip * first * factor)


def _on_dash(at: float, pattern: tuple[float, ...]) -> bool:
    """True if a place along the pattern is on a dash and not at its very end."""
    at %= sum(pattern)
    for i, piece in enumerate(pattern):
        if at <= piece:
            return i % 2 == 0 and piece / 8 <= at <= piece * 7 / 8
        at -= piece
    return False
