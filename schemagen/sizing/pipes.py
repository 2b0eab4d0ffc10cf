"""Real pipe: bores and contents, velocity, loss per metre, and what is usual."""

import difflib
import math
import re
from dataclasses import dataclass

from schemagen.base.bad_input import BadInput, above_zero, not_negative
from schemagen.base.units import quantity, read
from schemagen.sizing.figure import Figure, calculation, worked
from schemagen.sizing.water import Fluid

COPPER, PEX, MULTILAYER, STEEL, PLASTIC = "copper", "pe-x", "multilayer", "steel", "plastic"

_MEMORY = "nominal sizes from memory"
_SERIES: dict[str, tuple[str, float, tuple[tuple[float, float], ...]]] = {
    # material: source, roughness in mm, (outside, wall) in mm; of one outside diameter the first is the usual wall
    COPPER: (
        "EN 1057, half-hard walls first", 0.0015,
        ((8, 0.6), (10, 0.6), (12, 0.6), (15, 0.7), (18, 1.0), (22, 0.9), (28, 0.9), (35, 1.2), (42, 1.2), (54, 1.2),
         (15, 1.0), (22, 1.0), (28, 1.0), (28, 1.5), (35, 1.5), (42, 1.5), (54, 2.0)),
    ),
    PEX: (
        f"ISO 4065 wall series, {_MEMORY}", 0.007,
        ((16, 2.0), (16, 1.8), (16, 2.2), (20, 2.0), (20, 1.9), (20, 2.8), (25, 2.3), (25, 3.5), (32, 2.9), (32, 4.4),
         (40, 3.7)),
    ),
    MULTILAYER: (
        f"EN ISO 21003, walls vary, {_MEMORY}", 0.007,
        ((16, 2.0), (20, 2.0), (20, 2.25), (25, 2.5), (26, 3.0), (32, 3.0), (40, 3.5), (50, 4.0), (63, 4.5)),
    ),
    STEEL: (
        "EN 10255 medium", 0.045,
        ((17.2, 2.3), (21.3, 2.6), (26.9, 2.6), (33.7, 3.2), (42.4, 3.2), (48.3, 3.2), (60.3, 3.6)),
    ),
    PLASTIC: (
        "BS 7291 tube on copper diameters, bores from memory", 0.007,
        ((10, 1.5), (15, 1.65), (22, 2.15), (28, 2.75)),
    ),
}  # fmt: skip
_STEEL_NAMES = {
    "DN10": ("3/8", 17.2), "DN15": ("1/2", 21.3), "DN20": ("3/4", 26.9), "DN25": ("1", 33.7),
    "DN32": ("1 1/4", 42.4), "DN40": ("1 1/2", 48.3), "DN50": ("2", 60.3),
}  # fmt: skip

MATERIALS = tuple(_SERIES)


@dataclass(frozen=True, slots=True)
class PipeSize:
    """One size of real pipe; `name` as it is written: "28×0.9", "DN25". Lengths in metres."""

    material: str
    name: str
    outside_m: float
    bore_m: float
    roughness_m: float
    source: str
    flags: tuple[str, ...] = ()

    @property
    def content_m3_per_m(self) -> float:
        """Water in one metre [m³/m]."""
        return math.pi / 4 * self.bore_m**2


def pipe_sizes(material: str) -> tuple[PipeSize, ...]:
    """All sizes of a material. Raises BadInput with the nearest name if the material is not known."""
    if material not in _SERIES:
        raise BadInput("pipe material", f"{material!r} is not known", _nearest(material, MATERIALS))
    source, roughness, walls = _SERIES[material]
    flags = ("bore differs between makers: give the bore if you know it",) if material == PLASTIC else ()
    names = {outside: dn for dn, (_, outside) in _STEEL_NAMES.items()} if material == STEEL else {}
    return tuple(
        PipeSize(
            material,
            names.get(outside, f"{outside:g}×{wall}"),
            outside / 1e3,
            bore_from_wall(outside / 1e3, wall / 1e3),
            roughness / 1e3,
            source,
            flags,
        )
        for outside, wall in walls
    )


def find_pipe(size: str, material: str | None) -> PipeSize:
    """The pipe called `size`: "22", "22 mm", "22×0.9", for steel "DN20" or "3/4". The usual wall if none is given.

    Raises BadInput if the material is missing (22 mm of copper and of plastic differ by 2.5 mm of bore) or if there is
    no such size, naming the nearest.
    """
    if not material:
        raise BadInput("pipe size", f"{size!r} needs a material", f"write one of {', '.join(MATERIALS)}")
    sizes = pipe_sizes(material)
    text = re.sub(r"\s*(mm|inch|in|\")$", "", size.strip()).replace("x", "×").replace(" × ", "×").replace(",", ".")
    wanted = {text, text.upper().replace(" ", "")}
    if material == STEEL:
        wanted |= {dn for dn, (inches, _) in _STEEL_NAMES.items() if inches == text}
    for pipe in sizes:
        if pipe.name in wanted or f"{pipe.outside_m * 1e3:g}" in wanted:
            return pipe
    raise BadInput("pipe size", f"{size!r} is not a size of {material}", _nearest(text, [p.name for p in sizes]))


def bore_from_wall(outside_m: float, wall_m: float) -> float:
    """Bore [m] of a tube from outside diameter and wall [m]. Raises BadInput if the wall leaves no bore."""
    above_zero(outside_m=outside_m, wall_m=wall_m)
    if wall_m >= outside_m / 2:
        raise BadInput("wall", f"of {wall_m * 1e3:g} mm leaves no bore in a tube of {outside_m * 1e3:g} mm")
    return outside_m - 2 * wall_m


@calculation("water content of pipe", "m³", "geometry", shown_in="L")
def pipe_content(length_m: float, bore_m: float) -> Figure:
    """Water [m³] in a length [m] of pipe of a bore [m]."""
    not_negative(length_m=length_m)
    above_zero(bore_m=bore_m)
    return worked(math.pi / 4 * bore_m**2 * length_m, "π/4·{d}²·{L}", d=(bore_m, "m"), L=(length_m, "m"))


@calculation("velocity", "m/s", "continuity")
def velocity(flow_m3s: float, bore_m: float) -> Figure:
    """Mean velocity [m/s] of a flow [m³/s] in a bore [m]; no flow gives 0."""
    not_negative(flow_m3s=flow_m3s)
    above_zero(bore_m=bore_m)
    return worked(flow_m3s / (math.pi / 4 * bore_m**2), "{q}/(π/4·{d}²)", q=(flow_m3s, "m³/s"), d=(bore_m, "m"))


@calculation("Reynolds number", "-", "definition")
def reynolds(flow_m3s: float, bore_m: float, fluid: Fluid) -> Figure:
    """Reynolds number [-] of a flow [m³/s] in a bore [m]; no flow gives 0."""
    v = float(velocity(flow_m3s, bore_m))
    return worked(
        fluid.density_kgm3 * v * bore_m / fluid.viscosity_pas, "{ρ}·{v}·{d}/{μ}", fluid.flags,
        ρ=(fluid.density_kgm3, "kg/m³"), v=(v, "m/s"), d=(bore_m, "m"), μ=(fluid.viscosity_pas, "Pa·s"),
    )  # fmt: skip


@calculation("pressure loss per metre", "Pa/m", "Darcy-Weisbach with Colebrook-White")
def loss_per_metre(flow_m3s: float, bore_m: float, roughness_m: float, fluid: Fluid) -> Figure:
    """Loss [Pa/m] of a flow [m³/s] in straight pipe; bore and roughness in metres. No flow gives 0.

    Flagged between Reynolds 2000 and 4000. Raises BadInput for a roughness above a twentieth of the bore and for a
    Reynolds number above 1e8. The friction comes with a numerical library, loaded when it is first asked for.
    """
    from schemagen.operation.friction import LAMINAR_BELOW, TURBULENT_ABOVE, friction_factor

    not_negative(roughness_m=roughness_m)
    v, re = float(velocity(flow_m3s, bore_m)), float(reynolds(flow_m3s, bore_m, fluid))
    f = float(friction_factor(re, roughness_m / bore_m))
    flags = fluid.flags
    if LAMINAR_BELOW < re < TURBULENT_ABOVE:
        flags += ("flow between laminar and turbulent: loss uncertain by up to 50 %",)
    return worked(
        f * fluid.density_kgm3 * v * v / (2 * bore_m), "{f}·{ρ}·{v}²/(2·{d})", flags,
        f=f, ρ=(fluid.density_kgm3, "kg/m³"), v=(v, "m/s"), d=(bore_m, "m"), Re=re, k=(roughness_m, "m"),
    )  # fmt: skip


@dataclass(frozen=True, slots=True)
class Limits:
    """What is usual for one duty; None where nothing is said. Flags, not laws."""

    most_ms: float | None
    most_pam: float | None
    least_ms: float | None
    source: str


_GUIDE = "CIBSE Guide B (1986), Table B1.13, as quoted in a teaching note"
_LIMITS = {
    "heating": Limits(1.0, 300, 0.3, f"{_GUIDE}; least velocity common practice, no source"),
    "heating plant room": Limits(1.5, 300, 0.3, f"{_GUIDE}; least velocity common practice, no source"),
    "service": Limits(3.0, None, None, "BS 6700, as quoted in a textbook"),
    "hot service copper": Limits(1.5, None, None, "an engineering handbook, copper up to 60 °C"),
    "circulation": Limits(1.0, None, None, "common practice, no source"),
    "underfloor": Limits(0.6, None, None, "common practice, no source"),
}
UNDERFLOOR_LOOP_MOST_PA = 25e3
"""Common practice, no source."""


def limits(duty: str, bore_m: float = 0.0) -> Limits:
    """The usual limits of a duty; heating of 50 mm and more counts as plant room. Raises BadInput for another word."""
    if duty not in _LIMITS:
        raise BadInput("duty of pipe", f"{duty!r} is not known", _nearest(duty, list(_LIMITS)))
    return _LIMITS["heating plant room" if duty == "heating" and bore_m >= 0.050 else duty]


def limit_flags(velocity_ms: float, loss_pam: float, limit: Limits) -> tuple[str, ...]:
    """What is beyond the usual, in words; water at rest is beyond nothing."""
    flags, speed = [], quantity(velocity_ms, "m/s")
    if limit.most_ms is not None and velocity_ms > limit.most_ms:
        flags.append(f"velocity {speed} is above {limit.most_ms:g} m/s ({limit.source})")
    if limit.most_pam is not None and loss_pam > limit.most_pam:
        flags.append(f"loss {' '.join(read(loss_pam, 'Pa/m'))} is above {limit.most_pam:g} Pa/m ({limit.source})")
    if limit.least_ms is not None and 0 < velocity_ms < limit.least_ms:
        flags.append(f"velocity {speed} is below {limit.least_ms:g} m/s: air is not carried along")
    return tuple(flags)


@calculation("largest usual flow", "m³/s", "the lesser of the limits on velocity and on loss", shown_in="L/min")
def largest_flow(
    bore_m: float, roughness_m: float, fluid: Fluid, most_ms: float = 1.0, most_pam: float = 300.0
) -> Figure:
    """Largest flow [m³/s] within a velocity [m/s] and a loss [Pa/m]; a note says which governs."""
    above_zero(bore_m=bore_m, most_ms=most_ms, most_pam=most_pam)
    by_velocity = most_ms * math.pi / 4 * bore_m**2
    low, high = 0.0, by_velocity
    if float(loss_per_metre(by_velocity, bore_m, roughness_m, fluid)) > most_pam:
        for _ in range(60):
            middle = 0.5 * (low + high)
            over = float(loss_per_metre(middle, bore_m, roughness_m, fluid)) > most_pam
            low, high = (low, middle) if over else (middle, high)
        governs = f"{most_pam:g} Pa/m governs"
    else:
        governs = f"{most_ms:g} m/s governs"
    return worked(
        high, "", fluid.flags, (governs,), d=(bore_m, "m"), v=(most_ms, "m/s"), R=(most_pam, "Pa/m")
    )  # fmt: skip


def _nearest(text: str, known) -> str:
    near = difflib.get_close_matches(text, known, n=3, cutoff=0.3) or list(known)
    return f"write {' or '.join(near)}"
