"""relief-valve-isolated (error)

What: a heat source of a sealed circuit can be cut off from every relief valve by a valve, a pump, a check valve or a filter, even if it is meant to stand open.
Why: a shut valve, a blocked strainer or a stuck check valve must never come between the heat and the relief valve.
Cure: move the relief valve to the source's side, on plain pipe.
Source: fitted on the flow near the source without any isolating valve: BS EN 12828 as quoted by a boiler maker, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator}
      V1: {kind: isolating-valve}
    connections:
      - [B1.flow, V1.a]
      - [V1.b, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, P1.in]
      - [P1.out, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import heated, in_between, relief_inlets
from schemagen.network.network import PortId

FOLDS = ("heat-trapped-between-valves",)


def check(facts):
    for giver, section in heated(facts):
        inlets = relief_inlets(facts, section)
        if section.open or not inlets or facts.built_in(giver.tag, "relief"):
            continue
        if facts.reach.fixed_of(giver.tag) & set(inlets):
            continue
        body = [PortId(giver.tag, name) for name in giver.kind.gives]
        between = in_between(facts, body, inlets) or [inlets[0].tag]
        yield Fault(
            f"{', '.join(between)} can cut {giver.tag} off from {inlets[0].tag}",
            f"move {inlets[0].tag} onto the plain pipe between {giver.tag} and {between[0]}",
            parts=(giver.tag, *between, inlets[0].tag),
            ports=(inlets[0],),
        )
