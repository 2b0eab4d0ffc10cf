"""Parts and pipes that do not belong: valves where none may be, waters joined that must stay apart, stubs."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.faults.change import exchanged, joined, pipe_with, put_in, teed, with_part
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import Network, Pipe, PortId

RELIEFS = ("relief-valve", "temperature-and-pressure-relief-valve", "expansion-relief-valve")
VESSELS = ("expansion-vessel", "solar-expansion-vessel")


def _valve_before(slug: str, title: str, kinds: tuple[str, ...], opening: str, level: int = 2) -> FaultKind:
    """An isolating valve in the pipe at an opening."""

    def places(facts: Facts) -> Iterator[Edit]:
        for part in facts.parts(*kinds):
            if pipe := facts.pipe_at(PortId(part.tag, opening)):
                network, tag = put_in(facts.network, facts.library, pipe, "isolating-valve")
                yield Edit((tag, part.tag), f"A stop valve {tag} stands in the pipe {pipe.name}.", network)

    return FaultKind(slug, title, "safety", level, places)


def _runs(facts: Facts, *sections: str) -> list[Pipe]:
    """The pipes of these sections in which water moves."""
    waters = facts.waters
    return [p for p in facts.network.pipes if waters.carries[p.index] and waters.section[p.index] in sections]


def _first_of_each(facts: Facts, pipes: list[Pipe]) -> dict[int, Pipe]:
    """The first of the pipes in each body of water."""
    first: dict[int, Pipe] = {}
    for pipe in pipes:
        first.setdefault(facts.reach.wet_number(pipe.start), pipe)
    return first


def _link(facts: Facts, a: Pipe, b: Pipe, told: str, extra: tuple[str, ...] = ()) -> Edit:
    """Two pipes joined by a third on two tees."""
    network, start = teed(facts.network, facts.library, a)
    network, end = teed(network, facts.library, b)
    at = (start.tag, end.tag, a.start.tag, a.end.tag, b.start.tag, b.end.tag, *extra)
    said = told.format(a=a.name, b=b.name)
    return Edit(tuple(dict.fromkeys(at)), said, joined(network, start, end, a))


def _flow_to_return(facts: Facts) -> Iterator[Edit]:
    """The flow of each heat source joined to its return."""
    for giver in facts.givers:
        ends = [next((p for p in map(facts.pipe_at, ports) if p), None) for ports in (
            facts.outlet_ports(giver), facts.return_ports(giver))]  # fmt: skip
        if all(ends):
            yield _link(facts, *ends, "The flow {a} is joined to the return {b}.", (giver.tag,))


def _risers_joined(facts: Facts) -> Iterator[Edit]:
    """Flow and return of a load joined on the load side of a buffer or header."""
    for part in facts.network.parts.values():
        ends = [facts.pipe_at(PortId(part.tag, name)) for name in ("secondary-flow", "secondary-return")]
        if all(ends):
            yield _link(facts, *ends, "The load flow {a} is joined to the load return {b}.", (part.tag,))


def _drinking_to_heating(facts: Facts) -> Iterator[Edit]:
    cold = _runs(facts, "cold")[:1]
    for pipe in cold:
        for other in _first_of_each(facts, _runs(facts, "primary-return", "heating-return")).values():
            yield _link(facts, pipe, other, "The drinking water in {a} is joined to the heating water in {b}.")


def _hot_to_heating(facts: Facts) -> Iterator[Edit]:
    for pipe in _runs(facts, "hot")[:1]:
        for other in _first_of_each(facts, _runs(facts, "primary-flow", "heating-flow")).values():
            yield _link(facts, pipe, other, "The hot tap water in {a} is joined to the heating water in {b}.")


def _solar_to_heating(facts: Facts) -> Iterator[Edit]:
    for pipe in _runs(facts, "solar-flow")[:1]:
        for other in _runs(facts, "primary-flow")[:1]:
            yield _link(facts, pipe, other, "The collector circuit {a} is joined to the boiler circuit {b}.")


def _blind_end(facts: Facts) -> Iterator[Edit]:
    """A long capped stub on tap water."""
    for section in ("hot", "cold"):
        for pipe in _runs(facts, section)[:1]:
            network, start = teed(facts.network, facts.library, pipe)
            network, cap = with_part(network, facts.library.kind("cap"), pipe.line)
            network = joined(network, start, PortId(cap, "port"), pipe)
            told = f"A capped pipe {start} to {cap} is left in the tap water."
            yield Edit((start.tag, cap), told, network)


def _second_pump(facts: Facts) -> Iterator[Edit]:
    """A second pump in the ring of a first, without a separator between them."""
    for part in facts.parts("pump"):
        pipe = facts.pipe_at(PortId(part.tag, "out"))
        if pipe and facts.waters.medium[pipe.index] == "heating-water":
            network, tag = put_in(facts.network, facts.library, pipe, "pump")
            yield Edit((tag, part.tag), f"A second pump {tag} stands in the ring of {part.tag}.", network)


def _opposed_pump(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("pump"):
        pipe = facts.pipe_at(PortId(part.tag, "out"))
        if pipe:
            network, tag = _put_in_backwards(facts, pipe, "pump")
            yield Edit((tag, part.tag), f"A pump {tag} pushes against {part.tag}.", network)


def _put_in_backwards(facts: Facts, pipe: Pipe, kind_name: str) -> tuple[Network, str]:
    """A part put into a pipe against the direction of the water; its tag."""
    network, tag = put_in(facts.network, facts.library, pipe, kind_name)
    kind = network.parts[tag].kind
    return exchanged(network, PortId(tag, kind.inlet), PortId(tag, kind.outlet)), tag


def _check_opposed(facts: Facts) -> Iterator[Edit]:
    """A check valve against the pump."""
    for part in facts.parts("pump", "wholesome-circulating-pump"):
        if pipe := facts.pipe_at(PortId(part.tag, "in")):
            network, tag = _put_in_backwards(facts, pipe, "check-valve")
            yield Edit((tag, part.tag), f"A check valve {tag} stands against {part.tag}.", network)


def _check_before_store(facts: Facts) -> Iterator[Edit]:
    """A check valve between an unvented store and its expansion vessel."""
    for vessel in facts.parts("wholesome-expansion-vessel"):
        if pipe := pipe_with(facts.network, PortId(vessel.tag, "port")):
            network, tag = put_in(facts.network, facts.library, pipe, "check-valve")
            stores = [p.tag for p in facts.network.parts.values() if p.kind.store == "wholesome"]
            yield Edit((tag, vessel.tag, *stores), f"A check valve {tag} stands before {vessel.tag}.", network)


def _valve_at_gravity(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("heat-leak-radiator"):
        for name in ("a", "b"):
            if pipe := facts.pipe_at(PortId(part.tag, name)):
                network, tag = put_in(facts.network, facts.library, pipe, "isolating-valve")
                yield Edit((tag, part.tag), f"A valve {tag} can shut {part.tag} off.", network)


def _radiator_valve_at_sensor(facts: Facts) -> Iterator[Edit]:
    """A thermostatic valve on the radiator of the room in which the thermostat hangs."""
    for device in facts.parts("room-thermostat"):
        room = device.value("room")
        for part in facts.takers:
            pipe = facts.pipe_at(PortId(part.tag, "a")) if part.kind.name == "radiator" else None
            if pipe and room and part.value("room") == room:
                network, tag = put_in(facts.network, facts.library, pipe, "thermostatic-radiator-valve")
                told = f"A thermostatic valve {tag} stands at {part.tag}, in the room of {device.tag}."
                yield Edit((tag, part.tag, device.tag), told, network)


def _check_in_discharge(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("relief-valve"):
        pipe = facts.pipe_at(PortId(part.tag, "outlet"))
        if pipe:
            network, tag = put_in(facts.network, facts.library, pipe, "check-valve")
            yield Edit((tag, part.tag), f"A check valve {tag} stands in the discharge of {part.tag}.", network)


FAULTS = (
    _valve_before("valve-before-relief", "a stop valve before a relief valve", RELIEFS, "inlet", 1),
    _valve_before("valve-after-relief", "a stop valve in a discharge pipe", RELIEFS, "outlet", 1),
    _valve_before("valve-before-vessel", "an unlocked stop valve before a vessel", VESSELS, "port"),
    _valve_before("valve-after-tundish", "a stop valve behind a tundish", ("tundish",), "out"),
    _valve_before("vent-valved", "a stop valve in an open vent", ("open-vent-end",), "port", 1),
    _valve_before("feed-valved", "a stop valve in the cold feed of an open system",
                  ("feed-and-expansion-cistern",), "cold-feed"),
    FaultKind("heat-leak-valved", "a heat leak that can be shut", "safety", 2, _valve_at_gravity),
    FaultKind("check-before-drinking-vessel", "a check valve before the vessel of an unvented store", "safety", 3,
         _check_before_store),
    FaultKind("check-in-discharge", "a check valve in a discharge pipe", "safety", 2, _check_in_discharge),
    FaultKind("flow-joined-to-return", "the flow of a source joined to its return", "topology", 1, _flow_to_return),
    FaultKind("load-flow-joined-to-return", "flow and return joined on the load side", "topology", 2, _risers_joined),
    FaultKind("drinking-joined-to-heating", "drinking water joined to heating water", "safety", 1,
              _drinking_to_heating),
    FaultKind("hot-joined-to-heating", "hot tap water joined to heating water", "safety", 2, _hot_to_heating),
    FaultKind("solar-joined-to-heating", "collector circuit joined to the boiler circuit", "safety", 2,
              _solar_to_heating),
    FaultKind("blind-end-left", "a capped stub on tap water", "topology", 2, _blind_end),
    FaultKind("second-pump", "two pumps in one ring", "topology", 3, _second_pump),
    FaultKind("pump-opposed", "a pump against another", "topology", 2, _opposed_pump),
    FaultKind("check-opposed", "a check valve against a pump", "topology", 2, _check_opposed),
    FaultKind("reference-room-valve-added", "a thermostatic valve in the room of the thermostat", "control", 3,
         _radiator_valve_at_sensor),
)  # fmt: skip
