"""Text such as "22 mm", "3/4 in", "1,5 bar" to SI and back; the only place where units as typed meet SI.

The units themselves stand in `unit_table`.
"""

import math
import re
import unicodedata
from fractions import Fraction

from schemagen.base.unit_table import INCH, TABLE, Dimension, Unit


class UnitError(ValueError):
    """A text is no quantity of the wanted dimension. `message` says what is wrong, `cure` what to write instead."""

    def __init__(self, message: str, cure: str) -> None:
        super().__init__(f"{message}; {cure}")
        self.message = message
        self.cure = cure


DIMENSIONS: dict[str, Dimension] = {d.name: d for d in TABLE}
"""Every dimension that `parse` knows."""

_LONGEST = 100
_CLOSE_UP = ("", '"', "'")
_VULGAR = {c: unicodedata.normalize("NFKC", c).replace("\u2044", "/") for c in "¼½¾⅐⅑⅒⅓⅔⅕⅖⅗⅘⅙⅚⅛⅜⅝⅞"}
_PLAIN = str.maketrans(
    {c: "-" for c in "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"}
    | {c: "'" for c in "\u2018\u2019\u2032"}
    | {c: '"' for c in "\u201c\u201d\u201f\u2033"}
    | {"\u2044": "/", "\u2215": "/", "\u00b2": "2", "\u00b3": "3", "\u00ba": "°"}
    | {c: None for c in "\u200b\u2060\ufeff\u00ad"}
)
_DIGIT_THEN_POWER = re.compile(r"\d[²³]")
_DN = re.compile(r"dn ?(\d{1,4})", re.I)
_THREAD = re.compile(r"(?:g|rp?|rc) ?(?=\d)", re.I)
_FRACTION = re.compile(r"(?:(\d{1,4})(?: |-))?(\d{1,3}) ?/ ?(\d{1,3})(?![\d/])")
_SLOPE = re.compile(r"(\d+(?:[.,]\d+)?) ?(?::|in) ?(\d+(?:[.,]\d+)?)")
_NUMBER = re.compile(r"[+-]?\d+(?:[ '](?=\d{3}(?!\d))\d{3})*(?:[.,]\d+)*(?:e[+-]?\d{1,3}(?![\w.]))?|[+-]?[.,]\d+", re.I)
_THOUSANDS = re.compile(r"[+-]?[1-9]\d{0,2}([.,])\d{3}(?:\1\d{3})+")
_GROUPED = re.compile(r"[+-]?\d{1,3}(?:[.,]\d{3})+")
_UNCLEAR = re.compile(r"[+-]?[1-9]\d{0,2},\d{3}")


def parse(text: str, dimension: str, unit: str = "") -> float:
    """The value of a typed quantity in SI (temperatures in °C). A bare number takes `unit`.

    "DN20" is 20 mm, "G 1/2" is half an inch: nominal sizes, not measured ones. Raises UnitError if the text is no
    number, has a unit of another dimension, is ambiguous or makes no sense; KeyError if the dimension is unknown.
    """
    wanted = DIMENSIONS[dimension]
    if not unit and len(wanted.units) == 1:
        unit = wanted.units[0].words[0]
    if len(text) > _LONGEST:
        raise UnitError(f"a text of {len(text)} characters is no {_name(wanted)}", _write(wanted, unit))
    if _DIGIT_THEN_POWER.search(text):
        raise UnitError(f"{text!r} has a raised digit right after a number", _write(wanted, unit))
    plain = _plain(text)
    value = _nominal(plain, dimension)
    if value is None:
        value = _slope(plain, dimension)
    if value is None:
        number, word = _split(plain, text, wanted, unit)
        found = _unit(word or unit, wanted, text, unit)
        value = _float(number * found.factor + found.offset)
    if not math.isfinite(value):
        raise UnitError(f"{text!r} is too large to be a {_name(wanted)}", _write(wanted, unit))
    if value < wanted.least - 1e-9:
        raise UnitError(f"{text!r} is too low: a {_name(wanted)} cannot be that small", _write(wanted, unit))
    if dimension == "count" and value != int(value):
        raise UnitError(f"{text!r} is no whole number", "write a count, for example 3")
    return value


def show(value: float, unit: str, digits: int = 4) -> str:
    """A value in SI as text in `unit`, rounded to `digits` figures: show(0.028, "mm") is "28 mm".

    Inches are written as fractions where they are sixteenths: show(0.01905, "in") is "3/4 in". Raises KeyError if no
    dimension has the unit.
    """
    found = _UNIT_BY_WORD[unit]
    number = (value - float(found.offset)) / float(found.factor)
    inches = _as_fraction(number) if unit in ("in", '"') else ""
    return f"{inches or figures(number, digits)}{'' if unit in _CLOSE_UP else ' '}{unit}"


def quantity(value: float, unit: str) -> str:
    """A calculated value in SI as a reader gets it: quantity(0.00033784, "L/min") is "20.3 L/min"; see `read`."""
    found = _UNIT_BY_WORD[unit]
    number, unit = read((value - float(found.offset)) / float(found.factor), unit)
    return f"{number} {unit}"


def read(number: float, unit: str) -> tuple[str, str]:
    """A calculated number in `unit` as a reader gets it, and its unit: three figures, a power in W below 1 kW, else kW.

    Not for what a list says: that is printed as `show` gives it.
    """
    if unit in _POWERS:
        watts = _to_three_figures(number * _POWERS[unit])
        number, unit = (watts, "W") if abs(watts) < 1000 else (watts / 1000, "kW")
    return figures(_to_three_figures(number), 3), unit


_POWERS = {"W": 1, "kW": 1000}


def _to_three_figures(number: float) -> float:
    return float(f"{number:.2e}")


def figures(number: float, digits: int = 4) -> str:
    """A number rounded to so many significant figures, without exponent or trailing zeros: 0.0280 is "0.028"."""
    if number == 0:
        return "0"
    places = max(digits - 1 - math.floor(math.log10(abs(number))), 0)
    text = f"{number:.{places}f}"
    text = text.rstrip("0").rstrip(".") if "." in text else text
    return "0" if text == "-0" else text


def unclear_comma(text: str) -> bool:
    """True if the text begins with a number like 1,234 that reads as a thousand here and as a decimal there."""
    match = _NUMBER.match(_plain(text))
    return bool(match and _UNCLEAR.fullmatch(match[0]))


def _plain(text: str) -> str:
    for char, spelled in _VULGAR.items():
        text = text.replace(char, f" {spelled}")
    text = text.translate(_PLAIN)
    text = unicodedata.normalize("NFKC", text).translate(_PLAIN)
    return " ".join("".join(str(unicodedata.decimal(c)) if c.isdecimal() else c for c in text).split())


def _nominal(plain: str, dimension: str) -> float | None:
    if dimension != "length":
        return None
    if m := _DN.fullmatch(plain):
        return int(m[1]) / 1000
    if m := _THREAD.match(plain):
        rest = plain[m.end() :].removesuffix('"').removesuffix("in").strip()
        if (f := _FRACTION.fullmatch(rest)) and int(f[3]):
            return float(_fraction(f) * INCH)
        if rest.isdecimal():
            return float(int(rest) * INCH)
    return None


def _slope(plain: str, dimension: str) -> float | None:
    m = _SLOPE.fullmatch(plain) if dimension in ("ratio", "percent") else None
    if not m:
        return None
    a, b = (float(g.replace(",", ".")) for g in m.groups())
    return a / b if b else math.inf


def _float(value: Fraction) -> float:
    try:
        return float(value)
    except OverflowError:
        return math.inf


def _fraction(m: re.Match[str]) -> Fraction:
    return int(m[1] or 0) + Fraction(int(m[2]), int(m[3]))


def _split(plain: str, text: str, wanted: Dimension, unit: str) -> tuple[Fraction, str]:
    """The number at the start and the unit's word after it."""
    if m := _FRACTION.match(plain):
        if not int(m[3]):
            raise UnitError(f"{text!r} divides by nothing", _write(wanted, unit))
        word = plain[m.end() :].strip()
        if not word and wanted.name == "length" and unit not in ("in", '"'):
            raise UnitError(f"{text!r} is a fraction of what?", f"write the unit: {plain} in")
        return _fraction(m), word
    m = _NUMBER.match(plain)
    if not m:
        raise UnitError(f"{text!r} is no {_name(wanted)}", _write(wanted, unit))
    word = plain[m.end() :].strip()
    if word and not word[0].isalpha() and word[0] not in "°%\"'":
        raise UnitError(f"{text!r} is not one number with one unit", _write(wanted, unit))
    return _number(m[0], text, f" {word}" if word else ""), word


def _number(digits: str, text: str, unit: str) -> Fraction:
    digits, e, power = digits.replace(" ", "").replace("'", "").lower().partition("e")
    commas, points = digits.count(","), digits.count(".")
    if _UNCLEAR.fullmatch(digits):
        whole, part = digits.split(",")
        one, other = f"{whole}{part}{unit}", f"{whole}.{part}{unit}"
        raise UnitError(f"{text!r} can be read as {one} or as {other}", f"write {one} or {other}")
    if _THOUSANDS.fullmatch(digits):
        digits = digits.replace(",", "").replace(".", "")
    elif commas and points:
        whole, mark, part = re.split(r"([.,])(?=\d*$)", digits)
        if not _GROUPED.fullmatch(whole) or mark in whole:
            raise UnitError(f"{text!r} has too many commas or points", "write one decimal point, for example 22.5")
        digits = whole.replace(",", "").replace(".", "") + "." + part
    elif commas + points > 1:
        raise UnitError(f"{text!r} has too many commas or points", "write one decimal point, for example 22.5")
    return Fraction(digits.replace(",", ".") + e + power)


def _folded(word: str) -> str:
    return word.casefold().replace("²", "2").replace("³", "3").replace(" ", "").rstrip(".")


def _unit(word: str, wanted: Dimension, text: str, default: str) -> Unit:
    for unit in wanted.units:
        if word in unit.words or (word and _plain(word) in unit.words):
            return unit
    folded = _folded(word)
    for unit in wanted.units:
        if not _needs_case(unit) and folded in {_folded(w) for w in unit.words}:
            return unit
    if folded in ("gal", "gallon", "gallons", "gpm", "gal/min"):
        small, large = ("imp gal", "US gal") if wanted.name == "volume" else ("imp gal/min", "US gal/min")
        raise UnitError(f"{text!r}: gallons differ between countries", f"write {small} or {large}, or litres")
    if folded in ("k", "kelvin") and wanted.name == "temperature":
        raise UnitError(f"{text!r} is a difference of temperatures", _write(wanted, default))
    others = [_name(d) for d in TABLE if any(word and word in u.words for u in d.units)]
    if others:
        raise UnitError(f"{text!r} is a {others[0]}, not a {_name(wanted)}", _write(wanted, default))
    if not word:
        raise UnitError(f"{text!r} has no unit", _write(wanted, default))
    raise UnitError(f"{text!r}: {word!r} is no unit of {_name(wanted)}", _write(wanted, default))


def _needs_case(unit: Unit) -> bool:
    """Mega differs from milli by its capital alone."""
    return unit.words[0].startswith("M")


def _name(d: Dimension) -> str:
    return d.name.replace("-", " ")


def _write(d: Dimension, unit: str) -> str:
    words = [u.words[0] for u in d.units if u.words[0]]
    if not unit and any("" in u.words for u in d.units):
        return f"write a plain {_name(d)}, for example {d.example}"
    first = unit if unit else words[0]
    return f"write it in {first}, for example {_example(d, first)}"


def _example(d: Dimension, unit: str) -> str:
    if unit in d.example.split():
        return d.example
    value = parse(d.example, d.name)
    return show(value, unit, 2) if unit in _UNIT_BY_WORD else d.example


def _as_fraction(number: float) -> str:
    sixteenths = round(number * 16)
    if number <= 0 or abs(number * 16 - sixteenths) > 1e-6:
        return ""
    whole, rest = divmod(Fraction(sixteenths, 16), 1)
    return " ".join(t for t in (str(whole) if whole else "", str(rest) if rest else "") if t)


_UNIT_BY_WORD: dict[str, Unit] = {w: u for d in reversed(TABLE) for u in reversed(d.units) for w in u.words}
_UNIT_BY_WORD |= {u.words[0]: u for d in reversed(TABLE) for u in d.units}
"""Units by each of their spellings; of two alike the one that is printed so, then the first of the table."""
