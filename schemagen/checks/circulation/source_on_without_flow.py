"""source-on-without-flow (error)

What: in a state in which a heat source is on, no water moves through it.
Why: a heat source with still water boils, makes noise or locks out on its high limit.
Cure: see which valve or pump setting of that state breaks the loop.
Source: common practice; protection against overheating asked by BS EN 12828, from memory

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, Z1.in]
      - [Z1.out, R1.a]
      - [R1.b, B1.return]
    states:
      hot water: {B1: on, Z1: shut}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, Z1.in]
      - [Z1.out, R1.a]
      - [R1.b, B1.return]
    states:
      heating: {B1: on, Z1: open}
"""

from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault

FOLDS = ("part-never-flows",)


def check(facts):
    dry: dict[str, list[str]] = {}
    for state in facts.operation.of_sort(*WORKING):
        flow = facts.operation.flow(state)
        for giver in facts.givers:
            if (
                giver.kind.giver == "controlled"
                and giver.tag in state.sources_on
                and not flow.part_moves(giver.tag, giver.kind.gives)
            ):
                dry.setdefault(giver.tag, []).append(state.name)
    for tag, states in dry.items():
        yield Fault(
            f"{tag} is on but no water moves through it when: {', '.join(states[:3])}",
            "see which valve stands shut or which pump is off then, and correct the control or the pipe",
            parts=(tag, *_beyond(facts, tag)),
            states=tuple(states),
        )


def _beyond(facts, tag: str) -> list[str]:
    """Tags of the takers that its water could reach: a broken way there explains why it stands."""
    outlets = facts.outlet_ports(facts.network.parts[tag])
    reached = facts.reach.downstream_of_all(outlets, without=(tag,))
    tags = {port.tag for port in reached}
    return [part.tag for part in facts.takers if part.tag in tags]
