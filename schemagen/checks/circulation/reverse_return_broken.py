"""reverse-return-broken (warning)

What: the sheet says `layout: reverse-return`, but a branch that is first off the flow is not last onto the return.
Why: reverse return gives every branch the same length of pipe, so that they share fairly; one wrong tee spoils it.
Cure: re-order the tees of the return, or treat it as direct return and balance the branches.
Source: common practice;
    a government checklist for solar installations asks for reverse-return piping to be shown and noted, seen

Wrong:
    sheet: {layout: reverse-return}
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T3: {kind: tee}
      T4: {kind: tee}
      R3: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, R1.a]
      - [T1.b, T2.a]
      - [T2.branch, R2.a]
      - [T2.b, R3.a]
      - [R3.b, T3.a]
      - [R2.b, T3.branch]
      - [T3.b, T4.a]
      - [R1.b, T4.branch]
      - [T4.b, B1.return]

Right:
    sheet: {layout: reverse-return}
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      T2: {kind: tee}
      R1: {kind: radiator}
      R2: {kind: radiator}
      T3: {kind: tee}
      T4: {kind: tee}
      R3: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, R1.a]
      - [T1.b, T2.a]
      - [T2.branch, R2.a]
      - [T2.b, R3.a]
      - [R1.b, T3.a]
      - [R2.b, T3.branch]
      - [T3.b, T4.a]
      - [R3.b, T4.branch]
      - [T4.b, B1.return]
"""

from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    if facts.network.sheet.get("layout", "").strip().casefold().replace(" ", "-") != "reverse-return":
        return
    stop = bodies(facts)
    for giver in facts.givers:
        rows = [row for taker in facts.takers if (row := _row(facts, giver, taker, stop | {taker.tag}))]
        rows.sort()
        for (_, near_home, near), (_, far_home, far) in zip(rows, rows[1:], strict=False):
            if near_home > far_home:
                yield Fault(
                    f"{near} is before {far} on the flow and also nearer home on the return",
                    f"join the return of {near} further from {giver.tag} than that of {far}",
                    parts=(near, far),
                )


def _row(facts, giver, taker, without):
    """Tees between source and taker on the flow, tees on the way home, and the tag; None if it is not joined so."""
    starts, homes = facts.outlet_ports(giver), facts.return_ports(giver)
    ends = [PortId(taker.tag, name) for name in taker.kind.takes]
    for inlet, outlet in ((a, b) for a in ends for b in ends if a != b):
        there = facts.reach.path(starts[0], inlet, without=without) if starts else []
        home = facts.reach.path(outlet, homes[0], without=without) if homes else []
        if there and home:
            return _tees(facts, there), -_tees(facts, home), taker.tag
    return None


def _tees(facts, path) -> int:
    return len({port.tag for port in path if facts.network.parts[port.tag].kind.shape == "tee"})
