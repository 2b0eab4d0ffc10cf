"""open-and-sealed-joined (error)

What: one circuit is open to the air (vent or cistern) and has parts of a sealed system: a vessel, a filling loop from
    the main, or a source that may only stand in a sealed one.
Why: topping up from the main would pour out of the vent, and a sealed boiler on an open system draws in air.
Cure: choose one, or join the two through a plate exchanger or coil.
Source: common practice, no source
Caution: pressure

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      R1: {kind: heat-leak-radiator}
      E1: {kind: expansion-vessel, at: S1.return}
    connections:
      - [S1.flow, R1, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
      R1: {kind: heat-leak-radiator}
    connections:
      - [S1.flow, R1, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import DRAIN_BACK, heated_circuits, opening_of

FOLDS = ("pump-between-vent-and-feed", "vent-obstructed", "cold-feed-obstructed")


def check(facts):
    for circuit in heated_circuits(facts):
        sealed = _sealed_parts(facts, circuit) if circuit.section.open else []
        if sealed:
            opening = opening_of(facts, circuit.section)
            yield Fault(
                f"{', '.join(sealed[:3])} belong{'s' * (len(sealed) == 1)} to a sealed circuit, "
                f"but this one is open at {opening}",
                f"take {', '.join(sealed[:3])} out, or part the two circuits with a plate exchanger",
                parts=(*sealed, opening, *circuit.tags),
            )


def _sealed_parts(facts, circuit) -> list[str]:
    vessels = {port.tag for port in circuit.vessels}
    tags: dict[str, None] = {}
    for tag, name in circuit.section.ports:
        part = facts.network.parts[tag]
        loop = part.kind.name == "filling-loop" and name == "system-end"
        if loop or part.value("sealed-only") or tag in vessels and part.kind.name != DRAIN_BACK:
            tags[tag] = None
    return list(tags)
