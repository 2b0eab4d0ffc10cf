"""vessel-on-pump-outlet (warning)

What: the only vessel near a pump stands on its outlet, not on its inlet.
Why: the pressure where the vessel joins cannot change; if the pump pushes towards it, the pressure on the suction side drops instead, and air is drawn in.
Cure: join the vessel close to the pump inlet.
Source: vessel close to the inlet side of the circulating pump: makers' sheets, seen; the point of no pressure change: trade pages, seen; common practice

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
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, P1.in]
      - [P1.out, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, R1.a]
      - [R1.b, B1.return]

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

from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import vessel_ports
from schemagen.network.network import PortId


def check(facts):
    told = set()
    for state in facts.operation.of_sort(*WORKING):
        flow = facts.operation.flow(state)
        strongest: dict[int, tuple[float, str]] = {}
        for tag in state.pumps_on:
            if facts.network.parts[tag].kind.driver == "pump" and (pipe := facts.pipe_at(PortId(tag, "in"))):
                number = facts.section(PortId(tag, "in")).number
                strongest[number] = max(strongest.get(number, (0.0, "")), (abs(flow.amount(pipe)), tag))
        for number, (_, tag) in strongest.items():
            section = facts.reach.sections[number]
            vessels = set(vessel_ports(facts, section))
            if tag in told or not tag or section.open or section.supply or _is_solar(facts, tag):
                continue
            behind = facts.reach.header(PortId(tag, "out")) & vessels
            if behind and not facts.reach.header(PortId(tag, "in")) & vessels:
                told.add(tag)
                vessel = sorted(behind)[0].tag
                yield Fault(
                    f"{vessel} stands on the outlet of {tag}",
                    f"join {vessel} to the pipe at {tag}.in",
                    parts=(vessel, tag),
                    states=(state.name,),
                )


def _is_solar(facts, tag: str) -> bool:
    pipe = facts.pipe_at(PortId(tag, "in"))
    return facts.waters.section[pipe.index].startswith("solar")
