"""straight-short-circuit (error)

What: pipes and plain parts alone lead from a flow to its own return,
    at a heat source or on the load side of a separator or buffer.
Why: water takes the easy way home, and the radiators get almost nothing.
Cure: take the link out, or replace it with a proper bypass valve.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T1.branch, T2.branch]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = ("bridged-on-one-header", "arrow-against-flow", "nowhere-to-go-when-zones-shut", "part-never-flows")
_LOAD_SIDES = (("secondary-flow", "secondary-return"), ("load-flow", "load-return"))


def check(facts):
    for flow, home in _pairs(facts):
        header = facts.reach.header(flow)
        if home in header:
            pipes = [p for p in facts.network.pipes if p.start in header and p.end in header]
            yield Fault(
                f"plain pipe leads straight from {flow} to {home}",
                "take the link out, or put a bypass valve into it",
                parts=(flow.tag,),
                pipes=pipes[:12],
            )


def _pairs(facts):
    for giver in facts.givers:
        for outlet in facts.outlet_ports(giver):
            yield from (
                (outlet, home) for home in facts.return_ports(giver) if facts.is_piped(outlet) and facts.is_piped(home)
            )
    for part in facts.network.parts.values():
        if part.kind.separates:
            for a, b in _LOAD_SIDES:
                ends = PortId(part.tag, a), PortId(part.tag, b)
                if a in part.kind.ports and all(facts.is_piped(port) for port in ends):
                    yield ends
