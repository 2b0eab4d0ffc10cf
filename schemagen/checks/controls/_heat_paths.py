"""What the control checks ask: which valves turn with a motor, what a valve or pump serves, and who heats what."""

from schemagen.checks.facts import Facts
from schemagen.network.network import Part, PortId
from schemagen.network.walks import downstream, upstream

TRV = "thermostatic-radiator-valve"
FLOORS = ("underfloor-loop", "underfloor-manifold")
_NOT_EMITTERS = ("swimming-pool",)


def is_motor_valve(part: Part) -> bool:
    kind = part.kind
    return kind.moved_by == "motor" and not kind.giver and not kind.driver


def is_emitter(part: Part) -> bool:
    return part.kind.family == "emitters" and part.kind.name not in _NOT_EMITTERS


def warms_floor(part: Part) -> bool:
    return part.kind.name in FLOORS or "floor" in str(part.value("emitters", ""))


def flow_inlet(floor: Part) -> PortId:
    """Where the flow enters a floor."""
    return PortId(floor.tag, floor.kind.takes[0] if floor.kind.takes else "flow-in")


def has_trv(facts: Facts, emitter: Part) -> bool:
    """True if a thermostat of its own throttles an emitter: a valve in its run, built in, or loops with actuators."""
    if "thermostatic-valve" in emitter.built_in or "trv" in emitter.built_in:
        return True
    if emitter.kind.name in FLOORS and any(facts.signals.has_thermostat(tag) for tag in _with_manifold(facts, emitter)):
        return True
    if "thermostatic" in str(emitter.value("emitters", "")):
        return True
    ends = [PortId(emitter.tag, name) for name in emitter.kind.takes]
    return any(facts.network.parts[p.tag].kind.name == TRV for end in ends for p in facts.run_from(end))


def _with_manifold(facts: Facts, floor: Part) -> tuple[str, ...]:
    far = facts.piped_across(flow_inlet(floor))
    return (floor.tag, far.tag) if far and facts.network.parts[far.tag].kind.name in FLOORS else (floor.tag,)


def served_from(facts: Facts, tag: str, stops: tuple[str, ...] = ()) -> dict[str, None]:
    """Tags of the takers next down the stream of a valve or pump: the walk ends at bodies and at `stops`."""
    parts = facts.network.parts
    ends = [n for n, spec in parts[tag].kind.ports.items() if spec.role in ("out", "either")]
    served: dict[str, None] = {}

    def passes(port, way) -> bool:
        kind = parts[port.tag].kind
        body = kind.giver or kind.taker or kind.store or kind.separates or kind.name == "bypass-valve"
        return port.tag != tag and not body and port.tag not in stops

    for name in ends:
        start = PortId(tag, name)
        pipe = facts.pipe_at(start)
        if pipe is None or (parts[tag].kind.ports[name].role == "either" and pipe.start != start):
            continue
        for port in downstream(facts.reach, start, passes):
            kind = parts[port.tag].kind
            if port.port in kind.takes and kind.ports[port.port].role != "out" and _enters(facts, port):
                served[port.tag] = None
    return served


def _enters(facts: Facts, port: PortId) -> bool:
    """True if the list brings water to this opening of a taker: a walk also comes to the far ends of other emitters."""
    pipe = facts.pipe_at(port)
    return pipe is not None and pipe.end == port


def heat_sources_of(
    facts: Facts, inlet: PortId, blocked: tuple[str, ...] = ()
) -> tuple[dict[str, None], dict[PortId, None]]:
    """Givers whose outlets water can come from to this opening, and the openings that it passes.

    The walk does not go through takers, givers or the parts named as blocked.
    """
    parts = facts.network.parts

    def passes(port, way) -> bool:
        kind = parts[port.tag].kind
        through_taker = port.port in kind.takes and way.to.port in kind.takes
        through_giver = port.port in kind.gives and way.to.port in kind.gives
        return not through_taker and not through_giver and port.tag not in blocked and port.tag != inlet.tag

    passed = upstream(facts.reach, inlet, passes)
    givers = {
        port.tag: None
        for port in passed
        if port.port in parts[port.tag].kind.gives and parts[port.tag].kind.ports[port.port].role == "out"
    }
    return givers, passed
