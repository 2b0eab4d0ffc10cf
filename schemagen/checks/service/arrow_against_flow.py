"""arrow-against-flow (error)

What: water runs, or is listed to run, against the arrow of a part. Error for check valves, reducers and backflow
    preventers; warning for strainers, filters, meters, separators and thermostatic radiator valves.
Why: the arrow is on the body because the part works, or works well, only one way.
Cure: turn the part round, or exchange its openings in the list.
Source: common practice, no source; makers' instructions
Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      SR1: {kind: strainer}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, SR1.out]
      - [SR1.in, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      SR1: {kind: strainer}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, SR1.in]
      - [SR1.out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId
from schemagen.operation.moves import Inside

_ERRORS = ("check-valve", "double-check-valve", "disconnecting-preventer", "pressure-reducer")
_WARNINGS = (
    "strainer", "magnetic-filter", "pool-filter", "dirt-separator", "air-and-dirt-separator", "flow-meter",
    "heat-meter", "flow-regulator", "flow-switch", "thermostatic-radiator-valve",
)  # fmt: skip
_IN_USE = ("named", "call", "all-calls", "tap-open")


def check(facts):
    for part in facts.parts(*_ERRORS, *_WARNINGS):
        ends = [PortId(part.tag, "in"), PortId(part.tag, "out")]
        if not all(facts.is_piped(port) for port in ends):
            continue
        states = _states_against(facts, part.tag)
        if states or (_listed_against(facts, *ends) and not _moves_forward(facts, part.tag)):
            yield Fault(
                f"water runs through {part.tag} against its arrow, from {ends[1]} to {ends[0]}",
                f"turn {part.tag} round: its `in` belongs where its `out` is now",
                parts=(part.tag,),
                pipes=[facts.pipe_at(port) for port in ends],
                states=states,
                severity="error" if part.kind.name in _ERRORS else "warning",
            )


def _listed_against(facts, inlet: PortId, outlet: PortId) -> bool:
    return facts.pipe_at(inlet).start == inlet and facts.pipe_at(outlet).end == outlet


def _states_against(facts, tag: str) -> tuple[str, ...]:
    way = Inside(tag, "in", "out")
    flows = ((s.name, facts.operation.flow(s)) for s in facts.operation.of_sort(*_IN_USE))
    return tuple(name for name, flow in flows if flow.direction(way) < 0 and not flow.uncertain(way))


def _moves_forward(facts, tag: str) -> bool:
    way = Inside(tag, "in", "out")
    return any(facts.operation.flow(s).direction(way) > 0 for s in facts.operation.of_sort(*_IN_USE))
