"""mixing-valve-ports-swapped (error)

What: at a mixing valve or mixing set the hot opening is not on the flow side,
    the cold opening not on the return of the load (or the cold supply), or the mixed one does not lead to a load.
Why: with hot and cold exchanged the valve closes when it should open: full heat on the floor or at the tap, or none.
Cure: match the letters or colours on the body.
Source: hot to one inlet, return to the other, mixed to the load: trade article

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      M1: {kind: heating-mixing-valve}
      P1: {kind: pump}
      U1: {kind: underfloor-loop}
      T1: {kind: tee}
    connections:
      - [B1.flow, M1.cold]
      - [M1.mixed, P1.in]
      - [P1.out, U1.in]
      - [U1.out, T1.a]
      - [T1.branch, M1.hot]
      - [T1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      M1: {kind: heating-mixing-valve}
      P1: {kind: pump}
      U1: {kind: underfloor-loop}
      T1: {kind: tee}
    connections:
      - [B1.flow, M1.hot]
      - [M1.mixed, P1.in]
      - [P1.out, U1.in]
      - [U1.out, T1.a]
      - [T1.branch, M1.cold]
      - [T1.b, B1.return]
"""

from schemagen.checks.circulation._ways import bodies, hot_side
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "medium-mismatch", "mixing-pump-wrong-side", "three-port-wrong-duty", "arrow-against-flow", "no-path-back",
    "flow-and-return-swapped", "nothing-to-receive", "part-never-flows", "separator-crossed",
)  # fmt: skip


def check(facts):
    for valve in facts.parts("heating-mixing-valve"):
        if valve.value("duty") != "diverting":
            yield from _heating(facts, valve.tag, "hot", "mixed", "cold")
    for mixing_set in facts.parts("mixing-set"):
        yield from _heating(facts, mixing_set.tag, "source-flow", "load-flow", "load-return")
    for valve in facts.parts("thermostatic-mixing-valve"):
        hot, cold = PortId(valve.tag, "hot"), PortId(valve.tag, "cold")
        if facts.medium_at(hot) == "cold" and facts.medium_at(cold) in ("hot", "tempered"):
            yield _fault(facts, valve.tag, (hot, cold))


def _heating(facts, tag: str, hot: str, mixed: str, cold: str):
    ports = tuple(PortId(tag, name) for name in (hot, mixed, cold))
    if not all(facts.is_piped(port) for port in ports) or facts.goes_on_elsewhere(ports[0]):
        return
    warm = hot_side(facts, tag)
    stop = bodies(facts) | {tag}
    takers = {PortId(p.tag, n) for p in facts.takers for n in p.kind.takes}
    good = (
        ports[0] in warm,
        ports[1] not in warm and bool(takers & facts.reach.downstream(ports[1], without=stop)),
        ports[2] not in warm,
    )
    if not all(good):
        yield _fault(facts, tag, [port for port, right in zip(ports, good, strict=True) if not right])


def _fault(facts, tag: str, wrong) -> Fault:
    return Fault(
        f"the pipes of {tag} are exchanged: see {' and '.join(str(port) for port in wrong)}",
        f"bring the hot supply, the cool side and the load to the openings of {tag} that are marked so",
        parts=(tag, *(far.tag for port in wrong if (far := facts.piped_across(port)))),
        pipes=[pipe for port in wrong if (pipe := facts.pipe_at(port))],
        ports=tuple(wrong),
    )
