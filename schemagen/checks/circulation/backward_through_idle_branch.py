"""backward-through-idle-branch (warning)

What: in a state in which a pump or source is off, water moves through it all the same, and nothing stops it.
Why: water takes any open road home: it warms rooms that should be cold, or cools the flow with return water.
Cure: a check valve in every pumped branch that shares a header, and where another pump drives water forwards through it
    a zone valve; join the cylinder return last, nearest the boiler.
Source: trade article: a check valve belongs in every circuit that has a pump and hangs on a common header

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      P1: {kind: pump}
      P2: {kind: pump}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, P1.in]
      - [T1.branch, P2.in]
      - [P1.out, R1.a]
      - [P2.out, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
    states:
      zone 1: {B1: on, P1: on, P2: off}

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      P1: {kind: pump}
      P2: {kind: pump}
      K1: {kind: check-valve}
      K2: {kind: check-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, P1.in]
      - [T1.branch, P2.in]
      - [P1.out, K1.in]
      - [P2.out, K2.in]
      - [K1.out, R1.a]
      - [K2.out, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
    states:
      zone 1: {B1: on, P1: on, P2: off}
"""

from schemagen.checks.circulation._ways import WORKING, off
from schemagen.checks.fault import Fault
from schemagen.operation.moves import Inside

_BACKWARDS = "put a check valve into the branch of {}, pointing along its flow"
_FORWARDS = (
    "put a zone valve that shuts when {} stops into its branch: the water runs forwards, and no check valve holds it"
)
_MAY_PASS = ("electric-flow-boiler", "ground-loop")


def check(facts):
    may_idle = [part for part in facts.network.parts.values() if _can_idle(part)]
    idle: dict[str, list[str]] = {}
    forwards: set[str] = set()
    for state in (*facts.operation.of_sort(*WORKING), *facts.operation.source_states):
        flow = facts.operation.flow(state)
        for part in may_idle:
            if off(part, state) and flow.part_moves(part.tag, part.kind.gives or None):
                idle.setdefault(part.tag, []).append(state.name)
                if flow.direction(Inside(part.tag, "in", "out")) > 0:
                    forwards.add(part.tag)
    for tag, states in idle.items():
        yield Fault(
            f"water runs through {tag} although it is off, when: {', '.join(states[:3])}",
            _FORWARDS.format(tag) if tag in forwards else _BACKWARDS.format(tag),
            parts=(tag,),
            states=tuple(states),
        )


def _can_idle(part) -> bool:
    if part.kind.driver == "pump":
        return True
    return (
        part.kind.giver == "controlled"
        and bool(part.kind.gives)
        and part.kind.name not in _MAY_PASS
        and not part.value("pass-through")
    )
