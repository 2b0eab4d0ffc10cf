"""What water cools by on its ways in a state, and how warm exchangers make the water on their other side."""

from math import exp

from schemagen.sizing.carry import total
from schemagen.sizing.known import Known, attempt, listed
from schemagen.sizing.taken import Taken
from schemagen.sizing.ways import Way


def drop_k(taken: Taken, way: Way, flow: float | None) -> float | None:
    """What water cools by on a way [K]: the heat taken there over what the flow carries per kelvin.

    Not known in a hot-water circulation.
    """
    through = taken.graph.is_heart(way) and not taken.is_charged(way)
    if way.pipe >= 0 and taken.plant.waters.section[way.pipe] == "circulation" or _warms(taken, way):
        return None
    if through or not (taken.graph.is_heart(way) or taken.graph.takes(way)):
        return 0.0
    if way.body == taken.warmed_body(taken.parts[way.tag]) and not taken.graph.is_emitter_way(way):
        return None
    fluid = taken.plant.fluid(way.body) if way.body is not None else Known()
    sole = (way.tag, way.a, way.b) in taken.sole
    heat = taken.heat(way) if sole or not taken.graph.is_heart(way) else Known()
    return heat.value / (abs(flow) * fluid.value.heat_per_volume) if flow and fluid and heat else None


def _warms(taken: Taken, way: Way) -> bool:
    """True for the way of a running source, or from the cold to the hot opening of a store or a source."""
    part = taken.parts.get(way.tag)
    if part is None or "hot-out" in (way.a, way.b):
        return part is not None
    return way.tag in taken.state.giving and way.a in part.kind.gives and way.b in part.kind.gives


def warmed(taken: Taken, given, carried, at, fixed) -> dict[int, float]:
    """Temperatures at which exchangers give their heat to the water that they warm.

    By the effectiveness of counterflow with the listed conductance. Source: effectiveness and number of transfer
    units, as in heat-transfer textbooks.
    """
    found = {}
    values = {w: flow.value for w, (_, flow) in given.items()}
    for w, way in enumerate(taken.ways):
        part = taken.parts.get(way.tag)
        if part is None or part.kind.name != "plate-heat-exchanger" or way.body != taken.warmed_body(part):
            continue
        hot = next((k for k, o in enumerate(taken.ways) if o.tag == way.tag and o.body != way.body), None)
        outlet = way.end if way.sign > 0 else way.start
        if hot is None or not {w, hot} <= carried.shares.keys() or outlet in fixed:
            continue
        flows = [abs(total(carried.shares[k], values)) for k in (w, hot)]
        fluids = [taken.plant.fluid(taken.ways[k].body) for k in (w, hot)]
        hot_c, heat = at.get(taken.ways[hot].upstream), taken.passed_on(part)
        out = attempt(_warmed_to, hot_c, heat, listed(part, "conductance"), *flows, *fluids)
        if out and hot_c is not None:
            found[outlet] = out.value
    return found


def _warmed_to(hot_c, heat_w, conductance_wk, cold_m3s, hot_m3s, cold_fluid, hot_fluid) -> float:
    """Temperature [°C] at which water leaves the cold side of a counterflow exchanger that passes a heat [W]."""
    cold, hot = cold_m3s * cold_fluid.heat_per_volume, hot_m3s * hot_fluid.heat_per_volume
    least, ratio = min(cold, hot), min(cold, hot) / max(cold, hot)
    units = conductance_wk / least
    fade = exp(-units * (1 - ratio))
    effectiveness = units / (1 + units) if 1 - ratio < 1e-9 else (1 - fade) / (1 - ratio * fade)
    return hot_c - heat_w / (effectiveness * least) + heat_w / cold
