"""hot-water-too-cool (warning)

What: a hot-water store is set below 60 °C and no hot cycle brings it there; or its circulation may cool below 50 °C
    (healthcare 55 °C) before it is warmed again. Only where settings are given.
Why: legionella grows between about 20 and 45 °C and dies at 60 °C.
Cure: raise the setting, or schedule a regular hot cycle.
Source: HSE page on hot and cold water systems, seen; HSG274 Part 2 as quoted in a water-hygiene article, seen; water
    fittings guidance G18.2, seen in a plumbing course textbook; growth band from memory
Caution: legionella
Regions: Germany (W 551): 60 °C at the outlet of large plants, circulation not more than 5 K cooler

Wrong:
    parts:
      C1: {kind: vented-cylinder, setting: 50 °C, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [C1.hot-out, O1.in]

Right:
    parts:
      C1: {kind: vented-cylinder, setting: 50 °C, pasteurise: 60 °C, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [C1.hot-out, O1.in]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown

STORE_LEAST_C = 60.0
RETURN_LEAST_C = 50.0
RETURN_LEAST_HEALTHCARE_C = 55.0
_THERMOSTATS = ("cylinder-thermostat", "store-thermostat", "temperature-sensor")


def check(facts):
    for store in facts.network.parts.values():
        if store.kind.store == "wholesome":
            yield from _store(facts, store)
    for device in facts.parts("pipe-thermostat"):
        pumps = [t for t in facts.signals.targets(device.tag) if _circulates(facts, t)]
        setting = device.value("setting")
        if pumps and setting is not None and setting < _return_least(facts):
            yield Fault(
                f"{device.tag} lets the circulation of {pumps[0]} cool to {quantity(setting, '°C')}, below "
                f"{quantity(_return_least(facts), '°C')}",
                f"write `setting: {quantity(_return_least(facts), '°C')}` or more at {device.tag}",
                parts=(device.tag, pumps[0]),
            )


def _store(facts, store):
    kept = {t: facts.network.parts[t].value("setting") for t in _thermostats(facts, store)}
    settings = [s for s in (store.value("setting"), max(kept.values(), default=None)) if s is not None]
    if not settings:
        yield Unknown((store.tag,), f"`setting:` of {store.tag}")
    elif min(settings) < STORE_LEAST_C and (store.value("pasteurise") or 0) < STORE_LEAST_C:
        yield Fault(
            f"{store.tag} is kept at {quantity(min(settings), '°C')}, below "
            f"{quantity(STORE_LEAST_C, '°C')}, and has no hot cycle",
            f"write `setting: 60 °C` at {' and '.join((store.tag, *kept))}, or `pasteurise: 60 °C` if a regular cycle "
            "brings it there",
            parts=(store.tag, *kept),
        )


def _thermostats(facts, store) -> list[str]:
    """The thermostats on a store whose settings the list itself states."""
    devices = (facts.network.parts[tag] for tag in facts.signals.at(store.tag))
    return [d.tag for d in devices if d.kind.name in _THERMOSTATS and "setting" in d.texts]


def _circulates(facts, tag: str) -> bool:
    part = facts.network.parts.get(tag)
    return part is not None and part.kind.name == "wholesome-circulating-pump"


def _return_least(facts) -> float:
    healthcare = facts.network.sheet.get("use", "").casefold() == "healthcare"
    return RETURN_LEAST_HEALTHCARE_C if healthcare else RETURN_LEAST_C
