"""inlet-pressure-not-limited (error)

What: the water of the main can reach an unvented store without passing a pressure reducer, and the main is not stated
    to stay within the store's working pressure. A warning if a reducer is there but no strainer before it.
Why: the main can stand far higher at night than what the cylinder is built for, and grit holds a reducer open.
Cure: strainer, then reducer, in the direction of flow.
Source: order of the inlet parts, and a reducer above 4.1 bar: unvented controls in a plumbing course textbook and two
    makers' instructions, seen; BS EN 1567 for reducers, from memory
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main, pressure: 3 bar}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, working-pressure: 6 bar, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, K1, C1.cold-in]
      - [C1.hot-out, O1.in]

Right:
    parts:
      M1: {kind: cold-main, pressure: 3 bar}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, working-pressure: 6 bar, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]
      - [C1.hot-out, O1.in]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import cold_in, is_reducer, supply_reach, unvented_stores
from schemagen.network.network import PortId


def check(facts):
    stores = unvented_stores(facts)
    mains = list(facts.parts("cold-main")) if stores else []
    unlimited = supply_reach(facts, mains, is_reducer)
    for store in (s for s in stores if cold_in(s) in unlimited):
        for main in (m for m in mains if facts.reach.same_water(PortId(m.tag, "out"), cold_in(store))):
            if cold_in(store) in supply_reach(facts, [main], is_reducer) and not _is_within(main, store):
                yield Fault(
                    f"the pressure of {main.tag} reaches {store.tag} without a pressure-reducer{_why(main, store)}",
                    f"put a strainer and a pressure-reducer (in towards {main.tag}), or an inlet-control-group, before "
                    f"{store.tag}; or state `max-pressure:` of {main.tag} and `working-pressure:` of {store.tag}",
                    parts=(store.tag, main.tag),
                    ports=(cold_in(store),),
                )
    yield from _without_strainer(facts, stores)


def _is_within(main, store) -> bool:
    most, stands = main.value("max-pressure"), store.value("working-pressure")
    return most is not None and stands is not None and most <= stands


def _why(main, store) -> str:
    most, stands = main.value("max-pressure"), store.value("working-pressure")
    if most is None or stands is None:
        return ""
    return f": {quantity(most, 'bar')} at most, and {store.tag} is made for {quantity(stands, 'bar')}"


def _without_strainer(facts, stores):
    unstrained = supply_reach(facts, facts.parts("cold-main"), _strains)
    inlets = {cold_in(store): store.tag for store in stores}
    stop = {store.tag for store in stores}
    for reducer in facts.parts("pressure-reducer"):
        if PortId(reducer.tag, "in") not in unstrained or _strains(reducer):
            continue
        fed = facts.reach.downstream(PortId(reducer.tag, "out"), without=stop)
        if any(inlet in fed for inlet in inlets):
            yield Fault(
                f"no strainer keeps grit from the pressure reducer {reducer.tag}",
                f"put a strainer before {reducer.tag}.in, or write `has-strainer: yes` if it has one inside",
                parts=(reducer.tag,),
                ports=(PortId(reducer.tag, "in"),),
                severity="warning",
            )


def _strains(part) -> bool:
    return "filter" in part.kind.counts_as or "strainer" in part.built_in
