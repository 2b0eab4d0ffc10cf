"""heat-pump-flow-not-readable (advice)

What: nothing at the flow or return of a heat pump reads its flow.
Why: flow is the first thing to set and the first to doubt; without a reading it is a guess.
Cure: a flow regulator, flow meter or heat meter on the return.
Source: temperature pockets, gauges and flow setting in makers' lists, seen; otherwise common practice

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      F1: {kind: magnetic-filter}
      R1: {kind: radiator}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      F1: {kind: magnetic-filter}
      Q1: {kind: flow-meter}
      R1: {kind: radiator}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, Q1.in]
      - [Q1.out, H1.return]
"""

from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import heat_pumps, legs

_READS = ("flow-meter", "heat-meter", "flow-regulator")


def check(facts):
    stop = bodies(facts) | {part.tag for part in facts.takers}
    for unit in heat_pumps(facts):
        ends = legs(facts, unit)
        if (
            not ends
            or facts.built_in(unit.tag, "flow-reading", "readings")
            or any(facts.goes_on_elsewhere(p) for p in ends)
        ):
            continue
        if not any(_reads(facts.network.parts[tag]) for tag in _around(facts, ends, stop)):
            yield Fault(
                f"nothing reads the flow through {unit.tag}",
                f"put a flow regulator or flow meter into the pipe at {ends[-1]}",
                parts=(unit.tag,),
                pipes=[facts.pipe_at(ends[-1])],
            )


def _reads(part) -> bool:
    tested = part.kind.name == "balancing-valve" and part.value("test-points")
    return bool(
        part.kind.name in _READS or "flow-reading" in part.kind.counts_as or "flow-reading" in part.built_in or tested
    )


def _around(facts, ends, stop) -> set[str]:
    """Tags on the pipework of the unit up to what heats, stores or takes."""
    seen, todo = set(ends), list(ends)
    while todo:
        port = todo.pop()
        onward = list(facts.reach.piped_to[port])
        if port.tag not in stop:
            onward += [way.to for way in facts.reach.ways[port]]
        for other in onward:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return {port.tag for port in seen}
