"""flow-and-return-swapped (error)

What: a pipe is listed as bringing water to an opening by which water leaves a source, store, separator or manifold,
    or as taking it from an opening by which water enters. At a coil it is advice.
Why: sensors, inner check valves and the layers in a store all assume the marked direction;
    swapped pipes are a common reason for a new appliance going to fault.
Cure: exchange the two pipes at the part.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.return, R1.a]
      - [R1.b, B1.flow]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault

STAGE = "shape"
FOLDS = (
    "no-path-back", "arrow-against-flow", "store-not-heated", "coil-one-side", "filter-missing-or-misplaced",
    "bypass-misplaced",
)  # fmt: skip


def check(facts):
    for part in facts.network.parts.values():
        kind = part.kind
        if not (kind.giver or kind.store or kind.separates or kind.takes or kind.shape == "major"):
            continue
        wrong = [
            (port, pipe)
            for port in facts.wet_ports(part)
            for pipe in facts.network.pipes_at.get(port, ())
            if _against(facts, port, pipe)
        ]
        if not wrong:
            continue
        names = " and ".join(str(port) for port, _ in wrong[:2])
        coil = all(port.port in kind.takes and not kind.separates for port, _ in wrong)
        yield Fault(
            f"the water is listed against the marked direction at {names}",
            f"exchange the pipes at {part.tag}, or write the connection the way the water moves",
            parts=(part.tag,),
            pipes=[pipe for _, pipe in wrong],
            ports=tuple(port for port, _ in wrong),
            severity="advice" if coil else None,
        )


def _against(facts, port, pipe) -> bool:
    role = facts.spec(port).role
    return (role == "out" and pipe.end == port) or (role == "in" and pipe.start == port)
