"""part-under-rated-for-heat (warning)

What: a part or pipe between the outlet of a collector or fire and the first taker stands less heat than can come from
    there: by its `max-temperature`, or because its `material` is plastic. An error on the flow of a fire.
Why: plastic pipe on a stove melts just when it is needed.
Cure: copper or steel for the first metres; high-temperature parts for solar.
Source: stove feed parts must stand the temperature: a maker's installation manual, seen; 110 °C and more on stove and
    solar flows, 95 °C for plastic pipe, from memory
Caution: solid-fuel

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.return}
      R1: {kind: heat-leak-radiator}
    connections:
      - {run: [S1.flow, R1], max-temperature: 90 °C}
      - [R1.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.return}
      R1: {kind: heat-leak-radiator}
    connections:
      - {run: [S1.flow, R1], material: copper}
      - [R1.b, S1.return]
"""

import re

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault

HOTTEST_C = 110.0
PLASTIC_C = 95.0
_PLASTIC = re.compile(r"plastic|multilayer|multi-layer|polybut|polyprop|polyethyl|\bpe-?(?:x|rt)|\bpp\b|\bpb\b", re.I)


def check(facts):
    stops = {part.tag for part in facts.network.parts.values() if _cools(part)}
    for giver in facts.givers:
        if giver.kind.giver == "uncontrolled":
            yield from _on_flow(facts, giver, stops | {giver.tag})


def _cools(part) -> bool:
    """True for what ends the hottest stretch: a taker, a store, or a valve that mixes colder water in."""
    return bool(part.kind.taker or part.kind.takes or part.kind.store) or "mixed" in part.kind.ports


def _on_flow(facts, giver, stops):
    hottest = giver.value("max-temperature") or HOTTEST_C
    severity = "error" if giver.kind.name != "solar-collector" else None
    reached = facts.reach.downstream_of_all(facts.outlet_ports(giver), without=stops)
    pipes = {pipe.index: pipe for port in reached for pipe in facts.network.pipes_at.get(port, ())}
    for index in sorted(pipes):
        pipe = pipes[index]
        limit = pipe.values.get("max-temperature") or (PLASTIC_C if _PLASTIC.search(_material(pipe)) else None)
        if pipe.start in reached and pipe.end in reached and limit is not None and limit < hottest:
            yield _fault(f"the pipe {pipe.name}", limit, hottest, giver.tag, (giver.tag,), [pipe], severity)
    for tag in sorted({port.tag for port in reached} - stops):
        limit = facts.network.parts[tag].value("max-temperature")
        if limit is not None and limit < hottest:
            yield _fault(tag, limit, hottest, giver.tag, (tag, giver.tag), [], severity)


def _material(pipe) -> str:
    return str(pipe.values.get("material", ""))


def _fault(what: str, limit: float, hottest: float, giver: str, parts, pipes, severity) -> Fault:
    return Fault(
        f"{what} stands {quantity(limit, '°C')}, but {giver} can send {quantity(hottest, '°C')}",
        f"use one that stands {quantity(hottest, '°C')} between {giver} and the first taker",
        parts=parts,
        pipes=pipes,
        severity=severity,
    )
