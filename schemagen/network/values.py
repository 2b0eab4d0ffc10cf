"""What a text in the list means: words, flags, tags, ports and tables; quantities are left to base.units."""

from collections.abc import Callable
from functools import lru_cache
from typing import Any

from schemagen.base.units import DIMENSIONS, UnitError, parse
from schemagen.network.words import near, word
from schemagen.parts.kind import Attribute

YES = ("yes", "true", "on", "y")
NO = ("no", "false", "off", "n")
LIST_DIMENSIONS = ("tag", "tags", "port", "ports")
"""Dimensions whose texts name parts; `Resolver` turns one such text into tags or ports."""

Resolver = Callable[[str, Attribute], Any]


class ValueFault(ValueError):
    """A text is no value of its attribute: which check says so, what is wrong, what to write instead."""

    def __init__(self, check: str, message: str, cure: str) -> None:
        super().__init__(message)
        self.check, self.message, self.cure = check, message, cure


def read_value(text: str, attribute: Attribute, resolve: Resolver) -> Any:
    """The typed value of a text. Quantities come back in SI, flags as bool, tables as dict. Raises ValueFault."""
    text = text.strip()
    match attribute.dimension:
        case "flag":
            return _flag(text, attribute)
        case "words":
            return tuple(_word(item.partition(":")[0], attribute) for item in split(text))
        case "word" | "choice":
            return _word(text, attribute)
        case "table":
            return table(text)
        case "lengths":
            return tuple(_quantity(item, "length", attribute.unit) for item in split(text))
        case dimension if dimension in LIST_DIMENSIONS:
            return resolve(text, attribute)
        case dimension if dimension in DIMENSIONS:
            return _quantity(text, dimension, attribute.unit)
    return _word(text, attribute) if attribute.choices else text


def split(text: str) -> list[str]:
    """The items of a list in its canonical text: "a, b"."""
    return [item for part in text.split(",") if (item := part.strip())]


def table(text: str) -> dict[str, str]:
    """The pairs of a table in its canonical text: "a: hot-water, b: heating" or "0 L/min: 60 kPa, 40 L/min: 35 kPa"."""
    pairs = (item.partition(":") for item in split(text))
    return {_key(key.strip()): value.strip() for key, _, value in pairs}


def _key(text: str) -> str:
    """A word, or a quantity as it is written."""
    return text if text[:1].isdigit() else word(text)


def _flag(text: str, attribute: Attribute) -> bool:
    said = text.casefold()
    if said in YES or said in NO:
        return said in YES
    raise ValueFault(
        "unknown-word",
        f"{attribute.name}: {text!r} is neither yes nor no",
        f"write {attribute.name}: yes or {attribute.name}: no",
    )


def _word(text: str, attribute: Attribute) -> str:
    said = word(text)
    if not attribute.choices:
        return said
    for choice in attribute.choices:
        if word(choice) == said:
            return choice
    guess = near(said, attribute.choices)
    choices = ", ".join(attribute.choices)
    raise ValueFault(
        "unknown-word",
        f"{attribute.name}: {text!r} is not one of its words" + (f"; did you mean {guess}?" if guess else ""),
        f"write one of: {choices}",
    )


@lru_cache(maxsize=4096)
def _parsed(text: str, dimension: str, unit: str) -> float | UnitError:
    try:
        return parse(text, dimension, unit)
    except UnitError as e:
        return e


def _quantity(text: str, dimension: str, unit: str) -> float:
    value = _parsed(text, dimension, unit)
    if isinstance(value, UnitError):
        raise ValueFault("value-suspect", value.message, value.cure)
    return value
