"""one-way-parts-opposed (error)

What: two one-way parts on one run (check valves, preventers, reducers, pumps)
    face each other or face away from each other.
Why: like two one-way streets that meet head on: nothing can pass.
Cure: turn the wrong one round; follow the arrow on the body.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      K1: {kind: check-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, K1.out]
      - [K1.in, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      K1: {kind: check-valve}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, K1.in]
      - [K1.out, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "nothing-to-receive", "arrow-against-flow", "no-path-back", "pumps-in-opposition", "pump-dead-headed",
    "source-on-without-flow", "part-never-flows", "flow-and-return-swapped", "sensor-misplaced",
    "backward-through-idle-branch",
)  # fmt: skip
_BUILT_ONE_WAY = ("check-valve", "double-check-valve", "disconnecting-preventer", "pressure-reducer")


def check(facts):
    told = set()
    for part in facts.network.parts.values():
        if not _is_one_way(part):
            continue
        for name, meeting in (("out", "face each other"), ("in", "face away from each other")):
            far, pipes = _next_one_way(facts, PortId(part.tag, name))
            if far is not None and far.port == name and (far.tag, part.tag) not in told:
                told |= {(part.tag, far.tag), (far.tag, part.tag)}
                yield Fault(
                    f"{part.tag} and {far.tag} {meeting}: nothing can pass between them",
                    f"turn {part.tag} or {far.tag} round, so that both arrows point along the water",
                    parts=(part.tag, far.tag),
                    pipes=pipes,
                )


def _is_one_way(part) -> bool:
    return part.kind.name in _BUILT_ONE_WAY or part.kind.driver == "pump" and {"in", "out"} <= part.kind.ports.keys()


def _next_one_way(facts, port: PortId):
    """The next one-way part along the run from an opening: the opening by which it is met, and the pipes up to it."""
    pipes, seen = [], {port.tag}
    while (pipe := facts.pipe_at(port)) is not None:
        pipes.append(pipe)
        far = facts.network.far_end(pipe, port)
        part = facts.network.parts[far.tag]
        if far.tag in seen:
            return None, pipes
        if _is_one_way(part):
            return far, pipes
        seen.add(far.tag)
        onward = [p for p in facts.wet_ports(part) if p != far and facts.is_piped(p)]
        through = [way.to for way in facts.reach.ways[far]]
        if len(onward) != 1 or onward != through:
            return None, pipes
        port = onward[0]
    return None, pipes
