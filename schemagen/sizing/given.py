"""Flows that are given in a state: what takers and taps want, what valves are set to; and what is lacking of them."""

from collections import Counter
from collections.abc import Iterator

from schemagen.parts.kind import OUTSIDE
from schemagen.sizing.carry import Carried
from schemagen.sizing.known import Known, known_of, listed, unique
from schemagen.sizing.plant import giving
from schemagen.sizing.taken import EXCHANGERS, Taken
from schemagen.sizing.ways import Way, is_emitter

_SET_FLOW = ("flow-regulator", "balancing-valve", "lockshield-valve", "pump", "wholesome-circulating-pump")


def wanted_flows(taken: Taken) -> Iterator[tuple[int, tuple[str, Known]]]:
    """The flows that emitters, open taps, and coils and exchangers beside other takers want."""
    for w, way in enumerate(taken.ways):
        part = taken.parts.get(way.tag)
        if part is None:
            continue
        flow = None
        if taken.graph.is_emitter_way(way):
            flow = known_of(taken.demand.flow(part))
        elif way.tag in taken.state.outlets_open and way.b == OUTSIDE and _draws_alone(taken.ways, w):
            flow = listed(part, "draw-off")
        elif taken.graph.takes(way) and (part.kind.name in EXCHANGERS or (way.tag, way.a, way.b) not in taken.sole):
            flow = taken.wanted(way)
        if flow:
            yield w, (part.tag, Known(way.sign * flow.value, flow.assumes))


def _draws_alone(ways, w: int) -> bool:
    """True for a tap's way through which all that it gives must come: no other way of it moves."""
    return not any(way.tag == ways[w].tag and way.b == OUTSIDE for k, way in enumerate(ways) if k != w)


def set_flows(taken: Taken, given, carried) -> dict[int, tuple[str, Known]]:
    """The first flow that a valve or pump is set to, or else that a running source wants, where still open."""
    for w, way in enumerate(taken.ways):
        part = taken.parts.get(way.tag)
        if part and w not in carried.shares and part.kind.name in _SET_FLOW and (flow := listed(part, "flow")):
            return {w: (part.tag, Known(way.sign * flow.value, (f"{part.tag} passes the flow it is set to",)))}
    found = {}
    inside = {t: {(p.a, p.b) for p in giving(taken.parts[t])} for t in taken.plant.source_tags}
    count = Counter(way.tag for way in taken.ways if (way.a, way.b) in inside.get(way.tag, ()))
    for w, way in enumerate(taken.ways):
        part = taken.parts.get(way.tag)
        if part and w not in carried.shares and way.tag in taken.state.giving and way.tag in inside:
            flow = known_of(taken.demand.source_flow(part)) if count[way.tag] == 1 else Known()
            if (way.a, way.b) in inside[way.tag] and flow and _may_lead(taken, w, given, carried):
                text = f"{part.tag} runs at its design flow"
                found[w] = part.tag, Known(way.sign * flow.value, (*flow.assumes, text))
    return found


def _may_lead(taken: Taken, source: int, given, carried) -> bool:
    """False where a source's flow must follow from emitters, or from loads that are known only in part."""
    graph, ways = taken.graph, taken.ways
    beside = graph.beside(ways, source)
    takers = [w for w in beside if graph.takes(ways[w])]
    known = [w for w in takers if w in given]
    vague = [w for w in beside if w not in carried.shares and (graph.takes(ways[w]) or _is_bypass(taken, ways[w]))]
    rivals = [w for w in beside if w != source and w not in carried.shares and ways[w].tag in taken.plant.source_tags]
    if any(graph.is_emitter_way(ways[w]) for w in vague):
        return False
    return not known or not (vague or rivals)


def _is_bypass(taken: Taken, way: Way) -> bool:
    return way.tag in taken.parts and taken.parts[way.tag].kind.name == "bypass-valve"


def lacks(taken: Taken, carried: Carried) -> dict[int | None, tuple[str, ...]]:
    """By body of water: what its open taps, its takers, or else its pumps and sources do not say of their flow."""
    state, ways = taken.state, taken.ways
    wants: dict[int | None, list[str]] = {}
    drivers: dict[int | None, list[str]] = {}
    for w, way in enumerate(ways):
        part = taken.parts.get(way.tag)
        if part is None or w in carried.shares:
            continue
        if way.tag in state.outlets_open and way.b == OUTSIDE:
            for body in {taken.plant.body_at(way.tag, n): None for n in part.kind.ports}:
                wants.setdefault(body, []).append(f"draw-off of {way.tag}")
        elif taken.graph.takes(way):
            needs = known_of(taken.demand.flow(part)).needs if is_emitter(part) else taken.wanted(way).needs
            wants.setdefault(way.body, []).extend(needs)
        elif part.kind.driver == "pump" or way.tag in taken.plant.source_tags:
            drivers.setdefault(way.body, []).append(f"flow of {way.tag}")
    return {b: unique(wants.get(b) or drivers.get(b, ())) for b in {**wants, **drivers}}
