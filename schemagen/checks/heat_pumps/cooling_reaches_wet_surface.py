"""cooling-reaches-wet-surface (error)

What: in a state called cooling, water moves through a radiator, towel rail, store coil or another part
    that is not marked for cooling.
Why: cold metal sweats: radiators, valves and floors below the dew point get wet, and a store would be chilled.
Cure: shut those circuits off in cooling; use emitters and insulation made for it.
Source: EN 15450 (old and draft) on cooling and reversible systems, scope seen; the rule itself common practice

Wrong:
    parts:
      H1: {kind: air-heat-pump, cooling: yes, capped: [relief-outlet]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve}
      F1: {kind: fan-coil, cooling: yes, capped: [condensate]}
      R1: {kind: radiator}
    connections:
      - [H1.flow, T1.a]
      - [T1.b, F1.in]
      - [T1.branch, Z1.in]
      - [Z1.out, R1.a]
      - [F1.out, T2.a]
      - [R1.b, T2.branch]
      - [T2.b, H1.return]
    states:
      cooling: {H1: on, Z1: open}

Right:
    parts:
      H1: {kind: air-heat-pump, cooling: yes, capped: [relief-outlet]}
      T1: {kind: tee}
      T2: {kind: tee}
      Z1: {kind: zone-valve}
      F1: {kind: fan-coil, cooling: yes, capped: [condensate]}
      R1: {kind: radiator}
    connections:
      - [H1.flow, T1.a]
      - [T1.b, F1.in]
      - [T1.branch, Z1.in]
      - [Z1.out, R1.a]
      - [F1.out, T2.a]
      - [R1.b, T2.branch]
      - [T2.b, H1.return]
    states:
      cooling: {H1: on, Z1: shut}
"""

from schemagen.checks.fault import Fault


def check(facts):
    for state in facts.operation.states:
        if "cooling" not in state.name.casefold():
            continue
        flow = facts.operation.flow(state)
        wet = [p.tag for p in facts.takers if not p.value("cooling") and flow.part_moves(p.tag, p.kind.takes)]
        if wet:
            yield Fault(
                f"chilled water moves through {', '.join(wet[:4])} when: {state.name}",
                f"shut {wet[0]} off in that state, or write `cooling: yes` at it if it is made for chilled water",
                parts=tuple(wet),
                states=(state.name,),
            )
