"""bypass-misplaced (warning)

What: a bypass valve does not lie in the loop of the source or separator that it is to protect,
    lies beyond a zone valve, or has its inlet on the return.
Why: a bypass protects only what is inside its own loop.
Cure: join it from the flow, after the pump and before the first zone valve, to the return.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      T3: {kind: tee}
      T4: {kind: tee}
      Z1: {kind: zone-valve}
      Z2: {kind: zone-valve}
      Y1: {kind: bypass-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1.in]
      - [T1.branch, Z2.in]
      - [Z1.out, T2.a]
      - [T2.b, R1.a]
      - [T2.branch, Y1.in]
      - [Z2.out, R2.a]
      - [R1.b, T3.a]
      - [Y1.out, T3.branch]
      - [T3.b, T4.a]
      - [R2.b, T4.branch]
      - [T4.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      T3: {kind: tee}
      T4: {kind: tee}
      Z1: {kind: zone-valve}
      Z2: {kind: zone-valve}
      Y1: {kind: bypass-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T2.a]
      - [T2.branch, Y1.in]
      - [T2.b, T1.a]
      - [T1.b, Z1.in]
      - [T1.branch, Z2.in]
      - [Z1.out, R1.a]
      - [Z2.out, R2.a]
      - [R1.b, T3.a]
      - [R2.b, T3.branch]
      - [T3.b, T4.a]
      - [Y1.out, T4.branch]
      - [T4.b, B1.return]
"""

from schemagen.checks.circulation._ways import bodies, hot_ends
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

FOLDS = ("nowhere-to-go-when-zones-shut", "arrow-against-flow", "blind-end")
_CLOSABLE = ("zone-valve", "diverter-valve", "mid-position-valve", "thermostatic-radiator-valve")
_HOMES = (
    "secondary-return",
    "load-return",
    "load-2-return",
    "bottom",
    "buffer-bottom",
    "left-bottom",
    "right-bottom",
    "left-top",
    "right-top",
)


def check(facts):
    stop = bodies(facts) | {part.tag for part in facts.takers}
    zones = {part.tag for part in facts.parts(*_CLOSABLE)}
    for bypass in facts.parts("bypass-valve"):
        inlet, outlet = PortId(bypass.tag, "in"), PortId(bypass.tag, "out")
        if not (facts.is_piped(inlet) and facts.is_piped(outlet)) or facts.goes_on_elsewhere(inlet):
            continue
        ends = hot_ends(facts)
        if inlet not in facts.reach.downstream_of_all(ends, without=stop | zones | {bypass.tag}):
            beyond = inlet in facts.reach.downstream_of_all(ends, without=stop | {bypass.tag})
            dead = "lies beyond a zone valve, so it is dead when that shuts"
            why = dead if beyond else "has its inlet on the return side"
        elif not _comes_home(facts, facts.reach.downstream(outlet, without=stop | {bypass.tag})):
            why = "does not lead back to the return of a source or separator"
        else:
            continue
        yield Fault(
            f"{bypass.tag} {why}",
            f"join {inlet} to the flow before the first zone valve, and {outlet} to the common return",
            parts=(bypass.tag,),
            pipes=[facts.pipe_at(inlet), facts.pipe_at(outlet)],
        )


def _comes_home(facts, reached) -> bool:
    homes = {port for giver in facts.givers for port in facts.return_ports(giver)}
    return any(port in homes or port.port in _HOMES for port in reached)
