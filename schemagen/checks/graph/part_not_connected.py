"""part-not-connected (error)

What: a part that carries water has no pipe on any of its openings.
Why: it stands on the quotation but not in the water.
Cure: connect it or delete it; `spare: yes` or `left-in-place: yes` says that it is meant so.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      R2: {kind: radiator, spare: yes}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault

FOLDS = ("port-left-open", "group-cut-off", "coil-one-side", "store-not-heated", "no-path-back")


def check(facts):
    for part in facts.network.parts.values():
        ports = facts.wet_ports(part)
        if not ports or part.value("spare") or part.value("left-in-place"):
            continue
        if not any(facts.is_piped(port) for port in ports):
            yield Fault(
                f"{part.tag} ({part.kind.title}) is in the parts list but no pipe leads to it",
                f"connect {part.tag} or delete it; write `spare: yes` if it is only kept",
                parts=(part.tag,),
                ports=ports,
            )
