"""solar-no-overheat-plan (advice)

What: nothing in a solar circuit takes up what the collector boils out on a hot day with a full store: no drain-back or intermediate vessel, no vessel for the steam, no note.
Why: the fluid boils in the collector then; that is normal if the steam has somewhere to push the fluid.
Cure: a larger vessel, drain-back, or a radiator that dumps heat; or write `overheat-plan:` at the collector.
Source: installers' pages and a trade reference, seen; common practice

Wrong:
    parts:
      S1: {kind: solar-collector, volume: 5 L}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
      T1: {kind: tee}
      E1: {kind: solar-expansion-vessel, volume: 6 L}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, T1.a]
      - [T1.branch, E1.port]
      - [T1.b, S1.in]

Right:
    parts:
      S1: {kind: solar-collector, overheat-plan: store holiday cooling at night}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.solid_fuel_and_solar._fires import collectors, loop_tags

USABLE = 0.5
"""Share of a vessel's volume that takes water at the pressures of a small circuit. Common practice, no source."""


def check(facts):
    for collector in collectors(facts):
        parts = [facts.network.parts[tag] for tag in loop_tags(facts, collector)]
        names = {part.kind.name for part in parts}
        if collector.value("overheat-plan") or names & {"drain-back-vessel", "intermediate-vessel", "off-sheet-connector"}:
            continue
        if any(part.kind.takes and part.kind.family == "emitters" for part in parts):
            continue
        vessels = [part.value("volume") for part in parts if part.kind.name.endswith("expansion-vessel")]
        steam = collector.value("volume")
        if vessels and (steam is None or None in vessels):
            yield Unknown((collector.tag,), f"add `volume` to {collector.tag} and to its vessel")
        elif not vessels or sum(vessels) * USABLE < steam:
            yield Fault(
                f"nothing takes up what {collector.tag} boils out when its store is full",
                f"take a larger vessel or drain-back, or write `overheat-plan:` at {collector.tag}",
                parts=(collector.tag,),
            )
