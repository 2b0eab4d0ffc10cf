"""mixing-pump-wrong-side (error)

What: no pump lies on the ring from a mixing valve through its load and back to its cold opening.
Why: the pump has to pull the blend through the load;
    on the wrong side it sends hot water through the valve back to the boiler, and the floor gets a trickle.
Cure: put the pump between the mixing valve and the manifold.
Source: trade article; a textbook shows the pump between blending valve and flow manifold

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      P1: {kind: pump}
      M1: {kind: heating-mixing-valve}
      U1: {kind: underfloor-loop}
      T1: {kind: tee}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, M1.hot]
      - [M1.mixed, U1.in]
      - [U1.out, T1.a]
      - [T1.branch, M1.cold]
      - [T1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      M1: {kind: heating-mixing-valve}
      P1: {kind: pump}
      U1: {kind: underfloor-loop}
      T1: {kind: tee}
    connections:
      - [B1.flow, M1.hot]
      - [M1.mixed, P1.in]
      - [P1.out, U1.in]
      - [U1.out, T1.a]
      - [T1.branch, M1.cold]
      - [T1.b, B1.return]
"""

from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = ("pumps-unseparated", "part-never-flows", "pump-missing")


def check(facts):
    stop = bodies(facts)
    for valve in facts.parts("heating-mixing-valve"):
        mixed, cold = PortId(valve.tag, "mixed"), PortId(valve.tag, "cold")
        if valve.value("duty") == "diverting" or not (facts.is_piped(mixed) and facts.is_piped(cold)):
            continue
        without = stop | {valve.tag}
        ring = facts.reach.downstream(mixed, without=without)
        if facts.goes_on_elsewhere(mixed) or cold not in ring:
            continue
        pumps = [p.tag for p in facts.network.parts.values() if p.kind.driver == "pump" and PortId(p.tag, "in") in ring]
        if not any(cold in facts.reach.downstream(PortId(tag, "out"), without=without) for tag in pumps):
            yield Fault(
                f"no pump pulls the blend of {valve.tag} through its load",
                f"put the pump into the pipe at {mixed}",
                parts=(valve.tag, *pumps),
                pipes=[facts.pipe_at(mixed)],
            )
