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
        forward, backward = _states(facts, part.tag)
        if not forward and (backward or _listed_against(facts, *ends)):
            yield Fault(
                f"water runs through {part.tag} against its arrow, from {ends[1]} to {ends[0]}",
                f"turn {part.tag} round: its `in` belongs where its `out` is now",
                parts=(part.tag,),
                pipes=[facts.pipe_at(port) for port in ends],
                states=backward,
                severity="error" if part.kind.name in _ERRORS else "warning",
            )


def _listed_against(facts, inlet: PortId, outlet: PortId) -> bool:
    return facts.pipe_at(inlet).start == inlet and facts.pipe_at(outlet).end == outlet


def _states(facts, tag: str) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Names of the states in which water surely runs with the arrow of a part, and of those in which against it.

    Water that runs both ways is no matter of the arrow: it goes back through a branch that is idle. Where calls that
    are alike are told once, "all calls" alone does not show that a part never runs forwards.
    """
    way = Inside(tag, "in", "out")
    sorts = [sort for sort in _IN_USE if sort != "all-calls" or not facts.operation.merged]
    flows = [(s.name, facts.operation.flow(s)) for s in facts.operation.of_sort(*sorts)]
    sure = [(name, flow.direction(way)) for name, flow in flows if not flow.uncertain(way)]
    return tuple(name for name, turn in sure if turn > 0), tuple(name for name, turn in sure if turn < 0)
