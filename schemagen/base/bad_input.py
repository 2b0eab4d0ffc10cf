"""Input that a calculation must refuse: which part, which field, what is wrong, what to write instead."""

import math
from collections.abc import Iterator
from contextlib import contextmanager


class BadInput(ValueError):
    """A value that no calculation can use. `component` is empty until the caller names it with `about`."""

    def __init__(self, field: str, problem: str, cure: str = "", component: str = "") -> None:
        self.field, self.problem, self.cure, self.component = field, problem, cure, component
        start = f"{component}: " if component else ""
        super().__init__(f"{start}{field} {problem}" + (f"; {cure}" if cure else ""))


@contextmanager
def about(component: str) -> Iterator[None]:
    """Name the component in every BadInput raised inside that does not name one yet."""
    try:
        yield
    except BadInput as bad:
        if bad.component:
            raise
        raise BadInput(bad.field, bad.problem, bad.cure, component) from None


def above_zero(**fields: float) -> None:
    """Raises BadInput for the first field that is not a finite number above zero."""
    for name, value in fields.items():
        if not (math.isfinite(value) and value > 0):
            raise BadInput(words(name), f"must be above zero, not {value:g}")


def not_negative(**fields: float) -> None:
    """Raises BadInput for the first field that is not a finite number of zero or more."""
    for name, value in fields.items():
        if not (math.isfinite(value) and value >= 0):
            raise BadInput(words(name), f"must not be negative, not {value:g}")


def within(low: float, high: float, **fields: float) -> None:
    """Raises BadInput for the first field outside low…high."""
    for name, value in fields.items():
        if not low <= value <= high:
            raise BadInput(words(name), f"must lie within {low:g} and {high:g}, not {value:g}")


def hotter(hot: str, hot_c: float, cold: str, cold_c: float) -> None:
    """Raises BadInput unless the temperature called `hot` lies above the one called `cold` [°C]."""
    if not hot_c > cold_c:
        raise BadInput(hot, f"of {hot_c:g} °C must lie above the {cold} of {cold_c:g} °C")


UNITS = {
    "w": "W", "k": "K", "c": "°C", "m": "m", "m2": "m²", "m3": "m³", "m3s": "m³/s", "kgs": "kg/s", "pa": "Pa",
    "s": "s", "j": "J", "ms": "m/s", "pam": "Pa/m", "wk": "W/K", "wm": "W/m", "wm2": "W/m²", "wmk": "W/(m·K)",
    "wm2k": "W/(m²·K)", "m3h": "m³/h", "kgm3": "kg/m³", "jkgk": "J/(kg·K)", "pas": "Pa·s", "wh": "Wh",
}  # fmt: skip
"""The unit that the last piece of a parameter's name stands for."""


def words(parameter: str) -> str:
    """The words of a parameter's name, without its unit: "flow_temperature_c" is "flow temperature"."""
    *front, last = parameter.split("_")
    return " ".join([*front, last] if last not in UNITS or not front else front)


def unit_of(parameter: str) -> str:
    """The unit that a parameter's name carries, or ""."""
    *front, last = parameter.split("_")
    return UNITS.get(last, "") if front else ""
