"""A figure: one calculated value with all that a reader needs to check it by hand."""

import functools
import inspect
import math
import re
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace

from schemagen.base.bad_input import BadInput, unit_of, words
from schemagen.base.units import read

SHOWN_AS = {
    "m³/s": {"L/s": 1e3, "L/min": 6e4, "m³/h": 3600.0, "L/h": 3.6e6},
    "m³": {"L": 1e3},
    "m³/m": {"L/m": 1e3},
    "m³/J": {"L/h per kW": 3.6e9},
    "Pa": {"kPa": 1e-3, "bar": 1e-5},
    "W": {"kW": 1e-3},
    "J": {"kWh": 1 / 3.6e6},
    "s": {"min": 1 / 60, "h": 1 / 3600},
    "m": {"mm": 1e3},
    "m²": {"mm²": 1e6},
    "kg/s": {"kg/h": 3600.0},
    "1/s": {"per hour": 3600.0},
    "-": {"%": 1e2},
}
"""What an SI value is multiplied by to be shown in a unit of the trade."""


@dataclass(frozen=True, slots=True)
class Given:
    """One number that went into a figure: its symbol in the formula, value and SI unit."""

    symbol: str
    value: float
    unit: str


@dataclass(frozen=True, slots=True)
class Figure:
    """One calculated value in SI.

    `value` is None if a needed input is missing; `needs` then names it. `shown_in` is the unit a practitioner reads.
    `assumptions` are the defaults that were used, `flags` are warnings, `notes` plain remarks. `formula` is the formula
    with its symbols and `working` the same with the numbers put in.
    """

    name: str
    value: float | None
    unit: str
    shown_in: str = ""
    formula: str = ""
    working: str = ""
    inputs: tuple[Given, ...] = ()
    assumptions: tuple[str, ...] = ()
    flags: tuple[str, ...] = ()
    notes: tuple[str, ...] = ()
    source: str = ""
    needs: tuple[str, ...] = ()

    def __float__(self) -> float:
        """The value in SI. Raises BadInput if the figure is not available."""
        if self.value is None:
            raise BadInput(self.name, f"is not available; it needs {', '.join(self.needs)}")
        return self.value

    def shown(self, unit: str = "") -> float:
        """The value in `unit`, or in the unit that a practitioner reads. Raises BadInput as float() does."""
        unit = unit or self.read_in or self.unit
        return float(self) * (1.0 if unit == self.unit else SHOWN_AS[self.unit][unit])

    @property
    def read_in(self) -> str:
        """The unit that a practitioner reads, "" for a ratio; `reading` may change W into kW or back."""
        return (self.shown_in or self.unit).strip("-")

    @property
    def reading(self) -> tuple[str, str]:
        """The number and the unit that a practitioner reads, "" for a ratio. Raises BadInput as float() does."""
        return read(self.shown(), self.read_in)

    @property
    def text(self) -> str:
        """The value with its unit: "20.3 L/min"; else "not available, needs …"."""
        if self.value is None:
            return f"not available, needs {', '.join(self.needs)}"
        return " ".join(filter(None, self.reading))

    @property
    def why(self) -> str:
        """The formula, the formula with the numbers put in, and the result."""
        if self.value is None:
            return self.text
        result = with_unit(self.value, self.unit)
        pieces = [piece for piece in (self.formula, self.working) if piece]
        if self.reading[1] != self.unit.strip("-"):
            pieces.append(result)
        return " = ".join(dict.fromkeys([*pieces, self.text]))


def number(value: float, digits: int = 4) -> str:
    """A number of a working, exact enough to check the figure by hand: "0.2894", "17360", "3.38e-04"."""
    if value == 0 or not math.isfinite(value):
        return f"{value:g}"
    size = math.floor(math.log10(abs(value)))
    if -4 < size < 7:
        text = f"{value:.{max(digits - 1 - size, 0)}f}"
        return text.rstrip("0").rstrip(".") if "." in text else text
    return f"{value:.{digits - 1}e}"


def with_unit(value: float, unit: str) -> str:
    return number(value) if unit in ("", "-") else f"{number(value)} {unit}"


def worked(
    value: float, formula: str, flags: tuple[str, ...] = (), notes: tuple[str, ...] = (), **terms: float
) -> Figure:
    """The body of a calculation: its value, and its formula with a field {symbol} for each of `terms`.

    A term is a number, or a pair of number and unit.
    """
    pairs = {symbol: term if isinstance(term, tuple) else (term, "") for symbol, term in terms.items()}
    symbols = {symbol: symbol.rstrip("_") for symbol in pairs}
    numbers = {symbol: _bracketed(v) for symbol, (v, _) in pairs.items()}
    return Figure(
        "",
        float(value),
        "",
        formula=_filled(formula, symbols),
        working=_filled(formula, numbers),
        inputs=tuple(Given(symbols[symbol], v, u) for symbol, (v, u) in pairs.items()),
        flags=tuple(flags),
        notes=tuple(notes),
    )


def _filled(formula: str, texts: Mapping[str, str]) -> str:
    return re.sub(r"\{(\w+)\}", lambda m: texts[m[1]], formula)


def _bracketed(value: float) -> str:
    return f"({number(value, 6)})" if value < 0 else number(value, 6)


def calculation(
    name: str, unit: str, source: str, shown_in: str = "", assumes: Mapping[str, str] | None = None
) -> Callable[[Callable[..., Figure]], Callable[..., Figure]]:
    """Make a function that works out a Figure with `worked` into a calculation.

    A required argument given as None makes a figure that is not available and names what it needs; a number that is
    not finite raises BadInput. `assumes` says in words what is assumed for an argument that the caller leaves out.
    The function's `about` is its figure without a value.
    """

    def wrap(body: Callable[..., Figure]) -> Callable[..., Figure]:
        signature = inspect.signature(body)
        required = {n for n, p in signature.parameters.items() if p.default is p.empty}

        @functools.wraps(body)
        def calculated(*args, **kwargs) -> Figure:
            bound = signature.bind(*args, **kwargs)
            needs = tuple(words(n) for n, v in bound.arguments.items() if v is None and n in required)
            if needs:
                return replace(calculated.about, needs=needs)
            for field, value in bound.arguments.items():
                _check_finite(field, value)
            taken = tuple(text for n, text in (assumes or {}).items() if n not in bound.arguments)
            figure = body(*args, **kwargs)
            return replace(figure, name=name, unit=unit, shown_in=shown_in, source=source, assumptions=taken)

        calculated.about = Figure(name, None, unit, shown_in, source=source)
        return calculated

    return wrap


def _check_finite(field: str, value: object) -> None:
    values = value if isinstance(value, list | tuple) else (value,)
    for v in values:
        if isinstance(v, float) and not math.isfinite(v):
            unit = unit_of(field)
            raise BadInput(words(field), f"must be a finite number{f' in {unit}' if unit else ''}, not {v:g}")
