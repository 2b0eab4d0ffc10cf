"""unvented-figures-wrong (warning)

What: the vessel's pre-charge does not fit the setting of the pressure reducer; the vessel is too small for the store;
    an expansion relief valve opens at or below the reducer's setting; a cut-out is set above 90 °C; or a relief valve
    is set above the usual 7 bar (temperature relief) or 6 bar (expansion relief) with no `max-pressure` stated for the
    store to stand it.
Why: a wrongly charged vessel takes up nothing, a relief valve set too low drips, and one set too high comes too late.
Cure: charge the vessel to the reducer's setting, and take the settings that the cylinder's maker states.
Source: common practice, no source; settings of 6 and 7 bar, common practice, no source; vessel volume by Boyle's law,
    as in BS EN 12828, from memory; cut-outs at 80 to 90 °C, from memory
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

import math

from schemagen.base.units import quantity
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
from schemagen.sizing.water import water_density_kgm3

_USUAL_PA = {TEMPERATURE_RELIEF: 7e5, EXPANSION_RELIEF: 6e5, INLET_GROUP: 6e5}
_CUT_OUT_MOST_C = 90.0
_BAR = 1e5
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
    yield from _volumes(facts, near, reduced)
    for device in facts.parts("cut-out-thermostat"):
        yield from _cut_out(facts, device)
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


def _volumes(facts, near, reduced):
    """The gas of the vessels must take up what the store grows from 10 °C to its setting, 0.5 bar below the relief."""
    for store in unvented_stores(facts):
        number = near[cold_in(store)]
        beside = [v for v in facts.parts(*VESSELS) if near[PortId(v.tag, "port")] == number]
        opens = [r.value("setting") or r.value("relief-setting") for r in facts.parts(EXPANSION_RELIEF)]
        opens += [g.value("relief-setting") for g in facts.parts(INLET_GROUP)]
        held = reduced.get(number, ("", None))[1]
        figures = (store.value("volume"), *(v.value("volume") for v in beside), *opens, held)
        if not beside or not opens or None in figures:
            continue
        hot = max(60.0, store.value("setting") or 60.0)
        grows = store.value("volume") * (water_density_kgm3(10.0) / water_density_kgm3(hot) - 1)
        top, charge = min(opens) - 0.5 * _BAR, held
        room = sum(v.value("volume") for v in beside) * (top - charge) / (top + _BAR)
        if room < grows:
            litres = quantity(grows, "L")
            yield Fault(
                f"{beside[0].tag} takes up {quantity(max(room, 0), 'L')}, but the water of "
                f"{store.tag} grows by {litres}",
                f"take a vessel of {math.ceil(grows * 1e3 * (top + _BAR) / (top - charge))} L or more" if top > charge
                else "set the relief valve above the reducer",
                parts=(beside[0].tag, store.tag),
            )


def _cut_out(facts, device):
    host = facts.network.host_of(device.tag)
    setting = device.value("setting")
    guarded = host is not None and host.tag in {store.tag for store in unvented_stores(facts)}
    if guarded and setting is not None and setting > _CUT_OUT_MOST_C:
        yield Fault(
            f"{device.tag} cuts out at {quantity(setting, '°C')}, too near to boiling",
            f"write `setting: 85 °C` at {device.tag}, or what the maker of {host.tag} states",
            parts=(device.tag, host.tag),
        )


def _feels(relief) -> PortId:
    return PortId(relief.tag, "cylinder-out" if relief.kind.name == INLET_GROUP else "inlet")


def _pre_charge(vessel, reducer: str, setting: float):
    charge = vessel.value("pre-charge")
    if charge is not None and abs(charge - setting) > _NEAR_PA:
        yield Fault(
            f"{vessel.tag} is charged to {quantity(charge, 'bar')}, but {reducer} holds {quantity(setting, 'bar')}",
            f"write `pre-charge: {quantity(setting, 'bar')}` at {vessel.tag}",
            parts=(vessel.tag, reducer),
        )


def _relief(relief, stores, reducer):
    opens = relief.value("relief-setting" if relief.kind.name == INLET_GROUP else "setting")
    if opens is None:
        return
    if reducer and opens <= reducer[1]:
        yield Fault(
            f"{relief.tag} opens at {quantity(opens, 'bar')}, no higher than the pressure that the reducer holds",
            f"set {relief.tag} above the reducer, as the cylinder's maker states",
            parts=(relief.tag,),
        )
    stands = [store.value("max-pressure") for store in stores]
    usual = _USUAL_PA[relief.kind.name]
    if opens > usual + 1 and any(most is None or most < opens for most in stands):
        yield Fault(
            f"{relief.tag} opens at {quantity(opens, 'bar')}, above the usual {quantity(usual, 'bar')}, and "
            f"{stores[0].tag} is not stated to stand it",
            f"set {relief.tag} as the maker of {stores[0].tag} states, or write `max-pressure:` at {stores[0].tag}",
            parts=(relief.tag, stores[0].tag),
        )
