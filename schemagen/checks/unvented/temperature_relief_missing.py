"""temperature-relief-missing (error)

What: the relief tapping of an unvented store does not carry a temperature and pressure relief valve, screwed in
    directly.
Why: the valve has to feel the hottest water, in the top of the store. On the end of a pipe it reads the pipe.
Cure: screw it into the maker's boss in the top of the cylinder.
Source: Approved Document G (England), requirement G3(3): two independent safety devices besides the thermostat, seen
    in quotations; place in the top fifth of the volume, paragraph 3.18, from memory; BS EN 1490, from memory
Caution: unvented-store

Wrong:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve, setting: 7 bar, at: O1.in}
      O1: {kind: hot-outlet}
    connections:
      - [C1.hot-out, O1.in]

Right:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve, setting: 7 bar}
      O1: {kind: hot-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - [C1.hot-out, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._stores import (
    ELSEWHERE,
    TEMPERATURE_RELIEF,
    at,
    behind_check,
    cold_in,
    unvented_stores,
)
from schemagen.network.network import PortId

FOLDS = ("port-left-open", "blind-end")


def check(facts):
    numbers = behind_check(facts, stores=True)
    valves = at(numbers, (PortId(part.tag, "inlet") for part in facts.parts(TEMPERATURE_RELIEF)))
    for store in unvented_stores(facts):
        tapping = PortId(store.tag, "relief-tapping")
        across = facts.piped_across(tapping) if tapping.port in store.kind.ports else None
        if across and facts.network.parts[across.tag].kind.name == TEMPERATURE_RELIEF or "relief" in store.built_in:
            continue
        teed = valves.get(numbers[cold_in(store)], [])
        if across and facts.network.parts[across.tag].kind.name == ELSEWHERE and not teed:
            yield Unknown((store.tag,), f"what is on {tapping}")
        else:
            yield _fault(store, teed[0].tag if teed else "")


def _fault(store, teed: str) -> Fault:
    if "relief-tapping" not in store.kind.ports:
        return Fault(
            f"{store.tag} ({store.kind.title}) is fed by the main but has no tapping for a temperature relief valve",
            "list a cylinder made to be unvented, or feed it from a cistern with an open vent",
            parts=(store.tag,),
        )
    where = f": {teed} is joined to it by a pipe and feels the pipe" if teed else ""
    return Fault(
        f"no temperature and pressure relief valve sits in the top of {store.tag}{where}",
        f"pipe {store.tag}.relief-tapping to the inlet of a {TEMPERATURE_RELIEF}, with nothing in between",
        parts=(store.tag, *([teed] if teed else [])),
        ports=(PortId(store.tag, "relief-tapping"),),
    )
