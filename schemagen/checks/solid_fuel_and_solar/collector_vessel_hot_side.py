"""collector-vessel-hot-side (warning)

What: the vessel of a pumped solar circuit hangs on the hot way from collector to coil; or, when the valves on the flow
    are shut, a check valve keeps the pressure of the collector from the vessel.
Why: boiling fluid would reach the rubber, or have nowhere to go.
Cure: the vessel on the cool return between check valve and collector, branching down; an intermediate vessel where the
    collector holds more than the pipes.
Source: parts on the return leg, vessel limited to about 110 °C; intermediate vessel: installers' pages and a German
    trade reference, seen

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      E1: {kind: solar-expansion-vessel, at: S1.out}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      E1: {kind: solar-expansion-vessel, at: S1.in}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import is_vessel
from schemagen.checks.solid_fuel_and_solar._sun import collectors, drains_back, loop_parts
from schemagen.network.network import PortId


def check(facts):
    told = set()
    for collector in collectors(facts):
        parts = loop_parts(facts, collector)
        vessels = [part.tag for part in parts if is_vessel(part) and part.tag not in told]
        if not vessels or drains_back(parts) or not any(part.kind.driver == "pump" for part in parts):
            continue
        hot = _hot(facts, collector)
        shut = {p.tag: "shut" for p in parts if p.kind.moved_by == "motor" and "shut" in p.kind.positions}
        pushed = facts.reach.downstream_of_all([PortId(collector.tag, n) for n in ("in", "out")], shut)
        for vessel in vessels:
            said = _said(vessel, collector.tag, hot, pushed, parts)
            if said:
                told.add(vessel)
                yield Fault(
                    said,
                    f"join {vessel} to the return, between the check valve and {collector.tag}.in",
                    parts=(vessel, collector.tag),
                )


def _hot(facts, collector) -> frozenset[PortId]:
    """Ports on the hot pipe, and beyond intermediate vessels that hang on it."""
    hot = facts.reach.header(PortId(collector.tag, "out"))
    vessels = sorted(port for port in hot if facts.network.parts[port.tag].kind.name == "intermediate-vessel")
    beyond = (PortId(tag, "out" if name == "in" else "in") for tag, name in vessels)
    return hot.union(*(facts.reach.header(port) for port in beyond))


def _said(vessel: str, collector: str, hot, pushed, parts) -> str:
    if PortId(vessel, "port") in hot:
        return f"{vessel} hangs on the hot pipe of {collector}"
    if PortId(vessel, "port") in pushed:
        return ""
    check = next((part.tag for part in parts if part.kind.name == "check-valve"), "a one-way part")
    return f"{check} keeps the pressure of {collector} from {vessel}"
