"""cutout-valve-rests-open (error)

What: the valve that a store's cut-out works leaves the way to the coil open where it rests without power. A
    mid-position valve rests open to hot water, so it needs a separate zone valve beside it.
Why: take the power away and the heat has to stop. A valve that springs open does the opposite.
Cure: a two-port valve that springs shut, on the flow to the coil.
Source: rest position of mid-position valves from a supplier's page, seen, and common practice; shut-off duty from
    unvented controls in a plumbing course textbook, seen, and Approved Document G (England), section 3, from memory
Caution: unvented-store

Wrong:
    parts:
      B1: {kind: system-boiler}
      Z1: {kind: zone-valve, rest: open}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return]}
      CO1: {kind: cut-out-thermostat, on: C1, switches: [Z1]}
    connections:
      - [B1.flow, Z1, C1.coil-in]
      - [C1.coil-out, B1.return]

Right:
    parts:
      B1: {kind: system-boiler}
      Z1: {kind: zone-valve, rest: shut}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return]}
      CO1: {kind: cut-out-thermostat, on: C1, switches: [Z1]}
    connections:
      - [B1.flow, Z1, C1.coil-in]
      - [C1.coil-out, B1.return]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._heat import Heat


def check(facts):
    heat = facts.once(Heat)
    for coil in heat.coils:
        if "cut-out" in coil.store.built_in:
            continue
        valves = [tag for tag in heat.acts_on(coil.store.tag) if heat.is_valve(tag)]
        nowhere = [tag for tag in valves if not facts.network.parts[tag].kind.rest]
        if nowhere:
            yield Unknown(tuple(nowhere), "`rest:` of the valve that a cut-out works")
        elif valves and coil.into in heat.at_rest and coil.into not in heat.when_shut:
            yield _fault(facts, coil, valves)


def _fault(facts, coil, valves) -> Fault:
    rests = " and ".join(f"{tag} rests at {facts.network.parts[tag].kind.rest}" for tag in valves)
    return Fault(
        f"without power the way to {coil.into} stays open: {rests}",
        f"put a zone-valve that rests shut on the pipe to {coil.into} and let the cut-out switch it",
        parts=(*valves, coil.store.tag),
        pipes=[facts.pipe_at(coil.into)],
        ports=(coil.into,),
    )
