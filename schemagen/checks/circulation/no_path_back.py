"""no-path-back (error)

What: water that leaves a heat source cannot come back to its return, whatever way every valve stands.
Why: water that leaves the boiler or heat pump has to come home; if no setting lets it, the circuit was never closed.
Cure: find the last pipe reached and finish the return.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      K1: {kind: check-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, K1.out]
      - [K1.in, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      K1: {kind: check-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, K1.in]
      - [K1.out, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault

STAGE = "shape"
FOLDS = (
    "port-left-open", "source-on-without-flow", "pump-dead-headed", "part-never-flows", "store-not-heated",
    "pump-missing", "loop-without-driver", "nowhere-to-go-when-zones-shut", "diverter-outlet-no-return",
    "coil-one-side",
)  # fmt: skip


def check(facts):
    for giver in facts.givers:
        returns = [port for port in facts.return_ports(giver) if facts.is_piped(port)]
        for outlet in facts.outlet_ports(giver):
            if not facts.is_piped(outlet):
                continue
            reached = facts.reach.downstream(outlet, without=(giver.tag,))
            if any(port in reached for port in returns):
                continue
            missing = facts.return_ports(giver)[0]
            yield Fault(
                f"water leaves {outlet} and finds no way back to {missing}",
                f"finish the return to {missing}, and see that check valves and pumps on the way point along the water",
                parts=(giver.tag,),
                pipes=[facts.pipe_at(outlet)],
                ports=() if facts.is_piped(missing) else (missing,),
            )
