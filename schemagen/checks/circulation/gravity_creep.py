"""gravity-creep (warning)

What: with the power off, an open way without a check valve leads
    from the hot end of a store's load side through a taker back to its cool end.
Why: hot water rises out of the top by itself and cools on its way round, so the store goes cold overnight.
Cure: a check valve with a spring, or a drop in the pipe at the top connection.
Source: reverse thermosiphon as explained in a trade article

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      S1: {kind: thermal-store, capped: [cold-in, hot-out, vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, S1.source-flow]
      - [S1.source-return, B1.return]
      - [S1.load-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, S1.load-return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      S1: {kind: thermal-store, capped: [cold-in, hot-out, vent, drain]}
      P1: {kind: pump}
      K1: {kind: check-valve, spring: yes}
      R1: {kind: radiator}
    connections:
      - [B1.flow, S1.source-flow]
      - [S1.source-return, B1.return]
      - [S1.load-flow, P1.in]
      - [P1.out, K1.in]
      - [K1.out, R1.a]
      - [R1.b, S1.load-return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_SIDES = (("load-flow", "load-return"), ("load-2-flow", "load-2-return"), ("secondary-flow", "secondary-return"))
_STORES = ("thermal-store", "buffer-four-pipe", "cylinder-and-buffer")
_STOPS = ("check-valve", "double-check-valve", "flow-regulator")


def check(facts):
    checks = {part.tag for part in facts.parts(*_STOPS)} | {p.tag for p in facts.parts("pump") if p.value("has-check")}
    leaks = {part.tag for part in facts.takers if part.value("heat-leak") or part.kind.name == "heat-leak-radiator"}
    for state in facts.operation.of_sort("power-off"):
        for store in facts.network.parts.values():
            if store.kind.store != "heating" or store.kind.name not in _STORES:
                continue
            for top, bottom in _SIDES:
                ends = PortId(store.tag, top), PortId(store.tag, bottom)
                if top not in store.kind.ports or not all(facts.is_piped(port) for port in ends):
                    continue
                path = facts.reach.path(*ends, state.positions, without=checks | leaks | {store.tag})
                passed = [
                    tag for tag in dict.fromkeys(port.tag for port in path) if facts.network.parts[tag].kind.takes
                ]
                if passed:
                    yield Fault(
                        f"with the power off, warmth can creep from {ends[0]} through {passed[0]} back to {ends[1]}",
                        f"put a check valve with a spring (`spring: yes`) into the pipe at {ends[0]}",
                        parts=(store.tag, passed[0]),
                        pipes=[facts.pipe_at(ends[0])],
                        states=(state.name,),
                    )
