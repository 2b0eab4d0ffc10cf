"""vessel-stagnant (advice)

What: a drinking-water vessel of more than 2 litres hangs as a dead end on hot water, or has neither a flow-through
    fitting nor a service valve with a drain.
Why: a rubber bag of still, warm water is a nursery for bacteria.
Cure: put it on the cold feed, upright on a rising branch, flow-through if it is large, with a lockable valve and drain.
Source: a water-treatment supplier's trade article, seen; HSG274 Part 2, from memory
Caution: legionella

Wrong:
    parts:
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      E1: {kind: wholesome-expansion-vessel, volume: 24 L, capped: [through], at: C1.hot-out}
      O1: {kind: hot-outlet}
    connections:
      - [C1.hot-out, O1.in]

Right:
    parts:
      W1: {kind: cold-water-cistern, capped: [outlet-2]}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      V1: {kind: isolating-valve, locked: open}
      D1: {kind: drain-cock, at: E1.port}
      T1: {kind: tee}
      E1: {kind: wholesome-expansion-vessel, volume: 24 L, capped: [through]}
    connections:
      - [W1.outlet, T1, C1.cold-in]
      - [T1, V1, E1.port]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._stores import at, joined
from schemagen.network.network import PortId

_SMALL_M3 = 2e-3


def check(facts):
    numbers = joined(facts, lambda part: part.kind.moved_by != "hand")
    held = at(numbers, numbers)
    for vessel in facts.parts("wholesome-expansion-vessel"):
        volume, port = vessel.value("volume"), PortId(vessel.tag, "port")
        if vessel.value("flow-through") or not facts.is_piped(port):
            continue
        if volume is None:
            yield Unknown((vessel.tag,), f"`volume:` of {vessel.tag}")
        elif volume > _SMALL_M3 + 1e-9:
            near = dict.fromkeys(other.tag for other in held[numbers[port]])
            if said := _wrong(facts, port, near):
                yield Fault(
                    f"{vessel.tag} ({quantity(volume, 'L')}) {said}",
                    f"hang {vessel.tag} on the cold feed with an isolating-valve (`locked: open`) and a drain-cock "
                    "between valve and vessel, or write `flow-through: yes`",
                    parts=(vessel.tag,),
                    ports=(port,),
                )


def _wrong(facts, port, near) -> str:
    if facts.medium_at(port) in ("hot", "tempered"):
        return "hangs as a dead end on hot water"
    kinds = {facts.network.parts[tag].kind.name for tag in near}
    shuts = any(facts.network.parts[tag].kind.moved_by == "hand" and _is_in_line(facts, tag) for tag in near)
    apart = not any(facts.network.parts[t].kind.store or facts.network.parts[t].kind.driver for t in near)
    if shuts and apart and ("drain-cock" in kinds or _drains(facts, near)):
        return ""
    return "has no service valve with a drain, and water does not run through it"


def _is_in_line(facts, tag: str) -> bool:
    return len(facts.network.parts[tag].kind.ports) > 1


def _drains(facts, tags) -> bool:
    return any("drain" in (*facts.network.parts[t].kind.counts_as, *facts.network.parts[t].built_in) for t in tags)
