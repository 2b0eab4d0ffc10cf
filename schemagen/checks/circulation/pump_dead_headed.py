"""pump-dead-headed (error)

What: a pump runs in a state in which no open way leads round through it.
Why: a pump that runs against shut valves gets hot and noisy and dies early.
Cure: interlock the pump with the valves, or provide a bypass.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, Z1.in]
      - [Z1.out, R1.a]
      - [R1.b, B1.return]
    states:
      summer: {P1: on, Z1: shut, B1: off}

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, Z1.in]
      - [Z1.out, R1.a]
      - [R1.b, B1.return]
    states:
      heating: {P1: on, Z1: open, B1: on}
"""

from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault

FOLDS = ("source-on-without-flow", "part-never-flows")


def check(facts):
    blocked: dict[str, list[str]] = {}
    for state in facts.operation.of_sort(*WORKING):
        flow = facts.operation.flow(state)
        for tag in state.pumps_on:
            if facts.network.parts[tag].kind.driver == "pump" and not flow.part_moves(tag):
                blocked.setdefault(tag, []).append(state.name)
    for tag, states in blocked.items():
        yield Fault(
            f"{tag} runs with no open way round when: {', '.join(states[:3])}",
            f"let the valve that stands shut start {tag}, or join a bypass valve from flow to return",
            parts=(tag,),
            states=tuple(states),
        )
