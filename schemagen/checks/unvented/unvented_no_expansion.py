"""unvented-no-expansion (error)

What: an unvented store of 15 litres or more has no expansion vessel on its own water and no air space inside.
Why: the check valve has closed the way back to the main, so the swelling water needs a home.
Cure: a drinking-water vessel between the check valve and the cylinder.
Source: unvented controls in a plumbing course textbook, seen; expansion back into the main only below 15 litres and
    25 °C (20 °C in Scotland and Northern Ireland), interpretation I39 of the water-regulations body, seen
Caution: unvented-store
Regions: whether a small heater may swell back into the main is for the local code

Wrong:
    parts:
      M1: {kind: cold-main}
      G1: {kind: inlet-control-group, capped: [balanced-cold-out, vessel]}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, G1.main-in]
      - [G1.cylinder-out, C1.cold-in]
      - [C1.hot-out, O1.in]

Right:
    parts:
      M1: {kind: cold-main}
      G1: {kind: inlet-control-group, capped: [balanced-cold-out]}
      E1: {kind: wholesome-expansion-vessel, volume: 18 L}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, G1.main-in]
      - [G1.vessel, E1.port]
      - [G1.cylinder-out, C1.cold-in]
      - [C1.hot-out, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._stores import at, behind_check, cold_in, elsewhere, unvented_stores, vessels

_SMALL_M3 = 0.015
"""Below this the main may take the expansion, where the region allows it."""


def check(facts):
    numbers, cold = behind_check(facts, stores=True), behind_check(facts)
    held = at(numbers, vessels(facts))
    beyond = elsewhere(facts, cold)
    for store in unvented_stores(facts):
        inlet = cold_in(store)
        if numbers[inlet] in held or store.value("internal-air-space") or _is_small(store):
            continue
        if cold[inlet] in beyond:
            yield Unknown((store.tag,), f"the cold supply of {store.tag}")
        elif facts.is_piped(inlet):
            yield Fault(
                f"nothing takes up the expansion of {store.tag}",
                f"hang a wholesome-expansion-vessel on the pipe between the check valve and {store.tag}.cold-in, or "
                f"write `internal-air-space: yes` at {store.tag}",
                parts=(store.tag,),
                ports=(inlet,),
            )


def _is_small(store) -> bool:
    volume = store.value("volume")
    return volume is not None and volume < _SMALL_M3
