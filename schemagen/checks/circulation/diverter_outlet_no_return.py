"""diverter-outlet-no-return (error)

What: with a diverting valve set to one of its outlets, no way leads from that outlet
    back to the return of the heat source that feeds it.
Why: the valve has two ways out, and each needs its own way home; one dead side means no hot water or no heating.
Cure: tee that side's return into the common return.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      D1: {kind: diverter-valve, rest: a}
      R1: {kind: radiator}
      R2: {kind: radiator}
      R3: {kind: radiator}
      T1: {kind: tee}
    connections:
      - [B1.flow, D1.common]
      - [D1.a, R1.a]
      - [R1.b, B1.return]
      - [D1.b, T1.a]
      - [T1.b, R2.a]
      - [R2.b, T1.branch]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      D1: {kind: diverter-valve, rest: a}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T1: {kind: tee}
    connections:
      - [B1.flow, D1.common]
      - [D1.a, R1.a]
      - [R1.b, T1.a]
      - [D1.b, R2.a]
      - [R2.b, T1.branch]
      - [T1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = ("port-left-open", "part-never-flows", "store-not-heated", "blind-end", "loop-without-driver")
_OUTLETS = {"diverter-valve": ("a", "b"), "mid-position-valve": ("heating", "hot-water")}


def check(facts):
    for valve in facts.parts(*_OUTLETS):
        if valve.value("duty") == "collecting":
            continue
        common = PortId(valve.tag, "common")
        feeders = [giver for giver in facts.givers if _feeds(facts, giver, common)]
        homes = [port for giver in feeders for port in facts.return_ports(giver)]
        if not homes:
            continue
        for name in _OUTLETS[valve.kind.name]:
            outlet = PortId(valve.tag, name)
            if not facts.is_piped(outlet):
                continue
            reached = facts.reach.downstream(outlet, without=(valve.tag,))
            if not any(home in reached for home in homes):
                yield Fault(
                    f"from {outlet} no way leads back to {homes[0]}",
                    f"join the return of this branch to the common return to {homes[0]}",
                    parts=(valve.tag, *_takers(facts, reached)),
                    pipes=[facts.pipe_at(outlet)],
                    ports=(outlet,),
                )


def _feeds(facts, giver, common: PortId) -> bool:
    return any(facts.reach.path(outlet, common, without=(common.tag,)) for outlet in facts.outlet_ports(giver))


def _takers(facts, reached) -> tuple[str, ...]:
    return tuple(
        part.tag for part in facts.takers if any(PortId(part.tag, name) in reached for name in part.kind.takes)
    )
