"""cross-connection (error)

What: drinking water can reach heating water, brine, pool water or waste through open pipework, and on the way no
    backflow device of the needed category faces the right way.
Why: a burst main can suck the system's water into the neighbours' kettles.
Cure: the right device at the point of connection, or an air gap.
Source: Water Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 15(1) and (3), seen in the Northern
    Ireland wording; table of devices and fluid categories of the water-regulations body, seen; BS EN 1717, from
    memory; category of ground brine and pool water from memory
Caution: drinking-water
Regions: fluid categories 1 to 5 are used across Europe; North America uses degrees of hazard and other devices
    (from memory)

Wrong:
    parts:
      M1: {kind: cold-main}
      V1: {kind: isolating-valve}
      T1: {kind: tee}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, V1, T1.branch]

Right:
    parts:
      M1: {kind: cold-main}
      V1: {kind: isolating-valve}
      K1: {kind: double-check-valve}
      L1: {kind: filling-loop}
      T1: {kind: tee}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, V1, K1, L1, T1.branch]
"""

from schemagen.checks.drinking_water._backflow import DEVICE, category_of, drunk, facing_right, joined_without, joint
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    category = [category_of(facts, medium) for medium in facts.waters.medium]
    devices = facts.once(facing_right)
    told: set[str] = set()
    for k in sorted(set(category) & {3, 4, 5}, reverse=True):
        number = joined_without(facts, {tag for tag, protects in devices.items() if protects >= k})
        drinking = {number[port] for port in drunk(facts)}
        dirty = {number[p.start] for p in facts.network.pipes if category[p.index] == k}
        for group in sorted(drinking & dirty):
            met = joint(facts, number, group)
            if met and met[0].tag not in told:
                told.add(met[0].tag)
                yield _fault(facts, *met, k)


def _fault(facts, a: PortId, b: PortId, k: int) -> Fault:
    clean, other = (facts.medium_at(port).replace("-", " ") for port in (a, b))
    return Fault(
        f"{clean if clean != 'cold' else 'cold drinking water'} at {a} and {other} at {b} are joined in {a.tag}, "
        f"with nothing against backflow of category {k} between them",
        f"put {DEVICE[k]} into the pipe at {a}, or part the two waters",
        parts=(a.tag,),
        pipes=[facts.pipe_at(a), facts.pipe_at(b)],
        ports=(a, b),
    )
