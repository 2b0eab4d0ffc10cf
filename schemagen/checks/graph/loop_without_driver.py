"""loop-without-driver (warning)

What: a closed ring with a taker or a source in it has nothing that moves its water in any state.
Why: a loop with nothing to push the water just stands there.
Cure: add the pump, write `gravity: yes`, or join the ring to a driven circuit.
Source: common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      X1: {kind: plate-heat-exchanger}
      R1: {kind: radiator}
    connections:
      - [B1.flow, X1.left-top]
      - [X1.left-bottom, B1.return]
      - [X1.right-top, R1.a]
      - [R1.b, X1.right-bottom]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      X1: {kind: plate-heat-exchanger}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, X1.left-top]
      - [X1.left-bottom, B1.return]
      - [X1.right-top, P1.in]
      - [P1.out, R1.a]
      - [R1.b, X1.right-bottom]
"""

from schemagen.checks.circulation._ways import carries, circuits, is_driven, leaves
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "movement"
FOLDS = ("part-never-flows", "source-on-without-flow")


def check(facts):
    for ports in circuits(facts):
        tags = list(dict.fromkeys(port.tag for port in sorted(ports)))
        moved = [tag for tag in tags if any(carries(facts, port) for port in _at_work(facts, tag, ports))]
        if not moved or leaves(facts, ports) or is_driven(facts, tags, ports):
            continue
        yield Fault(
            f"nothing moves the water in the ring of {', '.join(moved[:4])}",
            f"put a pump into the ring of {moved[0]}, or write `gravity: yes` at it if warmth alone is to move it",
            parts=tuple(moved),
            pipes=[pipe for pipe in facts.network.pipes if pipe.start in ports and facts.waters.carries[pipe.index]],
        )


def _at_work(facts, tag: str, ports) -> list[PortId]:
    """Openings of a part in this water by which it gives or takes heat."""
    kind = facts.network.parts[tag].kind
    return [port for name in (*kind.takes, *kind.gives) if (port := PortId(tag, name)) in ports]
