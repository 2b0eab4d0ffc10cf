"""exchanger-same-way-flow (warning)

What: both streams of a plate heat exchanger run the same way.
Why: the two streams should pass in opposite directions;
    side by side, the water that is wanted never gets hotter than the spent water that leaves.
Cure: exchange the two pipes on one side.
Source: counter-flow as explained in general engineering handbooks; common practice

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      X1: {kind: plate-heat-exchanger}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, X1.left-top]
      - [X1.left-bottom, B1.return]
      - [P1.out, X1.right-top]
      - [X1.right-bottom, R1.a]
      - [R1.b, P1.in]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      X1: {kind: plate-heat-exchanger}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, X1.left-top]
      - [X1.left-bottom, B1.return]
      - [P1.out, X1.right-bottom]
      - [X1.right-top, R1.a]
      - [R1.b, P1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    for plate in facts.parts("plate-heat-exchanger"):
        for state in (s for s in facts.operation.states if s.sort != "filling"):
            flow = facts.operation.flow(state)
            left, right = (flow.into(PortId(plate.tag, name)) for name in ("left-top", "right-top"))
            if left and left == right:
                yield Fault(
                    f"both waters run the same way through {plate.tag}",
                    f"exchange the pipes at {plate.tag}.right-top and {plate.tag}.right-bottom",
                    parts=(plate.tag,),
                    pipes=[
                        p for name in ("right-top", "right-bottom") if (p := facts.pipe_at(PortId(plate.tag, name)))
                    ],
                    states=(state.name,),
                )
                break
