"""blended-too-hot-or-far (warning)

What: a mixing valve whose water goes to a bath, basin or shower is set above 48 °C, or stands further than 2 m from it.
Why: above 48 °C the tap can scald; behind the valve the water is lukewarm and should not stand in long pipes.
Cure: set it to 48 °C or less, and put it within 2 m of the tap.
Source: Approved Document G (England), requirement G3(4), 48 °C, seen in quotations; 2 m from a construction
    encyclopaedia and a valve maker's sheet (manual), seen
Caution: scald

Wrong:
    parts:
      W1: {kind: cold-water-cistern}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      V1: {kind: thermostatic-mixing-valve, setting: 55 °C}
      O1: {kind: blended-outlet, use: shower}
    connections:
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, V1.cold]
      - [C1.hot-out, V1.hot]
      - {run: [V1.mixed, O1.in], length: 1 m}

Right:
    parts:
      W1: {kind: cold-water-cistern}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      V1: {kind: thermostatic-mixing-valve, setting: 43 °C}
      O1: {kind: blended-outlet, use: shower}
    connections:
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, V1.cold]
      - [C1.hot-out, V1.hot]
      - {run: [V1.mixed, O1.in], length: 1 m}
"""

from schemagen.base.units import quantity
from schemagen.checks.drinking_water._blend import BLENDING_VALVE, distance_m
from schemagen.checks.drinking_water._hot import tap_openings
from schemagen.checks.fault import Fault

BLENDED_MOST_C = 48.0
BLENDED_MOST_M = 2.0
_USES = ("bath", "basin", "shower")


def check(facts):
    taps = {tap for tap in tap_openings(facts) if _is_for_people(facts, tap.tag)}
    for valve in facts.parts(BLENDING_VALVE) if taps else ():
        for tap, length in distance_m(facts, valve.tag).items():
            if tap in taps:
                yield from _tap(valve, tap, length)


def _is_for_people(facts, tag: str) -> bool:
    part = facts.network.parts[tag]
    return part.kind.name in ("bath-outlet", "shower-outlet") or part.value("use") in _USES


def _tap(valve, tap, length):
    setting = valve.value("setting")
    if setting is not None and setting > BLENDED_MOST_C:
        said = f"is set to {quantity(setting, '°C')}, above {quantity(BLENDED_MOST_C, '°C')}"
        yield _fault(valve, tap, said, f"write `setting: 46 °C` at {valve.tag}")
    length = valve.value("distance") if length is None else length
    if length is not None and length > BLENDED_MOST_M + 1e-9:
        cure = f"put {valve.tag} within {quantity(BLENDED_MOST_M, 'm')} of {tap.tag}"
        yield _fault(valve, tap, f"is {quantity(length, 'm')} away, more than {quantity(BLENDED_MOST_M, 'm')}", cure)


def _fault(valve, tap, said: str, cure: str) -> Fault:
    return Fault(f"the mixing valve {valve.tag} of {tap} {said}", cure, parts=(valve.tag, tap.tag), ports=(tap,))
