"""nowhere-to-go-when-zones-shut (warning)

What: with all zone valves and thermostatic radiator valves shut, a source or pump that may still run has no way left.
    An error if the source over-runs or needs a least flow.
Why: when the last valve closes the boiler still has heat to get rid of, and a heat pump still needs flow.
Cure: an automatic bypass from flow to return, one circuit with no valve on it, or a separator.
Source: a bypass is needed where motor valves or thermostatic valves close all circuits: textbook;
    makers of sealed systems ask for one with thermostatic valves (installation manual, seen)

Wrong:
    parts:
      B1: {kind: system-boiler, overrun: yes, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve}
      Z2: {kind: zone-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1.in]
      - [T1.branch, Z2.in]
      - [Z1.out, R1.a]
      - [Z2.out, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, overrun: yes, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1.in]
      - [T1.branch, R2.a]
      - [Z1.out, R1.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
"""

from schemagen.checks.fault import Fault

FOLDS = ("heat-pump-flow-not-assured",)


def check(facts):
    for state in facts.operation.of_sort("all-shut"):
        flow = facts.operation.flow(state)
        for giver in facts.givers:
            if giver.kind.giver != "controlled" or not _is_stuck(facts, giver, state, flow):
                continue
            needs = giver.value("overrun") or giver.value("min-flow")
            yield Fault(
                f"when every zone is shut, {giver.tag} has nowhere to send its water",
                f"join a bypass valve from the flow of {giver.tag}, before the first zone valve, to its return",
                parts=(giver.tag,),
                states=(state.name,),
                severity="error" if needs else None,
            )


def _is_stuck(facts, giver, state, flow) -> bool:
    """True if water has to move through the source and cannot.

    It has to while the source or its pump still runs, or if it runs on after a stop.
    """
    if giver.tag in state.pumps_on or giver.tag in state.sources_on:
        return not flow.part_moves(giver.tag, giver.kind.gives)
    outlets = [port for port in facts.outlet_ports(giver) if facts.is_piped(port)]
    if not giver.value("overrun") or not outlets or facts.goes_on_elsewhere(outlets[0]):
        return False
    reached = facts.reach.downstream_of_all(outlets, state.positions, without=(giver.tag,))
    return not any(home in reached for home in facts.return_ports(giver))
