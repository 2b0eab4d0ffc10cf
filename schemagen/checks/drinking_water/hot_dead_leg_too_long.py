"""hot-dead-leg-too-long (warning)

What: the pipe from the store, or from the nearest pipe in which a circulation moves, to a hot tap is longer than the
    limit for its largest size: 20 m up to 12 mm, 12 m up to 22 mm, 8 m up to 28 mm, 3 m above. Where the region limits
    the volume, it holds more than that.
Why: nobody likes running a tap for a minute, and the cooling water in the pipe grows bacteria.
Cure: shorten it, use smaller pipe, or add a circulation return or trace heating.
Source: dead-leg lengths from an exam-revision page, and 12 m for 15 mm from a pipe supplier, seen; 3 litres (W 551)
    quoted in a planning manual, seen; 4 litres (SANS 10252-1) from a trade magazine, seen
Caution: legionella
Regions: England and Wales by length; Germany 3 litres; South Africa 4 litres

Wrong:
    parts:
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - {run: [C1.hot-out, O1.in], size: 15 mm, length: 18 m}

Right:
    parts:
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - {run: [C1.hot-out, O1.in], size: 15 mm, length: 8 m}
"""

import math
from dataclasses import dataclass

from schemagen.base.units import quantity
from schemagen.checks.drinking_water._hot import circulating, tap_openings
from schemagen.checks.fault import Fault, Unknown
from schemagen.network.network import PortId

LIMITS = ((0.012, 20.0), (0.022, 12.0), (0.028, 8.0), (math.inf, 3.0))
"""Largest pipe size [m] and the length [m] allowed with it."""

VOLUME_LIMITS = {"germany": 3e-3, "south-africa": 4e-3}
"""Most content [m³] of a dead leg, by region."""

_TRACED = "trace heating"


@dataclass(frozen=True)
class _Leg:
    """The way from where hot water stands ready: length [m] and content [m³], None if the list does not say."""

    start: PortId
    length: float | None
    volume: float | None
    size: float


def check(facts):
    taps = tap_openings(facts)
    legs = _legs(facts)
    for tap in taps:
        leg = legs.get(tap)
        if leg is None:
            continue
        if leg.length is None or leg.size == 0.0:
            yield Unknown((tap.tag,), f"`length:` and `size:` of the pipes to {tap}")
        elif said := _too_long(facts, leg):
            yield Fault(
                f"the pipe from {leg.start} to {tap} {said}",
                "shorten it, use smaller pipe, or bring a circulation return nearer to the tap",
                parts=(tap.tag,),
                pipes=[facts.pipe_at(tap)],
                ports=(tap,),
            )


def _too_long(facts, leg: _Leg) -> str:
    if (most := VOLUME_LIMITS.get(facts.region)) is not None:
        return f"holds {quantity(leg.volume, 'L')}, more than {quantity(most, 'L')}" if leg.volume > most + 1e-9 else ""
    most = limit(leg.size)
    said = f"is {quantity(leg.length, 'm')} long; {quantity(leg.size, 'mm')} allows {quantity(most, 'm')}"
    return said if leg.length > most + 1e-9 else ""


def limit(size: float) -> float:
    """The longest dead leg [m] whose largest pipe has this nominal size [m]."""
    return next(most for least, most in LIMITS if size <= least + 1e-6)


def _legs(facts) -> dict[PortId, _Leg]:
    """The way from the nearest place where hot water stands ready to each opening behind it."""
    warm = circulating(facts)
    starts = [PortId(p.tag, "hot-out") for p in facts.network.parts.values() if "hot-out" in p.kind.ports]
    legs = {port: _Leg(port, 0.0, 0.0, 0.0) for port in starts}
    for pipe in facts.network.pipes:
        if pipe.index in warm and facts.waters.medium[pipe.index] in ("hot", "tempered"):
            legs |= {end: _Leg(end, 0.0, 0.0, 0.0) for end in (pipe.start, pipe.end) if end not in legs}
    queue = list(legs)
    for port in queue:
        if legs[port].start != port and _is_source(port):
            continue
        onward = [way.to for way in facts.reach.ways[port] if way.forward] if not _is_source(port) else []
        steps = [(other, legs[port]) for other in onward]
        steps += [(facts.network.far_end(p, port), _after(legs[port], p)) for p in _hot_pipes(facts, port)]
        for other, leg in steps:
            if other not in legs:
                legs[other] = leg
                queue.append(other)
    return legs


def _is_source(port: PortId) -> bool:
    return port.port == "hot-out"


def _hot_pipes(facts, port: PortId):
    pipes = facts.network.pipes_at.get(port, ())
    return [pipe for pipe in pipes if facts.waters.medium[pipe.index] in ("hot", "tempered")]


def _after(leg: _Leg, pipe) -> _Leg:
    length, size = pipe.values.get("length"), pipe.size
    if _TRACED in str(pipe.values.get("note", "")).casefold():
        return _Leg(pipe.end, 0.0, 0.0, 0.0)
    if None in (length, size, leg.length):
        return _Leg(leg.start, None, None, max(leg.size, size or 0.0))
    content = math.pi / 4 * size**2 * length
    return _Leg(leg.start, leg.length + length, leg.volume + content, max(leg.size, size))
