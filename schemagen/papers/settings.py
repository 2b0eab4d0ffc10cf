"""Settings that somebody sets or reads on site, as the list gives them: number and unit."""

from collections.abc import Iterator
from dataclasses import dataclass

from schemagen.base.units import show
from schemagen.network.network import Part
from schemagen.schedules.dossier import Dossier

KEYS = (
    "setting",
    "relief-setting",
    "temperature-setting",
    "pre-charge",
    "differential",
    "mode",
    "speed",
    "head",
    "curve",
)
"""Keys that are always a setting."""

_SET_FLOW = (
    "balancing-valve",
    "flow-regulator",
    "lockshield-valve",
    "pump",
    "mixing-set",
    "wholesome-circulating-pump",
)
"""Kinds whose `flow` is set on them."""

_UNITS = {"mode": "mode", "curve": "curve", "speed": "% or step"}
_WORDS = {"relief-setting": "relief valve", "temperature-setting": "opens at", "pre-charge": "charge pressure"}


@dataclass(frozen=True, slots=True)
class Setting:
    """`value` as printed, without its unit; `unit` is never empty."""

    tag: str
    key: str
    words: str
    value: str
    unit: str


def settings_of(part: Part) -> Iterator[Setting]:
    """Every setting that the list gives for a part."""
    keys = [
        *KEYS,
        *(["flow"] if part.kind.name in _SET_FLOW else []),
        *(["flow-temperature"] if part.kind.giver else []),
    ]
    for key in keys:
        if part.texts.get(key):
            value, unit = given(part, key)
            yield Setting(part.tag, key, _WORDS.get(key, key.replace("-", " ")), value, unit)


def all_settings(dossier: Dossier) -> tuple[Setting, ...]:
    """The settings of all parts, in the order of the list."""
    return tuple(s for part in dossier.network.parts.values() for s in settings_of(part))


def given(part: Part, key: str) -> tuple[str, str]:
    """A value of the list as number and unit, ("", unit) if it is not given."""
    attribute = part.kind.attributes.get(key)
    unit = (attribute.unit if attribute else "") or _UNITS.get(key, "mark")
    value, text = part.values.get(key), part.texts.get(key, "")
    if attribute and attribute.unit and isinstance(value, float):
        return show(value, attribute.unit).removesuffix(attribute.unit).strip(), unit
    return text, unit
