"""no-relief-valve (error)

What: a sealed circuit with a heat source has no relief valve, and none is built in.
Why: if the vessel fails or the burner sticks on, it is the last thing between you and a burst boiler.
Cure: a relief valve on or beside each heat source.
Source: BS EN 12828: at least one safety valve for each heat generator, as quoted by a maker; clause from memory
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]

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

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.sealed_and_vented._sections import heated, relief_inlets


def check(facts):
    sources: dict[int, list[str]] = {}
    for giver, section in heated(facts):
        sources.setdefault(section.number, []).append(giver.tag)
    for number, own in sources.items():
        section = facts.reach.sections[number]
        if section.open:
            continue
        if relief_inlets(facts, section) or any(facts.built_in(tag, "relief") for tag in own):
            continue
        if any(facts.is_piped(port) for tag in own for port in facts.wet_ports(facts.network.parts[tag]) if port.port == "relief-outlet"):
            continue
        if section.elsewhere:
            yield Unknown(tuple(own), "what stands beyond the off-sheet connector")
            continue
        yield Fault(
            f"the sealed circuit of {', '.join(own[:4])} has no relief valve",
            f"add a relief-valve on plain pipe at the flow of {own[0]}, or say that one is built in",
            parts=tuple(own),
        )
