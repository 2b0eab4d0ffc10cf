"""filling-unprotected (error)

What: on the way from drinking water to a heating circuit there is no backflow device of the needed category (3 in a
    house, 4 elsewhere), it stands on the system side of the hose, or it faces the wrong way.
Why: the device stops dosed, rusty water from being pushed back when the system's pressure is above that of the main.
Cure: main, stop valve, double check valve, hose, system valve, in that order.
Source: installation note IRN 360 and interpretations B22 and B54 of the water-regulations body, seen; Water Supply
    (Water Fittings) Regulations 1999, schedule 2, paragraph 24, from memory
Caution: drinking-water
Regions: much of Europe asks for a fixed device of type BA or CA (from memory)

Wrong:
    parts:
      M1: {kind: cold-main}
      L1: {kind: filling-loop}
      K1: {kind: double-check-valve}
      T1: {kind: tee}
      B1: {kind: system-boiler}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, L1, K1, T1.branch]

Right:
    parts:
      M1: {kind: cold-main}
      K1: {kind: double-check-valve}
      L1: {kind: filling-loop}
      T1: {kind: tee}
      B1: {kind: system-boiler}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, K1, L1, T1.branch]
"""

from schemagen.checks.drinking_water._backflow import DEVICE, category_of, drunk, facing_right, joined_without, joint
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

FOLDS = ("cross-connection",)
_FILLED = ("heating-water", "antifreeze-mix", "ground-brine")


def check(facts):
    media = [medium for medium in dict.fromkeys(facts.waters.medium) if medium in _FILLED]
    devices = facts.once(facing_right)
    told: set[str] = set()
    for k in sorted({category_of(facts, medium) for medium in media}, reverse=True):
        holds = {tag for tag, protects in devices.items() if protects >= k}
        for fault in (*_loops(facts, holds, k), *_fixed(facts, holds, k)):
            if fault.parts[0] not in told:
                told.add(fault.parts[0])
                yield fault


def _loops(facts, holds, k: int):
    """Filling hoses of which one end carries drinking water that no device guards."""
    loops = [loop for loop in facts.parts("filling-loop") if loop.kind.protects < k]
    if not loops:
        return
    number = joined_without(facts, holds | {loop.tag for loop in loops})
    drinking = {number[port] for port in drunk(facts)}
    for loop in loops:
        ends = [PortId(loop.tag, name) for name in ("supply-end", "system-end")]
        fed = [end for end in ends if number[end] in drinking and facts.is_piped(end)]
        if fed and _category_beyond(facts, ends) >= k:
            yield _fault(facts, fed[0], k, f"{fed[0]} is joined to drinking water")


def _category_beyond(facts, ends) -> int:
    return max(category_of(facts, facts.medium_at(end)) for end in ends)


def _fixed(facts, holds, k: int):
    """Pipes and valves that join cold drinking water to a circuit."""
    number = joined_without(facts, holds)
    drinking = {number[port] for port in drunk(facts)}
    dirty = {number[p.start] for p in facts.network.pipes if category_of(facts, facts.waters.medium[p.index]) == k}
    for group in sorted(drinking & dirty):
        met = joint(facts, number, group)
        if met and facts.medium_at(met[0]) == "cold" and facts.medium_at(met[1]) in _FILLED:
            yield _fault(facts, met[0], k, f"{met[1]} is joined to the drinking water at {met[0]}")


def _fault(facts, port, k: int, said: str) -> Fault:
    wrong = [
        tag
        for tag, part in facts.network.parts.items()
        if part.kind.protects >= k and not _is_air_gap(part) and tag not in facts.once(facing_right)
    ]
    turned = f" ({wrong[0]} faces the wrong way)" if wrong else ""
    return Fault(
        f"{said} with nothing against backflow of category {k} before it{turned}",
        f"put {DEVICE[k]} into the pipe at {port}, on the side of the main",
        parts=(port.tag,),
        pipes=[facts.pipe_at(port)],
        ports=(port,),
    )


def _is_air_gap(part) -> bool:
    return any(passage.sort == "air-gap" for passage in part.kind.passages)
