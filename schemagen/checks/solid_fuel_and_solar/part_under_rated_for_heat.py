"""part-under-rated-for-heat (warning)

What: a part or pipe between a collector or stove outlet and the first taker stands less heat than can come from there. An error on a stove's flow.
Why: plastic pipe on a stove melts just when it is needed.
Cure: copper or steel for the first metres; high-temperature parts for solar.
Source: stove feed parts must stand the temperature: a maker's notes, seen; 110 °C and more for stove and solar flow, from memory

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: heat-leak-radiator}
    connections:
      - {run: [S1.flow, T1.a], max-temperature: 90 °C}
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

HOTTEST_C = 110.0


def check(facts):
    takers = {part.tag for part in facts.takers}
    stores = {part.tag for part in facts.network.parts.values() if part.kind.store}
    for giver in facts.givers:
        if giver.kind.giver != "uncontrolled" or giver.kind.name == "ground-loop":
            continue
        hottest = giver.value("max-temperature") or HOTTEST_C
        valves = {p.tag for p in facts.parts("heating-mixing-valve", "loading-valve", "thermostatic-mixing-valve")}
        stop = takers | stores | valves | {giver.tag}
        reached = facts.reach.downstream_of_all(facts.outlet_ports(giver), without=stop)
        severity = "error" if giver.kind.name != "solar-collector" else None
        for pipe in facts.network.pipes:
            limit = pipe.values.get("max-temperature")
            if pipe.start in reached and pipe.end in reached and limit is not None and limit < hottest:
                yield _fault(f"the pipe {pipe.name}", limit, hottest, giver.tag, (giver.tag,), [pipe], severity)
        for tag in sorted({port.tag for port in reached} - stop):
            limit = facts.network.parts[tag].value("max-temperature")
            if limit is not None and limit < hottest and any(PortId(tag, n) in reached for n in facts.network.parts[tag].kind.ports):
                yield _fault(tag, limit, hottest, giver.tag, (tag, giver.tag), [], severity)


def _fault(what: str, limit: float, hottest: float, giver: str, parts, pipes, severity) -> Fault:
    return Fault(
        f"{what} stands {limit:g} °C, but {giver} can send {hottest:g} °C",
        f"use a part that stands {hottest:g} °C between {giver} and the first taker",
        parts=parts,
        pipes=pipes,
        severity=severity,
    )
