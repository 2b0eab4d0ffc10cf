"""Typed quantities: read to SI and printed back, with a general unit library as witness for the factors."""

import math

import pint
import pytest
from hypothesis import given
from hypothesis import strategies as st

from schemagen.base.units import DIMENSIONS, UnitError, figures, parse, quantity, show, unclear_comma

WITNESS = pint.UnitRegistry()
WITNESSES = {
    "mm": "millimeter", "m": "meter", "cm": "centimeter", "km": "kilometer", "in": "inch", "ft": "foot",
    "m²": "meter**2", "cm²": "centimeter**2", "mm²": "millimeter**2", "ft²": "foot**2",
    "L": "liter", "m³": "meter**3", "ml": "milliliter", "imp gal": "imperial_gallon", "US gal": "gallon",
    "kW": "kilowatt", "W": "watt", "MW": "megawatt", "Btu/h": "Btu/hour",
    "bar": "bar", "kPa": "kilopascal", "Pa": "pascal", "MPa": "megapascal", "mbar": "millibar", "psi": "psi",
    "m head": "meter_H2O",
    "L/min": "liter/minute", "L/s": "liter/second", "L/h": "liter/hour", "m³/h": "meter**3/hour",
    "m³/s": "meter**3/second", "imp gal/min": "imperial_gallon/minute", "US gal/min": "gallon/minute",
    "m/s": "meter/second", "ft/s": "foot/second",
    "kg": "kilogram", "g": "gram", "t": "metric_ton", "lb": "pound",
    "s": "second", "min": "minute", "h": "hour", "d": "day",
    "°": "degree", "rad": "radian", "%": "percent", "": "dimensionless",
}  # fmt: skip
BASE = {
    "length": "meter", "height": "meter", "area": "meter**2", "volume": "meter**3", "power": "watt",
    "pressure": "pascal",
    "flow": "meter**3/second", "velocity": "meter/second", "mass": "kilogram", "time": "second", "angle": "radian",
    "ratio": "dimensionless", "percent": "dimensionless", "number": "dimensionless", "count": "dimensionless",
}  # fmt: skip
ROUNDED = {"m head": 1e-4, "Btu/h": 2e-7}
"""Relative differences of definition: water at 4 °C against 1000 kg/m³; the Btu of ISO 31-4 against the table unit."""
LINEAR = [(d.name, u) for d in DIMENSIONS.values() if d.name in BASE for u in d.units]


@pytest.mark.parametrize(("dimension", "unit"), LINEAR, ids=lambda x: x if isinstance(x, str) else x.words[0])
def test_every_factor_agrees_with_a_general_unit_library(dimension, unit):
    witness = WITNESS.Quantity(1, WITNESSES[unit.words[0]]).to(BASE[dimension]).magnitude
    assert float(unit.factor) == pytest.approx(witness, rel=ROUNDED.get(unit.words[0], 1e-9))


@pytest.mark.parametrize("fahrenheit", [-40, 32, 140, 212])
def test_temperatures_in_fahrenheit_agree_with_a_general_unit_library(fahrenheit):
    witness = WITNESS.Quantity(fahrenheit, "degF").to("degC").magnitude
    assert parse(f"{fahrenheit} °F", "temperature", "°C") == pytest.approx(witness, abs=1e-9)


@pytest.mark.parametrize("dimension", DIMENSIONS.values(), ids=lambda d: d.name)
def test_every_spelling_of_a_unit_is_read_in_any_letter_case_that_is_clear(dimension):
    for unit in dimension.units:
        for word in unit.words:
            value = parse(f"3 {word}", dimension.name, word)
            assert value == float(3 * unit.factor + unit.offset)
            if not unit.words[0].startswith("M"):
                assert parse(f"3{word.upper()}", dimension.name, word) == value


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "value"),
    [
        ("28 mm", "length", "mm", 0.028),
        ("28", "length", "mm", 0.028),
        ("28mm", "length", "m", 0.028),
        ("22.0", "length", "mm", 0.022),
        ("22,5 mm", "length", "mm", 0.0225),
        ("2 m", "length", "mm", 2),
        ("3/4 in", "length", "mm", 0.01905),
        ("3/4", "length", "in", 0.01905),
        ('¾"', "length", "mm", 0.01905),
        ("¾ in", "length", "mm", 0.01905),
        ("3⁄4 in", "length", "mm", 0.01905),
        ('1 1/2"', "length", "mm", 0.0381),
        ("1½ in", "length", "mm", 0.0381),
        ("1-1/2 in", "length", "mm", 0.0381),
        ("1 ½ ”", "length", "mm", 0.0381),
        ("DN20", "length", "mm", 0.020),
        ("dn 25", "length", "mm", 0.025),
        ("G 1/2", "length", "mm", 0.0127),
        ("G ¾", "length", "mm", 0.01905),
        ("R 1 1/4", "length", "mm", 0.03175),
        ("Rp 1", "length", "mm", 0.0254),
        ("２２ ㎜", "length", "mm", 0.022),
        ("22\u00a0mm", "length", "mm", 0.022),
        ("22\u202fmm", "length", "mm", 0.022),
        ("٢٢ mm", "length", "mm", 0.022),
        ("-1.5 m", "height", "m", -1.5),
        ("1 234,5", "number", "", 1234.5),
        ("1\u202f234,5", "number", "", 1234.5),
        ("1'234.5", "number", "", 1234.5),
        ("1,234.5", "number", "", 1234.5),
        ("1.234,5", "number", "", 1234.5),
        ("1234,5", "number", "", 1234.5),
        ("1,234,567", "number", "", 1234567),
        ("0,220", "number", "", 0.22),
        ("1.234", "number", "", 1.234),
        (".5", "number", "", 0.5),
        ("1e5", "number", "", 1e5),
        ("60 C", "temperature", "°C", 60),
        ("60 °C", "temperature", "°C", 60),
        ("60 ℃", "temperature", "°C", 60),
        ("60º C", "temperature", "°C", 60),
        ("60", "temperature", "°C", 60),
        ("−5 °C", "temperature", "°C", -5),
        ("140 °F", "temperature", "°C", 60),
        ("5 K", "temperature-difference", "K", 5),
        ("5 °C", "temperature-difference", "K", 5),
        ("9 °F", "temperature-difference", "K", 5),
        ("210L", "volume", "L", 0.21),
        ("210 l", "volume", "L", 0.21),
        ("210 litres", "volume", "L", 0.21),
        ("1.5 m³", "volume", "L", 1.5),
        ("1.5 m3", "volume", "L", 1.5),
        ("0.3 l/s", "flow", "l/min", 0.0003),
        ("12 l/min", "flow", "l/s", 0.0002),
        ("3.6 m³/h", "flow", "l/min", 0.001),
        ("3bar", "pressure", "kPa", 3e5),
        ("300 kPa", "pressure", "bar", 3e5),
        ("0.3 MPa", "pressure", "bar", 3e5),
        ("7kW", "power", "kW", 7000),
        ("7 KW", "power", "kW", 7000),
        ("7000 W", "power", "kW", 7000),
        ("30 %", "percent", "", 0.3),
        ("30", "percent", "", 0.3),
        ("1:200", "ratio", "", 0.005),
        ("1 in 200", "ratio", "", 0.005),
        ("3", "count", "", 3),
        ("90 °", "angle", "°", math.pi / 2),
    ],
)
def test_what_people_type_is_read(text, dimension, unit, value):
    assert parse(text, dimension, unit) == pytest.approx(value, rel=1e-12)


def test_common_sizes_are_the_nearest_number_to_the_decimal_typed():
    assert [parse(f"{n} mm", "length") for n in (15, 22, 28, 35, 42, 54)] == [0.015, 0.022, 0.028, 0.035, 0.042, 0.054]


@pytest.mark.parametrize(
    ("text", "dimension", "unit", "message", "cure"),
    [
        ("3 kW", "length", "mm", "'3 kW' is a power, not a length", "mm"),
        ("22 mm", "pressure", "bar", "is a length, not a pressure", "3 bar"),
        ("50 K", "temperature", "°C", "difference", "45 °C"),
        ("1,234", "length", "mm", "1234 or as 1.234", "write 1234 or 1.234"),
        ("1,234 L", "volume", "L", "1234 L or as 1.234 L", "1.234 L"),
        ("3/4", "length", "mm", "fraction of what", "3/4 in"),
        ("3 gal", "volume", "L", "gallons", "US gal"),
        ("5", "length", "", "no unit", "m"),
        ("2 mW", "power", "kW", "'mW' is no unit", "kW"),
        ("-3 bar", "pressure", "bar", "too low", "3 bar"),
        ("-300 °C", "temperature", "°C", "too low", "45 °C"),
        ("-1", "count", "", "too low", "3"),
        ("2.5", "count", "", "no whole number", "3"),
        ("1/0 in", "length", "mm", "divides by nothing", "mm"),
        ("1:0", "ratio", "", "too large", "0.8"),
        ("1e999", "number", "", "too large", "1.5"),
        ("5³", "volume", "L", "raised digit", "180 L"),
        ("20-25 mm", "length", "mm", "not one number", "28 mm"),
        ("20–25 mm", "length", "mm", "not one number", "28 mm"),
        ("1,2,3", "number", "", "too many commas", "22.5"),
        ("1.2.3,4", "number", "", "too many", "22.5"),
        ("nan", "length", "mm", "is no length", "28 mm"),
        ("inf", "number", "", "is no number", "1.5"),
        ("infinity", "power", "kW", "is no power", "7 kW"),
        ("", "length", "mm", "is no length", "28 mm"),
        ("about 20 mm", "length", "mm", "is no length", "28 mm"),
        ("22 mm mm", "length", "mm", "'mm mm'", "28 mm"),
        ("9" * 5000, "number", "", "5000 characters", "1.5"),
    ],
)
def test_what_cannot_be_meant_is_refused_with_a_cure(text, dimension, unit, message, cure):
    with pytest.raises(UnitError) as caught:
        parse(text, dimension, unit)
    assert message in caught.value.message
    assert cure in caught.value.cure


@given(st.text(max_size=40), st.sampled_from(sorted(DIMENSIONS)), st.sampled_from(["", "mm", "°C", "kW", "%"]))
def test_any_text_gives_a_finite_number_or_a_unit_error(text, dimension, unit):
    try:
        assert math.isfinite(parse(text, dimension, unit))
    except UnitError as e:
        assert e.message and e.cure


PRINTED = [(d.name, u.words[0]) for d in DIMENSIONS.values() for u in d.units]
PRINTED.remove(("temperature-difference", "°F"))  # printed "°F" is a temperature


@given(st.sampled_from(PRINTED), st.data())
def test_a_printed_quantity_is_read_back(pair, data):
    dimension, unit = pair
    wanted = DIMENSIONS[dimension]
    number = data.draw(st.integers(0, 10**6) if dimension == "count" else st.floats(1e-3, 1e6))
    found = next(u for u in wanted.units if unit in u.words)
    value = number * float(found.factor) + float(found.offset)
    assert parse(show(value, unit, 12), dimension, unit) == pytest.approx(value, rel=1e-9, abs=1e-9)


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.028, "mm", "28 mm"),
        (0.0225, "mm", "22.5 mm"),
        (0.01905, "in", "3/4 in"),
        (0.0381, '"', '1 1/2"'),
        (0.0254, "in", "1 in"),
        (60, "°C", "60 °C"),
        (60, "°F", "140 °F"),
        (5, "K", "5 K"),
        (7000, "kW", "7 kW"),
        (0.0002, "l/min", "12 l/min"),
        (0.0002, "L/min", "12 L/min"),
        (3e5, "bar", "3 bar"),
        (0.3, "%", "30 %"),
        (0.8, "", "0.8"),
        (0, "kW", "0 kW"),
        (-4.96, "°C", "-4.96 °C"),
        (123456.7, "", "123457"),
    ],
)
def test_quantities_are_printed_as_the_trade_writes_them(value, unit, text):
    assert show(value, unit) == text


@pytest.mark.parametrize(
    ("value", "unit", "text"),
    [
        (0.00033784, "L/min", "20.3 L/min"),
        (0.00000123456, "L/h", "4.44 L/h"),
        (0.18599, "L", "186 L"),
        (1.23456, "L", "1230 L"),
        (123456, "bar", "1.23 bar"),
        (45.238, "°C", "45.2 °C"),
        (0, "K", "0 K"),
        (830.4, "kW", "830 W"),
        (999.7, "W", "1 kW"),
        (8000, "W", "8 kW"),
        (17363, "W", "17.4 kW"),
    ],
)
def test_calculated_quantities_have_three_figures_and_power_one_unit_by_its_size(value, unit, text):
    assert quantity(value, unit) == text


def test_figures_are_rounded_without_trailing_zeros():
    shown = [figures(x, 3) for x in (0.028, 1.2345, 99.96, -0.00001234, 100)]
    assert shown == ["0.028", "1.23", "100", "-0.0000123", "100"]


def test_a_comma_before_three_digits_is_told_as_unclear():
    assert unclear_comma("1,234 mm") and unclear_comma("12,345")
    assert not any(map(unclear_comma, ("0,234", "1,23", "1,234.5", "1,2345", "1.234", "1,234,567")))
