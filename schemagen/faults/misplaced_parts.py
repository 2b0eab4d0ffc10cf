"""Vessels, safety valves, filters, pumps and stop valves at the wrong place of the right heating or solar circuit."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.faults.change import bridged, put_in, stub_moved, tied_to
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import PortId


def _vessel_at_pump_outlet(facts: Facts) -> Iterator[Edit]:
    for vessel in facts.parts("expansion-vessel"):
        port = PortId(vessel.tag, "port")
        for pump in facts.parts("pump"):
            target = facts.pipe_at(PortId(pump.tag, "out"))
            if target and facts.is_piped(port) and facts.reach.same_water(port, target.start):
                network, tee = stub_moved(facts.network, facts.library, PortId(vessel.tag, "port"), target)
                yield Edit((vessel.tag, pump.tag, tee), f"{vessel.tag} is tied to the outlet of {pump.tag}.", network)
                break


def _relief_behind_valve(facts: Facts) -> Iterator[Edit]:
    """The relief valve of a source moved behind the source's stop valve."""
    for relief in facts.parts("relief-valve"):
        inlet = PortId(relief.tag, "inlet")
        for giver in facts.givers:
            found = next((v for port in facts.outlet_ports(giver) if (v := _first_valve(facts, port))), None)
            pipe = found and facts.pipe_at(found)
            if pipe and facts.is_piped(inlet) and facts.reach.same_water(inlet, found):
                network, tee = stub_moved(facts.network, facts.library, PortId(relief.tag, "inlet"), pipe)
                told = f"{relief.tag} stands behind the stop valve {found.tag}."
                yield Edit((relief.tag, found.tag, giver.tag, tee), told, network)
                break


def _first_valve(facts: Facts, port: PortId) -> PortId | None:
    """The far opening of the first isolating valve downstream of an opening."""
    takers = [part.tag for part in facts.takers]
    valves = [PortId(part.tag, "b") for part in facts.parts("isolating-valve")]
    paths = [path for valve in valves if (path := facts.reach.path(port, valve, without=takers))]
    return min(paths, key=len)[-1] if paths else None


def _filter_on_flow(facts: Facts) -> Iterator[Edit]:
    """The filter of a source moved from its return to its flow."""
    for part in facts.parts("magnetic-filter"):
        for giver in facts.givers:
            flow = next((p for p in map(facts.pipe_at, facts.outlet_ports(giver)) if p), None)
            if flow and facts.reach.same_water(flow.start, PortId(part.tag, "in")):
                network = bridged(facts.network, part.tag, "in", "out")
                target = next(p for p in network.pipes if (p.start, p.end) == (flow.start, flow.end))
                network, tag = put_in(network, facts.library, target, "magnetic-filter")
                yield Edit((tag, giver.tag), f"{tag} stands in the flow of {giver.tag}, not in its return.", network)
                break


def _pump_on_hot_leg(facts: Facts) -> Iterator[Edit]:
    """The pump behind a mixing valve moved to the pipe into its hot side."""
    for valve in facts.parts("heating-mixing-valve", "loading-valve"):
        hot = facts.pipe_at(PortId(valve.tag, "hot" if valve.kind.name.startswith("heating") else "cold"))
        run = facts.run_from(PortId(valve.tag, "mixed"))
        pump = next((p for p in run if facts.network.parts[p.tag].kind.driver == "pump"), None)
        if hot and pump:
            network = bridged(facts.network, pump.tag, "in", "out")
            target = next(p for p in network.pipes if (p.start, p.end) == (hot.start, hot.end))
            network, tag = put_in(network, facts.library, target, "pump")
            yield Edit((tag, valve.tag), f"The pump {tag} stands before {valve.tag}, not behind it.", network)


def _collector_vessel_hot(facts: Facts) -> Iterator[Edit]:
    for vessel in facts.parts("solar-expansion-vessel"):
        for collector in facts.parts("solar-collector"):
            hot = facts.pipe_at(PortId(collector.tag, "out"))
            stub = facts.pipe_at(PortId(vessel.tag, "port"))
            near = stub and facts.network.far_end(stub, PortId(vessel.tag, "port"))
            first = near and facts.network.parts[near.tag]
            if hot and first and first.kind.name == "intermediate-vessel":
                other = next(p for p in facts.wet_ports(first) if p != near)
                leg = facts.pipe_at(other)
                network, tee = tied_to(facts.network, facts.library, leg, facts.network.far_end(leg, other), hot)
                network = bridged(network, first.tag, "in", "out")
            elif hot and stub:
                network, tee = tied_to(facts.network, facts.library, stub, near, hot)
            else:
                continue
            at = (vessel.tag, collector.tag, tee, near.tag)
            yield Edit(at, f"{vessel.tag} stands on the hot side of {collector.tag}.", network)
            break


def _valve_to_valve(facts: Facts) -> Iterator[Edit]:
    """A source that can be cut off from its relief valve and vessel by a motor valve."""
    for giver in facts.givers:
        flow = next((p for p in map(facts.pipe_at, facts.outlet_ports(giver)) if p), None)
        back = next((p for p in map(facts.pipe_at, facts.return_ports(giver)) if p), None)
        if flow and back and not facts.built_in(giver.tag, "relief"):
            network, a = put_in(facts.network, facts.library, flow, "isolating-valve")
            back = next(p for p in network.pipes if (p.start, p.end) == (back.start, back.end))
            network, b = put_in(network, facts.library, back, "isolating-valve")
            told = f"The stop valves {a} and {b} part {giver.tag} from its relief valve and vessel."
            yield Edit((giver.tag, a, b), told, network)


FAULTS = (
    FaultKind("vessel-at-pump-outlet", "a vessel on the outlet side of the pump", "safety", 3, _vessel_at_pump_outlet),
    FaultKind("relief-behind-valve", "a relief valve behind a stop valve", "safety", 2, _relief_behind_valve),
    FaultKind("filter-on-flow", "a filter in the flow", "topology", 2, _filter_on_flow),
    FaultKind("pump-before-mixing-valve", "a pump on the wrong leg of a mixing valve", "topology", 3, _pump_on_hot_leg),
    FaultKind("collector-vessel-hot-side", "the vessel on the hot side of a collector", "safety", 3,
              _collector_vessel_hot),
    FaultKind("source-valved-off", "a source cut off from its safety parts", "safety", 2, _valve_to_valve),
)  # fmt: skip
