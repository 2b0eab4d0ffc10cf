"""no-relief-valve (error)

What: a sealed circuit that something heats has no relief valve, and none is built into a part of it. Brine circuits
    need one too.
Why: if the vessel fails or the burner sticks on, it is the last thing between you and a burst boiler.
Cure: a relief valve on or beside each heat source.
Source: BS EN 12828: at least one safety valve for each heat generator, as quoted by a maker; clause from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      E1: {kind: expansion-vessel, at: P1.in}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, P1, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, at: P1.in}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, P1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import heated_circuits


def check(facts):
    for circuit in heated_circuits(facts):
        if not circuit.sealed or circuit.reliefs:
            continue
        tags = circuit.tags
        if circuit.section.elsewhere:
            yield Unknown(tags, "what stands beyond the off-sheet connector")
            continue
        yield Fault(
            f"the sealed circuit of {', '.join(tags[:4])} has no relief valve",
            f"add a relief-valve on plain pipe, for example with `at: {circuit.sources[0].body[0]}`, "
            "or say that one is built in (`built-in: [relief, …]`)",
            parts=tags,
        )
