"""cold-feed-obstructed (error)

What: in an open-vented heating circuit the way from the cistern's cold feed to a source can be shut, or there is no
    cold feed. The cold feed of tap water to a vented cylinder may have one full-way service valve and is not judged.
Why: the cold feed keeps the boiler full and takes the swelling water back.
Cure: plain pipe without a valve from the cistern to the return.
Source: common practice; neutral point and cold feed: a plumbing course textbook, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      A1: {kind: open-vent-end, at: B1.flow}
      T1: {kind: tee}
      V1: {kind: isolating-valve}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1, P1, R1, B1.return]
      - [F1.cold-feed, V1, T1]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      A1: {kind: open-vent-end, at: B1.flow}
      T1: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1, P1, R1, B1.return]
      - [F1.cold-feed, T1]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import cut_off, heated_circuits, names


def check(facts):
    for circuit in heated_circuits(facts):
        if not circuit.section.open or circuit.section.elsewhere:
            continue
        if not circuit.feeds:
            yield Fault(
                f"nothing feeds the open-vented circuit of {', '.join(circuit.tags[:4])}",
                "lead the cold-feed of a feed-and-expansion-cistern, without a valve, to the return",
                parts=circuit.tags,
            )
            continue
        for sources, between in cut_off(facts, circuit.sources, circuit.feeds):
            cistern = circuit.feeds[0]
            yield Fault(
                f"{names(between)} can shut the cold feed from {cistern.tag} to {names(sources)}",
                f"lead the cold feed without a valve from {cistern} to the return of {sources[0].tag}",
                parts=(*(part.tag for part in (*sources, *between)), cistern.tag),
            )
