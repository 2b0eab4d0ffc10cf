"""cold-feed-obstructed (error)

What: in an open-vented heating circuit the way from the cistern's cold feed to a source can be shut.
Why: the cold feed keeps the boiler full and takes the swelling water back.
Cure: plain pipe without a valve from the cistern to the return.
Source: trade and textbook pages, seen; common practice
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      T2: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
      V1: {kind: isolating-valve}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, T2.a]
      - [T2.branch, V1.a]
      - [V1.b, F1.cold-feed]
      - [T2.b, P1.in]
      - [P1.out, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      A1: {kind: open-vent-end}
      T2: {kind: tee}
      F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, A1.port]
      - [T1.b, T2.a]
      - [T2.branch, F1.cold-feed]
      - [T2.b, P1.in]
      - [P1.out, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import feeds, heated, in_between
from schemagen.network.network import PortId


def check(facts):
    for giver, section in heated(facts):
        cisterns = feeds(facts, section)
        if not section.open or not cisterns or set(cisterns) & facts.reach.fixed_of(giver.tag):
            continue
        between = in_between(facts, [PortId(giver.tag, n) for n in giver.kind.gives], cisterns)
        yield Fault(
            f"{', '.join(between) or 'a part'} can shut the cold feed from {cisterns[0].tag} to {giver.tag}",
            f"lead the cold feed without a valve from {cisterns[0]} to the return of {giver.tag}",
            parts=(giver.tag, *between, cisterns[0].tag),
        )
