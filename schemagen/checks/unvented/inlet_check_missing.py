"""inlet-check-missing (error)

What: no check valve stands between the last cold branch and an unvented store.
Why: water that is being heated would push back into the cold pipe, to the cold taps and the street main.
Cure: a single check valve after the tee of the balanced cold water.
Source: unvented controls in a plumbing course textbook, seen; Water Supply (Water Fittings) Regulations 1999,
    schedule 2, paragraph 15, seen in the Northern Ireland wording
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, F1, R1, C1.cold-in]
      - [C1.hot-out, O1.in]

Right:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]
      - [C1.hot-out, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import at, behind_check, cold_in, unvented_stores, up_to_check
from schemagen.network.network import PortId


def check(facts):
    stores = unvented_stores(facts)
    numbers, near = up_to_check(facts), behind_check(facts)
    mains = at(numbers, (PortId(main.tag, "out") for main in facts.parts("cold-main")))
    taps = at(numbers, cold_openings(facts))
    for store in stores:
        inlet = cold_in(store)
        far_taps = [tap for tap in taps.get(numbers[inlet], ()) if near[tap] != near[inlet]]
        if main := mains.get(numbers[inlet]):
            yield _fault(store, f"no check valve stands between {main[0].tag} and {store.tag}")
        elif far_taps:
            said = f"the check valve before {store.tag} stands upstream of the cold branch to {far_taps[0]}"
            yield _fault(store, said)


def cold_openings(facts):
    """Where taps and blending valves take cold water."""
    for part in facts.network.parts.values():
        for name, spec in part.kind.ports.items():
            if spec.media == "C" and (part.kind.name == "cold-outlet" or name in ("cold", "cold-in")):
                if part.kind.store or part.kind.giver:
                    continue
                yield PortId(part.tag, name)


def _fault(store, message: str) -> Fault:
    return Fault(
        message,
        f"put a check-valve (out towards {store.tag}) after the last cold branch and before {store.tag}.cold-in",
        parts=(store.tag,),
        ports=(cold_in(store),),
    )
