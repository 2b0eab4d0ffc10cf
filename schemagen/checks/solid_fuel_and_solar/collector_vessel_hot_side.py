"""collector-vessel-hot-side (warning)

What: the vessel of a pumped solar circuit hangs on the hot way from collector to coil, or the check valve stands so that pressure of the collector cannot reach the vessel.
Why: boiling fluid would reach the rubber.
Cure: the vessel on the cool return, branching down; an intermediate vessel where the collector holds more than the pipes.
Source: parts on the return leg, vessel limited to about 110 °C; intermediate vessel: installer's pages and a trade reference, seen

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
      T1: {kind: tee}
      E1: {kind: solar-expansion-vessel}
    connections:
      - [S1.out, T1.a]
      - [T1.branch, E1.port]
      - [T1.b, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
      T1: {kind: tee}
      E1: {kind: solar-expansion-vessel}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, T1.a]
      - [T1.branch, E1.port]
      - [T1.b, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import collectors, loop_tags
from schemagen.network.network import PortId


def check(facts):
    told = set()
    for collector in collectors(facts):
        tags = loop_tags(facts, collector)
        parts = [facts.network.parts[tag] for tag in tags]
        pumped = any(p.kind.driver == "pump" for p in parts)
        vessels = [p for p in parts if p.kind.name.endswith("expansion-vessel") and p.tag not in told]
        if not pumped or not vessels or any(p.kind.name == "drain-back-vessel" for p in parts):
            continue
        hot = facts.reach.header(PortId(collector.tag, "out"))
        body = [PortId(collector.tag, name) for name in ("in", "out")]
        checks = [p.tag for p in parts if p.kind.name == "check-valve"]
        for vessel in vessels:
            port = PortId(vessel.tag, "port")
            if port in hot:
                yield _fault(vessel.tag, collector.tag, f"{vessel.tag} hangs on the hot pipe of {collector.tag}")
            elif port not in _pushed(facts, body, checks):
                yield _fault(vessel.tag, collector.tag, f"{checks[0] if checks else 'a one-way part'} keeps the pressure of {collector.tag} from {vessel.tag}")
            else:
                continue
            told.add(vessel.tag)


def _pushed(facts, body, checks):
    """Ports that pressure from the collector reaches, whatever valve on its flow stands shut."""
    shut = {p.tag: "shut" for p in facts.network.parts.values() if p.kind.moved_by == "motor" and "shut" in p.kind.positions}
    return facts.reach.downstream_of_all(body, shut)


def _fault(vessel: str, collector: str, said: str) -> Fault:
    return Fault(said, f"join {vessel} to the return, between the check valve and {collector}.in", parts=(vessel, collector))
