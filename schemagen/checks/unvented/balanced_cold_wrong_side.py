"""balanced-cold-wrong-side (error)

What: a cold tap or the cold side of a mixer is fed from between the check valve and an unvented store. A warning if a
    mixer takes hot from the store and cold from before its pressure reducer, without check valves on both inlets.
Why: behind the check valve the cold pipe carries warm expansion water and can draw from the cylinder. Before the
    reducer the cold is much stronger than the hot, so that showers run cold.
Cure: take balanced cold between the reducer and the check valve.
Source: reducers made with a balanced cold outlet before the check valve, a plumbing course textbook, seen; balanced
    pressures, installation note IRN R010 of the water-regulations body, seen
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer}
      K1: {kind: check-valve}
      T1: {kind: tee}
      O1: {kind: cold-outlet}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - [M1.out, F1, R1, K1, T1, C1.cold-in]
      - [T1, O1.in]

Right:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer}
      K1: {kind: check-valve}
      T1: {kind: tee}
      O1: {kind: cold-outlet}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - [M1.out, F1, R1, T1, K1, C1.cold-in]
      - [T1, O1.in]
"""

from schemagen.checks.drinking_water._mixing import has_check, mixers, supplies
from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import at, behind_check, cold_in, unvented_stores
from schemagen.checks.unvented.inlet_check_missing import cold_openings
from schemagen.network.network import PortId

FOLDS = ("inlet-check-missing", "mixing-supplies-unprotected")


def check(facts):
    stores = unvented_stores(facts)
    near = behind_check(facts)
    mains = {near[PortId(main.tag, "out")] for main in facts.parts("cold-main")}
    taps = at(near, cold_openings(facts))
    for store in stores:
        group = near[cold_in(store)]
        for tap in taps.get(group, ()) if group not in mains else ():
            yield Fault(
                f"{tap} takes its cold water from behind the check valve of {store.tag}",
                f"branch the pipe to {tap} off between the reducer and the check valve",
                parts=(tap.tag, store.tag),
                pipes=[facts.pipe_at(tap)],
                ports=(tap,),
            )
    yield from _unbalanced(facts, stores)


def _unbalanced(facts, stores):
    supply = facts.once(supplies)
    hot_of = {supply[cold_in(store)]: store.tag for store in stores}
    strong = {supply[PortId(main.tag, "out")]: main.tag for main in facts.parts("cold-main")}
    for hot, cold in mixers(facts):
        store, main = hot_of.get(supply[hot]), strong.get(supply[cold])
        if store and main and supply[hot] != supply[cold] and not (has_check(facts, hot) and has_check(facts, cold)):
            yield Fault(
                f"{cold.tag} mixes hot water of {store} with cold straight from {main}, before the pressure reducer",
                f"take the pipe to {cold} off between the reducer and the check valve of {store}, or put a check-valve "
                f"before both inlets of {cold.tag}",
                parts=(cold.tag, store),
                pipes=[facts.pipe_at(cold)],
                ports=(cold,),
                severity="warning",
            )
