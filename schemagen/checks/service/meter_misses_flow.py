"""meter-misses-flow (warning)

What: water can go round a meter on its way through the part that it `measures`; or both its temperature pockets sit
    in one pipe run; or it sits directly at the inlet of a pump or directly after a regulating valve.
Why: a meter counts only what passes through it, and a swirl or a bubble makes it lie.
Cure: put it into a straight pipe of the common return of the circuit that it names.
Source: EN 1434-6 and guidance quoted from CEN CR 13582 in a meter maker's installation manual, seen

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      HM1: {kind: heat-meter, measures: B1, capped: [pocket-1, pocket-2]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, HM1, P1, B1.return]}

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      HM1: {kind: heat-meter, measures: B1, capped: [pocket-1, pocket-2]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, P1, R1, HM1, B1.return]}
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_REGULATORS = ("balancing-valve", "flow-regulator", "lockshield-valve")


def check(facts):
    for meter in facts.parts("heat-meter", "flow-meter"):
        yield from _place(facts, meter)
        measured = facts.network.parts.get(meter.value("measures", ""))
        if measured is not None:
            yield from _missed(facts, meter, measured)
        yield from _pockets(facts, meter)


def _place(facts, meter):
    before, after = (facts.piped_across(PortId(meter.tag, name)) for name in ("in", "out"))
    for port in (before, after):
        if port and port.port == "in" and facts.network.parts[port.tag].kind.driver == "pump":
            yield Fault(
                f"{meter.tag} sits directly at the inlet of {port.tag}",
                f"move {meter.tag} to the outlet side, or to the other pipe of the circuit",
                parts=(meter.tag, port.tag),
                pipes=[facts.pipe_at(port)],
            )
    if before and facts.network.parts[before.tag].kind.name in _REGULATORS:
        yield Fault(
            f"{meter.tag} sits directly after the regulating valve {before.tag}",
            f"put {meter.tag} before {before.tag}, or a straight length of pipe with other parts between them",
            parts=(meter.tag, before.tag),
            pipes=[facts.pipe_at(before)],
        )


def _missed(facts, meter, measured):
    for way in facts.waterways(measured):
        outlets = [p for p in way if facts.spec(p).role in ("out", "either") and facts.is_piped(p)]
        inlets = [p for p in way if facts.spec(p).role in ("in", "either") and facts.is_piped(p)]
        around = [p for p in _ends(facts, outlets, inlets, meter.tag, measured.tag)]
        if around and _passes(facts, meter, outlets + inlets):
            path = facts.reach.path(*around, without=(meter.tag, measured.tag))
            tags = list(dict.fromkeys(port.tag for port in path if port.tag != measured.tag))
            by = next((t for t in tags if not facts.network.parts[t].kind.plain), tags[0] if tags else "")
            yield Fault(
                f"water goes round {meter.tag} through {by} on its way through {measured.tag}",
                f"move {meter.tag} to the common pipe next to {measured.tag}, before the first branch",
                parts=(meter.tag, by),
                pipes=[facts.pipe_at(PortId(meter.tag, "in"))] if facts.is_piped(PortId(meter.tag, "in")) else (),
            )


def _ends(facts, outlets, inlets, meter: str, measured: str):
    """An outlet and an inlet of the measured part between which water can run without the meter."""
    for outlet in outlets:
        reached = facts.reach.downstream(outlet, without=(meter, measured))
        for inlet in inlets:
            if inlet != outlet and inlet in reached:
                return outlet, inlet
    return ()


def _passes(facts, meter, ports) -> bool:
    """True if the meter is in the water of the waterway that it measures."""
    return any(facts.reach.same_water(PortId(meter.tag, "in"), port) for port in ports)


def _pockets(facts, meter):
    felt = [facts.piped_across(PortId(meter.tag, name)) for name in ("pocket-1", "pocket-2")]
    if None not in felt and felt[1] in facts.reach.header(felt[0], without=(meter.tag,)):
        yield Fault(
            f"both temperature pockets of {meter.tag} sit in the same pipe run",
            "put one pocket into the flow and one into the return of the circuit",
            parts=(meter.tag,),
            ports=felt,
        )
