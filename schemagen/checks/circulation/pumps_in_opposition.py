"""pumps-in-opposition (error)

What: two pumps run at once, and every way through the one goes backwards through the other.
Why: two pumps that push at each other heat themselves and move little water.
Cure: turn one round, or delete it.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      P2: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, P2.out]
      - [P2.in, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

FOLDS = ("pump-dead-headed", "no-path-back", "source-on-without-flow", "arrow-against-flow", "part-never-flows")


def check(facts):
    told = set()
    for state in facts.operation.of_sort(*WORKING):
        pumps = [tag for tag in state.pumps_on if {"in", "out"} <= facts.network.parts[tag].kind.ports.keys()]
        for tag in pumps:
            if _home(facts, tag, state.positions):
                continue
            for other in pumps:
                pair = frozenset((tag, other))
                if other != tag and pair not in told and _home(facts, tag, dict(state.positions) | {other: "off"}):
                    told.add(pair)
                    yield Fault(
                        f"{tag} and {other} push against each other when: {state.name}",
                        f"turn {tag} or {other} round, or take one out",
                        parts=(tag, other),
                        states=(state.name,),
                    )


def _home(facts, tag: str, positions) -> bool:
    return bool(facts.reach.path(PortId(tag, "out"), PortId(tag, "in"), positions))
