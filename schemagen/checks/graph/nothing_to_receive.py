"""nothing-to-receive (error)

What: a piece of plain pipework joins only outlets, with nothing to take their water;
    or only inlets, with nothing to supply them.
Why: two outlets piped together have nowhere to send their water.
Cure: one of the ends is the wrong opening of its part.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      B2: {kind: heat-only-boiler, capped: [condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, B2.flow]
      - [B2.return, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      B2: {kind: heat-only-boiler, capped: [condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B2.return]
      - [B2.flow, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "no-path-back", "flow-and-return-swapped", "arrow-against-flow", "source-on-without-flow", "part-never-flows",
    "pump-missing", "loop-without-driver", "filter-missing-or-misplaced", "bypass-misplaced",
    "nowhere-to-go-when-zones-shut",
)  # fmt: skip


def check(facts):
    seen: set[PortId] = set()
    for start in facts.network.ports():
        if start in seen or not facts.is_piped(start):
            continue
        header = facts.reach.header(start)
        seen |= header
        ends = [
            port for port in sorted(header) if facts.is_piped(port) and not facts.network.parts[port.tag].kind.plain
        ]
        roles = {facts.spec(port).role for port in ends} - {"dead"}
        if len(ends) < 2 or len(roles) != 1 or roles == {"either"}:
            continue
        fixed = [port for port in ends if facts.spec(port).role != "dead"]
        if len(fixed) < 2 or any(facts.network.parts[port.tag].kind.name == "off-sheet-connector" for port in fixed):
            continue
        only, lacks = ("outlets", "takes their water") if roles == {"out"} else ("inlets", "supplies them")
        yield Fault(
            f"{', '.join(str(port) for port in fixed[:3])} are joined and are all {only}: nothing {lacks}",
            f"see which of {fixed[0]} and {fixed[1]} is the wrong opening of its part",
            parts=tuple(port.tag for port in fixed),
            pipes={p.index: p for port in fixed if (p := facts.pipe_at(port))}.values(),
            ports=tuple(fixed),
        )
