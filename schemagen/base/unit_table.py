"""The dimensions that a list can name, and their units with every spelling and the factor to SI.

SI here: m, m², m³, W, Pa (gauge), m³/s, m/s, kg, s, rad, 1 for ratios and percentages; temperatures in °C, differences
in K. Factors: NIST Special Publication 811 (2008), appendix B; exact but for the Btu, rounded there.
"""

import math
from fractions import Fraction
from typing import NamedTuple


class Unit(NamedTuple):
    """value in SI = number × factor + offset; `words` are the spellings, the first is the one that is printed."""

    words: tuple[str, ...]
    factor: Fraction
    offset: Fraction = Fraction(0)


class Dimension(NamedTuple):
    """A sort of quantity. `least` is the smallest sensible value in SI, `example` is shown in messages."""

    name: str
    units: tuple[Unit, ...]
    example: str
    least: float = 0.0


F = Fraction  # short, for the tables below
INCH = F("0.0254")
_FOOT = F("0.3048")
_IMPERIAL_GALLON = F("4.54609e-3")
_US_GALLON = F("3.785411784e-3")
_POUND = F("0.45359237")
_GRAVITY = F("9.80665")
_PSI = _POUND * _GRAVITY / INCH**2
_MINUTE, _HOUR, _DAY = 60, 3600, 86400

_MM = Unit(("mm", "millimetre", "millimetres", "millimeter", "millimeters"), F("1e-3"))
_LENGTHS = (
    Unit(("m", "metre", "metres", "meter", "meters"), F(1)),
    _MM,
    Unit(("cm", "centimetre", "centimetres", "centimeter", "centimeters"), F("1e-2")),
    Unit(("km",), F(1000)),
    Unit(("in", '"', "inch", "inches", "''", "zoll"), INCH),
    Unit(("ft", "'", "foot", "feet"), _FOOT),
)
_PERCENT = Unit(("%", "percent", "per cent", "pct"), F("0.01"))
_ONE = Unit(("",), F(1))

TABLE = (
    Dimension("length", _LENGTHS, "28 mm"),
    Dimension("height", _LENGTHS, "2.4 m", -math.inf),
    Dimension(
        "area",
        (
            Unit(("m²", "m2", "sqm", "sq m", "square metre", "square metres"), F(1)),
            Unit(("cm²", "cm2"), F("1e-4")),
            Unit(("mm²", "mm2"), F("1e-6")),
            Unit(("ft²", "ft2", "sq ft", "sqft"), _FOOT**2),
        ),
        "12 m²",
    ),
    Dimension(
        "volume",
        (
            Unit(("L", "l", "ℓ", "ltr", "ltrs", "lt", "litre", "litres", "liter", "liters"), F("1e-3")),
            Unit(("m³", "m3", "cubic metre", "cubic metres"), F(1)),
            Unit(("ml", "millilitre", "millilitres"), F("1e-6")),
            Unit(("imp gal", "imperial gallon", "imperial gallons", "uk gal", "uk gallons"), _IMPERIAL_GALLON),
            Unit(("US gal", "us gallon", "us gallons"), _US_GALLON),
        ),
        "180 L",
    ),
    Dimension(
        "power",
        (
            Unit(("kW", "kilowatt", "kilowatts"), F(1000)),
            Unit(("W", "watt", "watts"), F(1)),
            Unit(("MW",), F(10**6)),
            Unit(("Btu/h", "btu/hr", "btuh"), F("1055.05585262") / _HOUR),
        ),
        "7 kW",
    ),
    Dimension(
        "temperature",
        (
            Unit(("°C", "C", "°", "deg C", "degC", "degrees C", "degrees", "celsius", "deg"), F(1)),
            Unit(("°F", "F", "deg F", "degF", "degrees F", "fahrenheit"), F(5, 9), F(-160, 9)),
        ),
        "45 °C",
        -273.15,
    ),
    Dimension(
        "temperature-difference",
        (
            Unit(("K", "kelvin", "°C", "C", "°", "deg C", "degC", "degrees", "deg"), F(1)),
            Unit(("°F", "F", "deg F", "degF"), F(5, 9)),
        ),
        "5 K",
    ),
    Dimension(
        "pressure",
        (
            Unit(("bar", "bars", "barg", "bar g", "bar(g)"), F(10**5)),
            Unit(("kPa",), F(1000)),
            Unit(("Pa",), F(1)),
            Unit(("MPa",), F(10**6)),
            Unit(("mbar", "hPa"), F(100)),
            Unit(("psi", "psig"), _PSI),
            Unit(("m head", "mH2O", "mWG", "mWC", "mWS", "m water"), 1000 * _GRAVITY),
        ),
        "3 bar",
    ),
    Dimension(
        "flow",
        (
            Unit(("L/min", "l/min", "lpm", "litres/min", "litres per minute"), F("1e-3") / _MINUTE),
            Unit(("L/s", "l/s", "lps", "litres/s", "litres per second"), F("1e-3")),
            Unit(("L/h", "l/h", "l/hr", "lph", "litres/h", "litres per hour"), F("1e-3") / _HOUR),
            Unit(("m³/h", "m3/h", "m³/hr", "m3/hr", "cubic metres per hour"), F(1, _HOUR)),
            Unit(("m³/s", "m3/s"), F(1)),
            Unit(("imp gal/min", "imp gpm"), _IMPERIAL_GALLON / _MINUTE),
            Unit(("US gal/min", "us gpm"), _US_GALLON / _MINUTE),
        ),
        "12 L/min",
    ),
    Dimension(
        "velocity",
        (Unit(("m/s", "metres per second"), F(1)), Unit(("ft/s", "fps"), _FOOT)),
        "0.8 m/s",
    ),
    Dimension(
        "mass",
        (
            Unit(("kg", "kilogram", "kilograms", "kilo", "kilos"), F(1)),
            Unit(("g", "gram", "grams"), F("1e-3")),
            Unit(("t", "tonne", "tonnes"), F(1000)),
            Unit(("lb", "lbs", "pound", "pounds"), _POUND),
        ),
        "45 kg",
    ),
    Dimension(
        "time",
        (
            Unit(("s", "sec", "secs", "second", "seconds"), F(1)),
            Unit(("min", "mins", "minute", "minutes"), _MINUTE),
            Unit(("h", "hr", "hrs", "hour", "hours"), _HOUR),
            Unit(("d", "day", "days"), _DAY),
        ),
        "30 min",
    ),
    Dimension(
        "angle",
        (Unit(("°", "deg", "degree", "degrees"), F(math.pi) / 180), Unit(("rad", "radians"), F(1))),
        "30 °",
        -math.inf,
    ),
    Dimension("ratio", (_ONE, _PERCENT), "0.8"),
    Dimension("percent", (_PERCENT,), "25 %"),
    Dimension("number", (_ONE,), "1.5", -math.inf),
    Dimension("count", (_ONE,), "3"),
)
