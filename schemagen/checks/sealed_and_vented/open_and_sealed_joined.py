"""open-and-sealed-joined (error)

What: one circuit is open to the air (vent or cistern) and has parts of a sealed system: a vessel, a filling loop from the main, or a source that may only stand in a sealed one.
Why: topping up from the main would pour out of the vent, and a sealed boiler on an open system draws in air.
Cure: choose one, or join the two through a plate exchanger or coil.
Source: common practice, no source
Caution: pressure

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: radiator}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      R1: {kind: radiator}
    connections:
      - [S1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, R1.a]
      - [R1.b, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import heated

FOLDS = ("pump-between-vent-and-feed", "vent-obstructed", "cold-feed-obstructed")
_SEALED = ("expansion-vessel", "solar-expansion-vessel", "filling-loop")


def check(facts):
    told = set()
    for giver, section in heated(facts):
        if not section.open or section.number in told:
            continue
        parts = [facts.network.parts[tag] for tag in section.tags]
        sealed = [p.tag for p in parts if p.kind.name in _SEALED or p.value("sealed-only") or "vessel" in p.built_in]
        if sealed:
            told.add(section.number)
            opening = next(p.tag for p in parts if p.kind.name in ("open-vent-end", "feed-and-expansion-cistern", "cold-water-cistern"))
            yield Fault(
                f"{sealed[0]} belongs to a sealed circuit, but this one is open at {opening}",
                f"take {sealed[0]} out, or part the two circuits with a plate exchanger",
                parts=(sealed[0], opening, giver.tag),
            )
