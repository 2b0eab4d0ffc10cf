"""pump-missing (error)

What: a closed circuit with something that gives heat and something that takes it has no pump;
    a separator, store or buffer between two circuits parts them.
Why: a separator stops the first pump from pushing the second circuit; that circuit needs its own.
Cure: add a pump in the named circuit, or write `gravity: yes` if it is meant to circulate by warmth alone.
Source: hydraulic separation as explained in trade articles; common practice

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.primary-flow]
      - [L1.primary-return, B1.return]
      - [L1.secondary-flow, R1.a]
      - [R1.b, L1.secondary-return]

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

from schemagen.checks.circulation._ways import carries, circuits, is_driven, leaves
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

FOLDS = ("source-on-without-flow", "part-never-flows", "loop-without-driver")


def check(facts):
    for ports in circuits(facts):
        parts = {port.tag: facts.network.parts[port.tag] for port in sorted(ports)}
        takers = [
            t
            for t, p in parts.items()
            if any(PortId(t, n) in ports and carries(facts, PortId(t, n)) for n in p.kind.takes)
        ]
        givers = [t for t, p in parts.items() if any(PortId(t, n) in ports for n in p.kind.gives)]
        parted = [t for t, p in parts.items() if p.kind.separates or p.kind.store]
        if not takers or not (givers or parted) or leaves(facts, ports) or is_driven(facts, parts, ports):
            continue
        named = ", ".join(takers[:4]) + (" …" if len(takers) > 4 else "")
        yield Fault(
            f"no pump moves the water through {named}",
            f"put a pump into the circuit between {(givers or parted)[0]} and {takers[0]}",
            parts=(*takers, *givers, *parted),
            pipes=[pipe for pipe in facts.network.pipes if pipe.start in ports and facts.waters.carries[pipe.index]],
        )
