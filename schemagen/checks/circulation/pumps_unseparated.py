"""pumps-unseparated (warning)

What: two pumps that run at once lie in one ring, and nothing separates them;
    or several sources with pumps of their own share headers with nothing between.
Why: pumps in one ring change each other's flow: one source can be starved, or pushed too hard.
Cure: put a low-loss header, close tees or a four-pipe buffer between them, or take one pump out.
Source: hydraulic separation as explained in trade articles, which cite CIBSE AM14

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.primary-flow]
      - [L1.primary-return, B1.return]
      - [L1.secondary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, L1.secondary-return]
"""

from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    told = set()
    for state in facts.operation.of_sort(*WORKING):
        drivers = {tag: n for n, tag in enumerate(state.pumps_on) if not _is_twin(facts, tag)}
        for tag in drivers:
            start, home = _ends(facts, tag)
            if start is None:
                continue
            passed = {port.tag for port in facts.reach.path(start, home, state.positions)} - {tag}
            for other in sorted(passed & drivers.keys(), key=drivers.get):
                pair = frozenset((tag, other))
                if pair in told:
                    continue
                if not facts.reach.path(start, home, state.positions, without=(other,)):
                    told.add(pair)
                    yield Fault(
                        f"{tag} and {other} run in one ring with nothing to separate them",
                        f"put a low-loss header, close tees or a four-pipe buffer between {tag} and {other}, "
                        "or take one out",
                        parts=(tag, other),
                        states=(state.name,),
                    )


def _is_twin(facts, tag: str) -> bool:
    part = facts.network.parts[tag]
    return bool(part.value("twin") or part.value("booster"))


def _ends(facts, tag: str):
    """Where a driver's water leaves it and where it comes home."""
    part = facts.network.parts[tag]
    if {"in", "out"} <= part.kind.ports.keys() and part.kind.driver == "pump":
        return PortId(tag, "out"), PortId(tag, "in")
    outlets, homes = facts.outlet_ports(part), facts.return_ports(part)
    outlets = [port for port in outlets if facts.is_piped(port)]
    return (outlets[0], homes[0]) if outlets and homes else (None, None)
