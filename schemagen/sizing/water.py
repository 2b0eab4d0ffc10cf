"""Liquid water from 0 to 110 °C: density, specific heat, viscosity; the steam figures of a relief valve."""

import math
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput

SOURCE = (
    "IAPWS-95 density and specific heat as polynomials (within 0.002 % and 0.02 %); "
    "viscosity of liquid water at 0.1 MPa after IAPWS SR6-08"
)
GRAVITY_MS2 = 9.80665

_DENSITY = (999.90962, 0.06025677, -8.2675379e-3, 6.3143309e-5, -3.8286472e-7, 1.0286361e-9)
_HEAT = (4218.33495, -3.16067426, 0.0951040980, -1.39126817e-3, 1.07289825e-5, -3.19754158e-8)
_VISCOSITY = ((280.68, -1.9), (511.45, -7.7), (61.131, -19.6), (0.45903, -40.0))
_EVAPORATION = (2257.3804368726655, -72.80089866142242, -11.072321519206882, 0.3345779101885063, -0.7305393917734333)
_STEAM_VOLUME = (0.5270062557, -0.9346531183, -0.0013011467649, 0.00057419667845, -0.0004635818540)


@dataclass(frozen=True, slots=True)
class Fluid:
    """A liquid at one temperature: density [kg/m³], specific heat [J/(kg·K)], dynamic viscosity [Pa·s]."""

    density_kgm3: float
    specific_heat_jkgk: float
    viscosity_pas: float
    name: str = "water"
    temperature_c: float | None = None
    flags: tuple[str, ...] = ()
    source: str = SOURCE

    @property
    def heat_per_volume(self) -> float:
        """Density times specific heat [J/(m³·K)]."""
        return self.density_kgm3 * self.specific_heat_jkgk


def water(temperature_c: float) -> Fluid:
    """Liquid water at 0…110 °C and 1 to 10 bar; above 100 °C it is flagged.

    Raises BadInput outside that range. Source: see SOURCE.
    """
    _check(temperature_c)
    flags = ("water above 100 °C: look at the pressure",) if temperature_c > 100 else ()
    x = (temperature_c + 273.15) / 300
    viscosity = 1e-6 * sum(a * x**b for a, b in _VISCOSITY)
    heat = polynomial(_HEAT, temperature_c)
    return Fluid(water_density_kgm3(temperature_c), heat, viscosity, "water", temperature_c, flags)


def water_density_kgm3(temperature_c: float) -> float:
    """Density of water [kg/m³] at 0…110 °C. Raises BadInput outside that range. Source: see SOURCE."""
    _check(temperature_c)
    return polynomial(_DENSITY, temperature_c)


def water_expansion_per_k(temperature_c: float) -> float:
    """How fast the volume of water grows [1/K] at 0…110 °C: the slope of the density over the density."""
    _check(temperature_c)
    slope = polynomial(tuple(i * a for i, a in enumerate(_DENSITY) if i), temperature_c)
    return -slope / polynomial(_DENSITY, temperature_c)


def evaporation_heat_j_per_kg(absolute_pa: float) -> float:
    """Heat that turns water at its boiling point to steam [J/kg], 1…17 bar absolute.

    Raises BadInput outside that range. Source: IAPWS-95, polynomial in the logarithm of pressure, within 0.005 %.
    """
    return 1e3 * polynomial(_EVAPORATION, _log_bar(absolute_pa))


def steam_volume_m3_per_kg(absolute_pa: float) -> float:
    """Volume of saturated steam [m³/kg], 1…17 bar absolute.

    Raises BadInput outside that range. Source: IAPWS-95, polynomial in the logarithm of pressure, within 0.005 %.
    """
    return math.exp(polynomial(_STEAM_VOLUME, _log_bar(absolute_pa)))


def polynomial(coefficients: tuple[float, ...], x: float) -> float:
    """a0 + a1·x + a2·x² + …"""
    value = 0.0
    for a in reversed(coefficients):
        value = value * x + a
    return value


def _log_bar(absolute_pa: float) -> float:
    if not 1e5 <= absolute_pa <= 17e5:
        raise BadInput("pressure", f"must lie within 1 and 17 bar absolute, not {absolute_pa / 1e5:g}")
    return math.log(absolute_pa / 1e5)


def _check(temperature_c: float) -> None:
    if not 0 <= temperature_c <= 110:
        problem = f"must lie within 0 and 110 °C for water, not {temperature_c:g} °C"
        raise BadInput("temperature", problem, "use antifreeze below 0 °C" if temperature_c < 0 else "")
