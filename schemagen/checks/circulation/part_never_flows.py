"""part-never-flows (error)

What: no water moves through a source, emitter, coil or store in any state. Advice for filters and meters.
Why: a radiator that no combination of controls can warm is a mistake even if every pipe is joined.
Cure: find the valve that no state opens, or the state that is missing.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}

      R1: {kind: radiator}
      R2: {kind: radiator}
      V1: {kind: isolating-valve, normal: shut}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [T1.branch, V1.a]
      - [V1.b, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
      V1: {kind: isolating-valve}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [T1.branch, V1.a]
      - [V1.b, R2.a]
      - [R1.b, T2.a]
      - [R2.b, T2.branch]
      - [T2.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_ADVICE = ("strainer", "magnetic-filter", "flow-meter", "heat-meter", "dirt-separator", "air-and-dirt-separator")


def check(facts):
    waiting = {key: names for part in facts.network.parts.values() for key, names in _waterways(facts, part)}
    for state in facts.operation.states:
        if not waiting:
            return
        flow, filling = facts.operation.flow(state), state.sort == "filling"
        moved = [key for key, names in waiting.items() if flow.part_moves(key[0], names)]
        served = {key for key in moved if not filling or facts.network.parts[key[0]].kind.name in _ADVICE}
        waiting = {key: names for key, names in waiting.items() if key not in served}
    for (tag, _), names in waiting.items():
        part = facts.network.parts[tag]
        if facts.goes_on_elsewhere(PortId(tag, names[0])):
            continue
        yield Fault(
            f"no water moves through {tag} ({', '.join(names)}) in any state",
            f"see which valve on the way through {tag} no state opens, or name the state that is missing",
            parts=(tag,),
            severity="advice" if part.kind.name in _ADVICE else None,
        )


def _waterways(facts, part):
    """Waterways that are piped through and ought to move at some time, by tag and number."""
    kind = part.kind
    if not (kind.gives or kind.takes or kind.store or kind.name in _ADVICE) or part.value("spare"):
        return
    for number, way in enumerate(facts.waterways(part)):
        names = [port.port for port in way if facts.is_piped(port) and facts.spec(port).role != "dead"]
        if len(names) > 1:
            yield (part.tag, number), tuple(names)
