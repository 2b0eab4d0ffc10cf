"""Flows that follow from temperatures: what mixing parts and mixer taps draw from their hot and their cold side."""

from schemagen.network.network import Part
from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.carry import total
from schemagen.sizing.known import Known, unique
from schemagen.sizing.plant import MIXERS, PRACTICE
from schemagen.sizing.taken import Taken
from schemagen.sizing.ways import Way

DRAWN_C = 40.0
"""Temperature [°C] at which water is drawn from mixer taps. Common practice, no source."""

_LEAST_HEAT_FROM_HOT_K = 0.1


def mixed_flows(taken: Taken, given, carried, at) -> dict[int, tuple[str, Known]]:
    """The flows that mixing parts and mixer taps take from their hot side, and taps from their cold side, where
    the temperatures and the mixed flow are known."""
    found = {}
    values = {w: flow.value for w, (_, flow) in given.items()}
    named = {name for name, _ in given.values()}
    for w, way in enumerate(taken.ways):
        part = taken.parts.get(way.tag)
        if part is None or w in carried.shares or way.tag in named:
            continue
        hot, cold, mixed = MIXERS.get(part.kind.name, ("", "", ""))
        if (way.a, way.b) == (hot, mixed):
            whole, assumes = _out_of(taken, way, mixed, given, carried, values)
            share = _hot_share(*(at.get(taken.graph.at(way.tag, n)) for n in (hot, cold, mixed)))
            if whole is not None and share is not None:
                found[w] = way.tag, Known(way.sign * share * whole, assumes)
        elif way.b == OUTSIDE and {"hot-in", "cold-in"} <= set(part.kind.ports):
            found |= _at_tap(taken, way, part, at)
    return found


def _out_of(taken: Taken, way: Way, mixed: str, given, carried, values) -> tuple[float | None, tuple[str, ...]]:
    """The flow [m³/s] that leaves a mixing part by its mixed opening, with what it assumes."""
    point = taken.graph.at(way.tag, mixed)
    out = next((o for o, other in enumerate(taken.ways) if other.pipe >= 0 and point in (other.start, other.end)), None)
    if out not in carried.shares:
        return None, ()
    assumes = unique(t for k in carried.shares[out] for t in given[k][1].assumes)
    return abs(total(carried.shares[out], values)), assumes


def _at_tap(taken: Taken, way: Way, part: Part, at) -> dict[int, tuple[str, Known]]:
    """The hot and the cold flow of a mixer tap whose draw-off is listed, for water as it is usually drawn."""
    draw, setting = part.value("draw-off"), part.value("setting")
    drawn = DRAWN_C if setting is None else min(setting, DRAWN_C)
    share = _hot_share(*(at.get(taken.graph.at(part.tag, n)) for n in ("hot-in", "cold-in")), drawn)
    sides = {other.a: k for k, other in enumerate(taken.ways) if other.tag == way.tag and other.b == OUTSIDE}
    if draw is None or share is None or sides.keys() != {"hot-in", "cold-in"}:
        return {}
    text = (f"water is drawn at {drawn:g} °C from {part.tag} ({PRACTICE})",)
    flows = {"hot-in": share * draw, "cold-in": (1 - share) * draw}
    return {sides[n]: (f"{part.tag} {n.removesuffix('-in')}", Known(q, text)) for n, q in flows.items()}


def _hot_share(hot_c: float | None, cold_c: float | None, mixed_c: float | None) -> float | None:
    """Share [-] of a mixed flow that comes from the hot side; None if it cannot be told."""
    if None in (hot_c, cold_c, mixed_c) or hot_c - cold_c <= _LEAST_HEAT_FROM_HOT_K:
        return None
    return min(max((mixed_c - cold_c) / (hot_c - cold_c), 0.0), 1.0)
