"""no-vent-at-high-point (warning)

What: a closed circuit has no air vent, open vent or emitter with a vent of its own; or, with heights given, a place
    that lies higher than all around it has none. Advice: an automatic air vent on the suction side of a pump in an
    open-vented circuit.
Why: air rises and stops the water. Every hill in the pipe needs a way out; where a pump sucks, an automatic vent
    lets air in.
Cure: put an air vent at each high point and at the coil.
Source: air vents at high points and at the cylinder coil in a plumbing course textbook, and at the highest point of
    heat-pump pipework in makers' installation manuals, seen

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ST1: {kind: vented-cylinder, capped: [circulation-return]}
    connections:
      - {run: [B1.flow, ST1.coil-in]}
      - {run: [ST1.coil-out, B1.return]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ST1: {kind: vented-cylinder, capped: [circulation-return]}
      AV1: {kind: air-vent, at: ST1.coil-in}
    connections:
      - {run: [B1.flow, ST1.coil-in]}
      - {run: [ST1.coil-out, B1.return]}
"""

from schemagen.checks.fault import Fault
from schemagen.checks.service._heights import pockets
from schemagen.checks.service._regions import closed_circuits, does, is_heated
from schemagen.network.network import PortId


def check(facts):
    for section in closed_circuits(facts):
        if not any(does(facts, tag, "vent") for tag in section.tags):
            first = next(p.tag for p in section.ports if is_heated(facts, p))
            yield Fault(
                f"the circuit of {first} has no air vent",
                "put an air vent at its highest point",
                parts=(first,),
            )
        elif section.open:
            yield from _on_suction(facts, section)
    for place in pockets(facts, lowest=False):
        if not any(does(facts, tag, "vent") for tag in place.tags):
            yield Fault(
                f"air gathers at the high point at {place.name}",
                "put an air vent there",
                parts=place.tags[:1],
                pipes=place.pipes,
            )


def _on_suction(facts, section):
    pumps = [tag for tag in section.tags if facts.network.parts[tag].kind.driver == "pump"]
    told = set()
    for tag in pumps:
        inlet = PortId(tag, "in")
        if inlet not in facts.reach.ways:
            continue
        for port in sorted(facts.reach.header(inlet, without=(tag,))):
            part = facts.network.parts[port.tag]
            if part.kind.name == "air-vent" and part.value("type") == "automatic" and port.tag not in told:
                told.add(port.tag)
                yield Fault(
                    f"{tag} sucks at the automatic air vent {port.tag} and may draw air in",
                    f"vent on the outlet side of {tag}, or fit a vent that is opened by hand",
                    parts=(port.tag, tag),
                    severity="advice",
                )
