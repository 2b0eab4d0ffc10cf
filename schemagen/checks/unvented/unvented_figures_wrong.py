"""unvented-figures-wrong (warning)

What: the vessel's pre-charge does not fit the setting of the pressure reducer; an expansion relief valve opens at or
    below that setting; or a relief valve is set above the usual 7 bar (temperature relief) or 6 bar (expansion relief)
    with no `max-pressure` stated for the store to stand it.
Why: a wrongly charged vessel takes up nothing, a relief valve set too low drips, and one set too high comes too late.
Cure: charge the vessel to the reducer's setting, and take the settings that the cylinder's maker states.
Source: common practice, no source; settings of 6 and 7 bar, common practice, no source
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, pre-charge: 1 bar, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]

Right:
    parts:
      M1: {kind: cold-main}
      F1: {kind: strainer}
      R1: {kind: pressure-reducer, setting: 3 bar}
      K1: {kind: check-valve}
      E1: {kind: wholesome-expansion-vessel, pre-charge: 3 bar, at: C1.cold-in}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - [M1.out, F1, R1, K1, C1.cold-in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import (
    EXPANSION_RELIEF,
    INLET_GROUP,
    TEMPERATURE_RELIEF,
    VESSELS,
    at,
    behind_check,
    cold_in,
    joined,
    mixes,
    unvented_stores,
)
from schemagen.network.network import PortId

_USUAL_PA = {TEMPERATURE_RELIEF: 7e5, EXPANSION_RELIEF: 6e5, INLET_GROUP: 6e5}
_NEAR_PA = 0.5e5
"""How far a pre-charge may be from the reducer's setting: common practice, no source."""


def check(facts):
    near = behind_check(facts, stores=True)
    stores = at(near, (cold_in(store) for store in unvented_stores(facts)))
    reduced = _reduced(facts, near)
    for vessel in facts.parts(*VESSELS):
        number = near[PortId(vessel.tag, "port")]
        if number in stores and number in reduced:
            yield from _pre_charge(vessel, *reduced[number])
    for relief in facts.parts(*_USUAL_PA):
        number = near[_feels(relief)]
        held = [facts.network.parts[inlet.tag] for inlet in stores.get(number, ())]
        if held:
            yield from _relief(relief, held, reduced.get(number))


def _reduced(facts, near) -> dict[int, tuple[str, float]]:
    """The reducer with a stated setting for each water behind a check valve."""
    behind = joined(facts, lambda p: not mixes(p) and p.kind.name not in ("pressure-reducer", "filling-loop"))
    found: dict[int, tuple[str, float]] = {}
    last: dict[int, tuple[str, float]] = {}
    for part in facts.parts("pressure-reducer"):
        if part.value("setting") is not None:
            last[behind[PortId(part.tag, "out")]] = (part.tag, part.value("setting"))
    for store in unvented_stores(facts):
        if setting := last.get(behind[cold_in(store)]):
            found[near[cold_in(store)]] = setting
    for group in facts.parts(INLET_GROUP):
        if group.value("setting") is not None:
            found[near[PortId(group.tag, "cylinder-out")]] = (group.tag, group.value("setting"))
    return found


def _feels(relief) -> PortId:
    return PortId(relief.tag, "cylinder-out" if relief.kind.name == INLET_GROUP else "inlet")


def _pre_charge(vessel, reducer: str, setting: float):
    charge = vessel.value("pre-charge")
    if charge is not None and abs(charge - setting) > _NEAR_PA:
        yield Fault(
            f"{vessel.tag} is charged to {charge / 1e5:g} bar, but {reducer} holds {setting / 1e5:g} bar",
            f"write `pre-charge: {setting / 1e5:g} bar` at {vessel.tag}",
            parts=(vessel.tag, reducer),
        )


def _relief(relief, stores, reducer):
    opens = relief.value("relief-setting" if relief.kind.name == INLET_GROUP else "setting")
    if opens is None:
        return
    if reducer and opens <= reducer[1]:
        yield Fault(
            f"{relief.tag} opens at {opens / 1e5:g} bar, no higher than the pressure that the reducer holds",
            f"set {relief.tag} above the reducer, as the cylinder's maker states",
            parts=(relief.tag,),
        )
    stands = [store.value("max-pressure") for store in stores]
    usual = _USUAL_PA[relief.kind.name]
    if opens > usual + 1 and any(most is None or most < opens for most in stands):
        yield Fault(
            f"{relief.tag} opens at {opens / 1e5:g} bar, above the usual {usual / 1e5:g} bar, and "
            f"{stores[0].tag} is not stated to stand it",
            f"set {relief.tag} as the maker of {stores[0].tag} states, or write `max-pressure:` at {stores[0].tag}",
            parts=(relief.tag, stores[0].tag),
        )
