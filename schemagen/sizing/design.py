"""The design of a network in each state: flows wanted by emitters and sources, carried on, and the temperatures."""

from dataclasses import replace

from schemagen.operation.moves import Edge, Inside
from schemagen.operation.states import State
from schemagen.sizing.carry import Carried, carry, total
from schemagen.sizing.cooling import drop_k, warmed
from schemagen.sizing.demand import Demand
from schemagen.sizing.drawn_hot import mixed_flows
from schemagen.sizing.given import lacks, set_flows, wanted_flows
from schemagen.sizing.held import held
from schemagen.sizing.in_state import InState
from schemagen.sizing.known import Known, once, unique
from schemagen.sizing.plant import Plant
from schemagen.sizing.taken import Taken
from schemagen.sizing.warm import warm
from schemagen.sizing.ways import Way, WayGraph, stream_of

_ROUNDS = 6


class Design:
    """Design flows and temperatures of a plant, worked out for a state when it is first asked for."""

    def __init__(self, plant: Plant) -> None:
        self.plant, self.network = plant, plant.network
        self.graph = WayGraph(plant)
        self.demand = Demand(plant, self.graph)
        self.of = once(self._of, "name")
        self.real = once(self._real, "name")

    def _of(self, state: State) -> InState:
        ways = self.graph.ways(state)
        taken = Taken(self.demand, state, ways)
        given = dict(wanted_flows(taken))
        fixed, assumes = held(self.graph, state, ways)
        carried, at = _settle(taken, given, fixed)
        for _ in range(_ROUNDS):
            more = mixed_flows(taken, given, carried, at) or set_flows(taken, given, carried)
            newly = warmed(taken, given, carried, at, fixed)
            if not (more or newly):
                break
            given, fixed = given | more, fixed | newly
            carried, at = _settle(taken, given, fixed)
        return InState(state, ways, given, carried, at, unique((*assumes, *taken.assumes)), lacks(taken, carried))

    def _real(self, state: State) -> InState:
        """What the real network gives in a state, where its data are known; design flows elsewhere."""
        from schemagen.sizing.solved import solved

        base = self.of(state)
        network = solved(self.plant, state, lambda tag, a, b: _inside_mixer(base, tag, a, b))
        if not network.flow_m3s:
            return replace(base, network=network)
        ways = tuple(self.graph.moving(state, network))
        before = {_key(way): given for way, given in ((base.ways[w], known) for w, known in base.given.items())}
        given = {w: before[_key(way)] for w, way in enumerate(ways) if _key(way) in before}
        through = [w for w, way in enumerate(ways) if not self.graph.is_heart(way)]
        mine = {w: q for w in through if (q := network.flow(self._edge(ways[w]))) is not None}
        given |= {w: (ways[w].tag or self.network.pipes[ways[w].pipe].name, Known(q)) for w, q in mine.items()}
        fixed, assumes = held(self.graph, state, ways)
        taken = Taken(self.demand, state, ways)
        carried, at = _settle(taken, given, fixed)
        if newly := warmed(taken, given, carried, at, fixed):
            carried, at = _settle(taken, given, fixed | newly)
        assumes = unique((*assumes, *taken.assumes))
        return InState(state, ways, given, carried, at, assumes, lacks(taken, carried), frozenset(mine), network)

    def _edge(self, way: Way) -> Edge:
        return self.network.pipes[way.pipe] if way.pipe >= 0 else Inside(way.tag, way.a, way.b)


def _inside_mixer(base: InState, tag: str, a: str, b: str) -> Known:
    w = base.way_inside(tag, a, b)
    flow = None if w is None else base.flow(w)
    return Known(flow) if flow is not None else Known(needs=base.needs(w) if w is not None else (f"flow of {tag}",))


def _settle(taken: Taken, given, fixed) -> tuple[Carried, dict[int, float]]:
    """The given flows carried on by continuity, and the temperatures that follow from them and from fixed ones."""
    ways = taken.ways
    values = {w: flow.value for w, (_, flow) in given.items()}
    carried = carry(len(taken.graph.point), [(way.start, way.end) for way in ways], values)
    flows = {w: total(shares, values) for w, shares in carried.shares.items()}
    streams = [stream_of(way, flows.get(w), drop_k(taken, way, flows.get(w))) for w, way in enumerate(ways)]
    lower = {end for end, _ in fixed.items()}
    return carried, warm([s for s in streams if s.flow != 0 and s.end not in lower], fixed)


def _key(way: Way) -> tuple:
    return way.pipe, way.tag, way.a, way.b
