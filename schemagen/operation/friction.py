"""Friction factor of straight pipe, with its slope: one rule for the network solve and for the sizes."""

import numpy as np

from schemagen.base.bad_input import BadInput

LAMINAR_BELOW = 2000.0
TURBULENT_ABOVE = 4000.0
_LN10 = np.log(10.0)


def friction_factor(reynolds, relative_roughness):
    """Darcy friction factor [-] for Reynolds number [-] and roughness over bore [-]; numbers or arrays.

    64/Re below 2000, Colebrook above 4000, and a straight line in Re between 0.032 and the turbulent value at 4000:
    pipe in that gap has no single answer, and the line keeps the loss rising with the flow. Re 0 gives 0.
    Raises BadInput for a relative roughness outside 0…0.05 or Re above 1e8.
    Source: Darcy-Weisbach with Hagen-Poiseuille and Colebrook-White, as in fluid mechanics textbooks; the straight
    line: common practice, no source.
    """
    factor, _ = factor_and_slope(reynolds, relative_roughness)
    return factor


def factor_and_slope(reynolds, relative_roughness):
    """Friction factor [-] and its derivative by the Reynolds number [-]; see `friction_factor`."""
    re = np.asarray(reynolds, dtype=float)
    rough = np.asarray(relative_roughness, dtype=float)
    if not np.all((rough >= 0) & (rough <= 0.05)):
        raise BadInput("roughness", "over bore must lie within 0 and 0.05", "give roughness and bore in the same unit")
    if not np.all((re >= 0) & (re <= 1e8)):
        raise BadInput("Reynolds number", "must lie within 0 and 1e8", "look at flow and bore")
    laminar = re <= LAMINAR_BELOW
    turbulent = re >= TURBULENT_ABOVE
    safe = np.maximum(re, 1e-100)
    at_end = _colebrook(np.full_like(re, TURBULENT_ABOVE), rough)[0]
    rise = (at_end - 64 / LAMINAR_BELOW) / (TURBULENT_ABOVE - LAMINAR_BELOW)
    full, full_slope = _colebrook(np.where(turbulent, re, TURBULENT_ABOVE), rough)
    factor = np.where(laminar, 64 / safe, np.where(turbulent, full, 64 / LAMINAR_BELOW + rise * (re - LAMINAR_BELOW)))
    slope = np.where(laminar, -64 / safe**2, np.where(turbulent, full_slope, rise))
    still = re == 0
    return np.where(still, 0.0, factor)[()], np.where(still, 0.0, slope)[()]


def _colebrook(re, rough):
    """Colebrook by Newton on x = 1/sqrt(f), from Haaland's explicit estimate; five steps reach rounding."""
    x = -1.8 * np.log10((rough / 3.7) ** 1.11 + 6.9 / re)
    per_x = 2.51 / re
    for _ in range(5):
        inside = rough / 3.7 + per_x * x
        steep = 1 + 2 * per_x / (_LN10 * inside)
        x = x - (x + 2 * np.log10(inside)) / steep
    inside = rough / 3.7 + per_x * x
    steep = 1 + 2 * per_x / (_LN10 * inside)
    x_slope = 2 / _LN10 * per_x * x / re / inside / steep
    return x**-2.0, -2 * x**-3.0 * x_slope
