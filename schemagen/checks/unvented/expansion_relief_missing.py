"""expansion-relief-missing (error)

What: no expansion relief valve is joined to the water between the check valve and an unvented store.
Why: if the vessel loses its air this valve lets the swelling water drip away safely, before the hot relief valve has to
    open.
Cure: fit it downstream of the check valve.
Source: expansion valves to BS EN 1491 and their duty: unvented controls in a plumbing course textbook, seen; Water
    Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 1, definition of expansion valve, seen
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      S1: {kind: expansion-relief-valve, setting: 6 bar, at: K1.in}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]
      - [C1.hot-out, O1.in]

Right:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      K1: {kind: check-valve}
      S1: {kind: expansion-relief-valve, setting: 6 bar, at: K1.out}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]
      - [C1.hot-out, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._stores import at, behind_check, cold_in, elsewhere, expansion_reliefs, unvented_stores


def check(facts):
    numbers = behind_check(facts)
    held = at(numbers, expansion_reliefs(facts))
    beyond = elsewhere(facts, numbers)
    for store in unvented_stores(facts):
        inlet = cold_in(store)
        if numbers[inlet] in held or "expansion-relief" in store.built_in:
            continue
        if numbers[inlet] in beyond:
            yield Unknown((store.tag,), f"the cold supply of {store.tag}")
        elif facts.is_piped(inlet):
            yield _fault(facts, store, inlet)


def _fault(facts, store, inlet) -> Fault:
    upstream = [port.tag for port in expansion_reliefs(facts) if facts.reach.same_water(port, inlet)]
    where = f"; {upstream[0]} stands before it and protects the street, not {store.tag}" if upstream else ""
    return Fault(
        f"no expansion relief valve between the check valve and {store.tag}{where}",
        f"hang an expansion-relief-valve on the pipe between the check valve and {store.tag}.cold-in, or list an "
        "inlet-control-group",
        parts=(store.tag, *upstream[:1]),
        ports=(inlet,),
    )
