"""Water with antifreeze: propylene and ethylene glycol by volume share, and the liquid of a circuit."""

import math
from dataclasses import dataclass, replace

from schemagen.base.bad_input import BadInput, not_negative, within
from schemagen.base.units import quantity
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid, polynomial, water, water_density_kgm3

SOURCE = (
    "ASHRAE Handbook Fundamentals, secondary coolants, as polynomials in volume share and temperature "
    "(within 0.01 % of the tabulated equation)"
)
PROPYLENE, ETHYLENE = "propylene", "ethylene"

LEAST_SHARE = 0.20
"""Volume share below which inhibitors are usually too thin: common practice, no source."""

_FITTED_FROM = 0.10
_MIDDLE = 0.35


@dataclass(frozen=True, slots=True)
class _Mixture:
    """Polynomials in z = share − 0.35 (rows) and u = temperature/100 °C (columns)."""

    density: tuple[tuple[float, ...], ...]
    heat: tuple[tuple[float, ...], ...]
    log_viscosity: tuple[tuple[float, ...], ...]
    freezing: tuple[float, ...]


_MIXTURES = {
    PROPYLENE: _Mixture(
        density=(
            (1040.854, -36.82221, -25.65652, -0.005177362),
            (88.78946, -49.45257, -1.71301, 0.009673215),
            (-69.79721, 10.04123, 11.33046, 0.3368862),
            (37.44738, -7.88444, -2.07517),
            (-16.76302, 2.877433),
            (-213.9879,),
        ),
        heat=(
            (3717.114, 302.1678, 0.8367091, -0.4309483),
            (-1572.581, 556.0245, 0.3985935, -1.33518),
            (-1122.709, 22.52912, -68.42599, 35.38903),
            (-425.1868, -17.25843, 107.9472),
            (-170.0124, -226.2081),
            (4054.145,),
        ),
        log_viscosity=(
            (-4.655501, -5.27044, 3.618886, -1.155771),
            (5.235729, -6.518256, 4.716012, -1.216539),
            (-5.319489, 12.57478, -8.268919, 3.230125),
            (-7.613566, 5.792781, -6.572286),
            (72.54107, -112.3741),
            (53.50879,),
        ),
        freezing=(-16.91048, -83.59468, -157.9708, -172.5622, -118.1, -226.4694),
    ),
    ETHYLENE: _Mixture(
        density=(
            (1059.409, -29.2392, -24.32333, -0.00372545),
            (150.1458, -29.54927, -1.227103, 1.044784),
            (-46.94193, -7.364494, 7.389738, -4.391164),
            (69.65716, 8.333077, -8.979712),
            (54.67421, -6.817576),
            (-693.3962,),
        ),
        heat=(
            (3495.856, 310.0094, -0.6480659, 0.3171299),
            (-1875.097, 515.2934, 6.035628, -2.457345),
            (-421.323, -72.07613, -4.670601, 14.19543),
            (-584.2908, 114.3377, -53.59818),
            (-694.1654, -66.89394),
            (7905.301,),
        ),
        log_viscosity=(
            (-5.304496, -3.974584, 3.047015, -1.315418),
            (3.639428, -3.256766, 3.410469, -1.745316),
            (0.297294, 5.07354, -13.73846, 9.973464),
            (-17.50317, -4.712139, -2.4771),
            (-4.492494, -26.51482),
            (252.8586,),
        ),
        freezing=(-19.88052, -90.54423, -148.217, -169.2972, 340.5839, 1107.281),
    ),
}


@dataclass(frozen=True, slots=True)
class Liquid:
    """What fills a circuit: water, or water with a volume `share` (0…0.6) of propylene or ethylene `glycol`."""

    glycol: str = ""
    share: float = 0.0

    def at(self, temperature_c: float) -> Fluid:
        """Its properties at a temperature. Raises BadInput where it is frozen or no data are known."""
        return mixture(self.glycol, self.share, temperature_c) if self.glycol and self.share else water(temperature_c)

    def density_kgm3(self, temperature_c: float) -> float:
        return self.at(temperature_c).density_kgm3 if self.glycol else water_density_kgm3(temperature_c)

    @property
    def name(self) -> str:
        return f"water with {self.share * 100:g} % {self.glycol} glycol" if self.glycol and self.share else "water"


def mixture(glycol: str, share: float, temperature_c: float) -> Fluid:
    """Water with a volume `share` of "propylene" or "ethylene" glycol, from freezing (but not below −35 °C) to 100 °C.

    Below 10 % the values lie on a straight line between water and 10 %.
    Raises BadInput for an unknown glycol, a share outside 0…0.6, a frozen or too hot mixture. Source: see SOURCE.
    """
    data = _data(glycol, share)
    freezes = freezing_point_c(glycol, share)
    lowest = max(freezes, -35.0) if share >= _FITTED_FROM else 0.0
    if not lowest <= temperature_c <= 100:
        range_ = f"within {quantity(lowest, '°C')} and 100 °C for {quantity(share, '%')} {glycol} glycol"
        problem = f"must lie {range_}, not {quantity(temperature_c, '°C')}"
        raise BadInput("temperature", problem, "the mixture freezes" if temperature_c < freezes else "")
    flags = []
    if 0 < share < LEAST_SHARE:
        flags.append(f"{share * 100:g} % glycol: below the usual least share of 20 %, its inhibitor may be too thin")
    if temperature_c < freezes + 3:
        near = f"less than 3 K above the freezing point of {quantity(freezes, '°C')}"
        flags.append(f"{quantity(temperature_c, '°C')} is {near}")
    z, u = max(share, _FITTED_FROM) - _MIDDLE, temperature_c / 100
    fluid = Fluid(
        _surface(data.density, z, u),
        _surface(data.heat, z, u),
        math.exp(_surface(data.log_viscosity, z, u)),
        Liquid(glycol, share).name,
        temperature_c,
        tuple(flags),
        SOURCE,
    )
    return fluid if share >= _FITTED_FROM else _thinned(fluid, water(temperature_c), share / _FITTED_FROM)


def freezing_point_c(glycol: str, share: float) -> float:
    """Where ice begins to form [°C], within 0.5 K. Raises BadInput as `mixture` does. Source: see SOURCE."""
    data = _data(glycol, share)
    at = polynomial(data.freezing, max(share, _FITTED_FROM) - _MIDDLE)
    return at if share >= _FITTED_FROM else at * share / _FITTED_FROM


def check_potable(liquid: Liquid) -> None:
    """Raises BadInput if there is antifreeze in a liquid that people drink."""
    if liquid.glycol and liquid.share > 0:
        raise BadInput(
            "antifreeze", "must not be in a drinking-water circuit", "take it out of the list of that circuit"
        )


@calculation("antifreeze concentrate", "m³", "volume share times content", shown_in="L")
def concentrate_to_add(content_m3: float, share: float) -> Figure:
    """Volume of glycol concentrate [m³] for a system content [m³] and a volume share [-]."""
    not_negative(content_m3=content_m3)
    within(0, 0.6, share=share)
    return worked(share * content_m3, "{x}·{V}", x=share, V=(content_m3, "m³"))


def _data(glycol: str, share: float) -> _Mixture:
    if glycol not in _MIXTURES:
        raise BadInput("antifreeze", f"{glycol!r} is not known", f"write {' or '.join(_MIXTURES)}")
    within(0, 0.6, share=share)
    return _MIXTURES[glycol]


def _surface(rows: tuple[tuple[float, ...], ...], z: float, u: float) -> float:
    return polynomial(tuple(polynomial(row, u) for row in rows), z)


def _thinned(fluid: Fluid, pure: Fluid, part: float) -> Fluid:
    def between(a: float, b: float) -> float:
        return a + part * (b - a)

    return replace(
        fluid,
        density_kgm3=between(pure.density_kgm3, fluid.density_kgm3),
        specific_heat_jkgk=between(pure.specific_heat_jkgk, fluid.specific_heat_jkgk),
        viscosity_pas=math.exp(between(math.log(pure.viscosity_pas), math.log(fluid.viscosity_pas))),
    )
