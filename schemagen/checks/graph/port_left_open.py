"""port-left-open (error)

What: an opening that has to be piped has no pipe, or an optional one has neither a pipe nor a cap.
Why: an open end is a leak, or a pipe that somebody forgot.
Cure: pipe the opening, or list it under `capped:` of its part if it is plugged.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      D1: {kind: drain-cock}
      R1: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, D1.port]
      - [T1.b, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    for part in facts.network.parts.values():
        if part.value("spare") or part.value("left-in-place"):
            continue
        for port in facts.wet_ports(part):
            if facts.is_piped(port) or port.port in part.capped:
                continue
            if facts.spec(port).need == "must":
                yield Fault(
                    f"{port} has no pipe",
                    f"write a connection to {port}, or `capped: [{port.port}]` if it is plugged",
                    parts=(part.tag,),
                    ports=(port,),
                )
            elif not _is_shut_by_itself(facts, part, port) and any(
                facts.is_piped(PortId(part.tag, name)) for name in part.kind.ports
            ):
                yield Fault(
                    f"{port} has neither a pipe nor a cap",
                    f"pipe it, or write `capped: [{port.port}]` at {part.tag}",
                    parts=(part.tag,),
                    ports=(port,),
                    severity="advice",
                )


def _is_shut_by_itself(facts, part, port: PortId) -> bool:
    """Points with a valve or plug of their own, and loops of a manifold that has none piped: they are built in."""
    if facts.spec(port).role == "dead" and part.kind.family in ("valves", "instruments"):
        return True
    start = part.kind.grows.partition("{n}")[0]
    units = [PortId(part.tag, name) for name in part.kind.ports if start and name.startswith(start)]
    return port in units and not any(facts.is_piped(unit) for unit in units)
