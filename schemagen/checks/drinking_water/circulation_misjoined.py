"""circulation-misjoined (error)

What: a hot-water circulation comes home to the hot flow pipe instead of the store (or its cold inlet behind the check
    valve), or it has no pump.
Why: joined to the flow pipe, the water runs in a ring that the store never warms; without a pump it does not run at
    all. Both leave lukewarm water standing in a long pipe.
Cure: pipe the return to the store's circulation opening, or to its cold inlet behind the check valve, with a pump.
Source: common practice, no source; pump on the circulation return: building-services text, seen
Caution: legionella

Wrong:
    parts:
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      T1: {kind: tee}
      T2: {kind: tee}
      O1: {kind: hot-outlet}
      P1: {kind: wholesome-circulating-pump}
      K1: {kind: check-valve}
    connections:
      - [C1.hot-out, T1, T2, O1.in]
      - [T2, P1, K1, T1]

Right:
    parts:
      C1: {kind: vented-cylinder}
      T2: {kind: tee}
      O1: {kind: hot-outlet}
      P1: {kind: wholesome-circulating-pump}
      K1: {kind: check-valve}
    connections:
      - [C1.hot-out, T2, O1.in]
      - [T2, P1, K1, C1.circulation-return]
"""

from schemagen.checks.drinking_water._hot import homes
from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import mixes
from schemagen.network.network import PortId
from schemagen.network.walks import upstream


def check(facts):
    stores = {part.tag for part in facts.network.parts.values() if part.kind.store}
    for pump, home in facts.once(homes).items():
        if home is None and _runs_round(facts, pump, stores):
            yield Fault(
                f"the circulation that {pump} drives comes back to the hot flow pipe and never passes the store",
                f"pipe {pump}.out to the circulation-return of the store, or to its cold inlet behind the check valve",
                parts=(pump,),
                pipes=[pipe for pipe in [facts.pipe_at(PortId(pump, "out"))] if pipe],
                ports=(PortId(pump, "out"),),
            )
    for store in facts.network.parts.values():
        end = PortId(store.tag, "circulation-return")
        if store.kind.store == "wholesome" and end.port in store.kind.ports and facts.is_piped(end):
            yield from _without_pump(facts, store, end)


def _runs_round(facts, pump: str, stores: set[str]) -> bool:
    """True if water from a pump gets back to it without passing a store."""
    return PortId(pump, "in") in facts.reach.downstream(PortId(pump, "out"), without=stores | {pump})


def _without_pump(facts, store, end):
    tags = facts.network.parts
    came = upstream(facts.reach, end, lambda port, _: port.tag != store.tag and not mixes(tags[port.tag]))
    parts = [tags[tag] for tag in dict.fromkeys(port.tag for port in came)]
    driven = any(part.kind.driver == "pump" or part.value("gravity") for part in parts if part.tag != store.tag)
    if PortId(store.tag, "hot-out") in came and not driven:
        yield Fault(
            f"nothing moves the water of the circulation to {end}",
            f"put a wholesome-circulating-pump (out towards {store.tag}) into the pipe to {end}",
            parts=(store.tag,),
            pipes=[facts.pipe_at(end)],
            ports=(end,),
        )
