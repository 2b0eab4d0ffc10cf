"""group-cut-off (error)

What: a group of joined parts holds no heat source, no cold main and no cistern,
    and no exchanger links it to one that does.
Why: an island of pipework that nothing heats and nothing feeds is a missing line in the connections list.
Cure: find the missing connection.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      P1: {kind: pump}
      R2: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
      - [P1.out, R2.a]
      - [R2.b, P1.in]

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
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE

FOLDS = ("no-path-back", "store-not-heated", "pump-missing", "loop-without-driver", "part-never-flows")
_ORIGINS = ("cold-main", "cold-water-cistern", "off-sheet-connector")


def check(facts):
    network = facts.network
    joints: list[tuple[PortId, PortId]] = []
    for part in network.parts.values():
        for passage in part.kind.passages:
            if OUTSIDE not in (passage.a, passage.b) and not is_wet(part.kind, passage):
                joints.append((PortId(part.tag, passage.a), PortId(part.tag, passage.b)))
        host = network.host_of(part.tag)
        if host is not None and host.tag in network.parts:
            ends = [PortId(tag, name) for tag in (part.tag, host.tag) for name in network.parts[tag].kind.ports]
            joints += [(ends[0], port) for port in ends[1:]]
    for ports in facts.reach.joined(lambda part, passage: True, joints)[1]:
        tags = tuple(dict.fromkeys(port.tag for port in ports))
        parts = [network.parts[tag] for tag in tags]
        if not any(facts.is_piped(port) for port in ports) or any(_feeds(part) for part in parts):
            continue
        named = ", ".join(tags[:6]) + (" …" if len(tags) > 6 else "")
        yield Fault(
            f"{named}: nothing heats or feeds this group",
            f"join it to the rest; the first part is {tags[0]}",
            parts=tags,
            pipes=[pipe for pipe in network.pipes if pipe.start.tag in tags],
        )


def _feeds(part) -> bool:
    return bool(part.kind.giver) or part.kind.name in _ORIGINS
