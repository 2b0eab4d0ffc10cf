"""Temperatures of drinking water against legionella. It says which criterion is met, never that water is safe."""

from dataclasses import dataclass
from typing import Literal

from schemagen.base.bad_input import within
from schemagen.base.units import quantity

Outcome = Literal["met", "met with note", "warning", "not met", "not assessed"]

STORE_SOURCE = "HSE HSG274 Part 2"
COLD_SOURCE = "HSE HSG274 Part 2"
WEEKLY_SOURCE = "weekly in dwellings: common practice, no source; daily elsewhere: HSE L8, as quoted"
BLENDED_MOST_M = 2.0
GROWTH_BAND_C = (20.0, 45.0)
"""HSE HSG274 Part 2."""


@dataclass(frozen=True, slots=True)
class Criterion:
    """One rule at one point, what came of it and in words why."""

    point: str
    outcome: Outcome
    text: str
    source: str
    needs: str = ""


def store_criterion(store_c: float | None, pasteurised_c: float | None = None, pasteurised_s: float = 0.0) -> Criterion:
    """Store outlet at 60 °C, or a state that brings the whole content [°C] to 60 °C for an hour [s] at intervals.

    Raises BadInput for a temperature outside 0…110 °C.
    """
    if store_c is None:
        return Criterion("store", "not assessed", "store temperature is not known", STORE_SOURCE, "store temperature")
    within(0, 110, store_temperature=store_c)
    if store_c >= 60:
        return Criterion("store", "met", f"{quantity(store_c, '°C')} at the store, 60 °C or more", STORE_SOURCE)
    if pasteurised_c is not None and pasteurised_c >= 60 and pasteurised_s >= 3600:
        hour = f"a state of {quantity(pasteurised_c, '°C')} for an hour"
        text = f"{quantity(store_c, '°C')} at the store, with {hour} to run at intervals"
        return Criterion("store", "met with note", text, WEEKLY_SOURCE)
    text = f"{quantity(store_c, '°C')} at the store is below 60 °C and no state brings it to 60 °C for an hour"
    return Criterion("store", "warning", text, f"{STORE_SOURCE}; {WEEKLY_SOURCE}")


def circulation_criterion(return_c: float | None, healthcare: bool = False) -> Criterion:
    """Circulation return at 50 °C, in healthcare 55 °C at the far draw-off."""
    return _at_least("circulation return", return_c, 55 if healthcare else 50, STORE_SOURCE)


def outlet_criterion(hot_c: float | None, healthcare: bool = False) -> Criterion:
    """Hot outlet at 50 °C within a minute, in healthcare 55 °C."""
    return _at_least("hot outlet after 1 min", hot_c, 55 if healthcare else 50, STORE_SOURCE)


def distribution_criterion(hot_c: float | None) -> Criterion:
    """Water distributed at 55 °C or more from a store at 60 °C."""
    return _at_least("distribution", hot_c, 55, "Water Regulations guide G18.2")


def cold_criterion(cold_c: float | None) -> Criterion:
    """Cold water below 20 °C within two minutes."""
    if cold_c is None:
        return Criterion("cold", "not assessed", "cold temperature is not known", COLD_SOURCE, "cold temperature")
    within(0, 110, cold_temperature=cold_c)
    met = cold_c < 20
    text = f"cold at {quantity(cold_c, '°C')}, {'below' if met else 'not below'} 20 °C"
    return Criterion("cold", "met" if met else "warning", text, COLD_SOURCE)


def blended_criterion(blended_c: float, length_m: float) -> Criterion:
    """Pipe [m] behind a tap mixing valve, whose water [°C] lies in the growth band: as short as can be."""
    within(0, 110, blended_temperature=blended_c)
    low, high = GROWTH_BAND_C
    long = length_m > BLENDED_MOST_M and low <= blended_c <= high
    text = f"{quantity(length_m, 'm')} of pipe at {quantity(blended_c, '°C')} behind the mixing valve"
    return Criterion("blended pipe", "warning" if long else "met", text, "2 m: common practice, no source")


def _at_least(point: str, value_c: float | None, least_c: float, source: str) -> Criterion:
    if value_c is None:
        return Criterion(point, "not assessed", f"{point}: temperature is not known", source, f"{point} temperature")
    within(0, 110, temperature=value_c)
    met = value_c >= least_c
    text = f"{point} at {quantity(value_c, '°C')}, {'not ' if met else ''}below {quantity(least_c, '°C')}"
    return Criterion(point, "met" if met else "not met", text, source)
