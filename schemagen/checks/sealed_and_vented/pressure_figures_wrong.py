"""pressure-figures-wrong (error)

What: a relief valve is set above what a part of its circuit stands. Warnings: it is set above the usual
    4 bar (heating, brine) or 6 bar (solar) and no part says what it stands; a vessel's pre-charge is below the height
    of water above it, above the cold fill, or leaves no room below the relief setting; the cold fill lies within
    0.5 bar of that setting; the vessels are too small for the content.
Why: the relief valve protects only what is stronger than its setting, and a small or flat vessel makes it weep.
Cure: change the figure that is named.
Source: BS EN 12828 annex D and BS 7074-1, formula from memory; final pressure = relief setting less 0.5 bar: a design
    handbook, seen; growth of water on heating, from memory; usual settings: common practice, no source
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 6 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      R1: {kind: radiator, max-pressure: 4 bar}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      R1: {kind: radiator, max-pressure: 4 bar}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from bisect import bisect_left
from dataclasses import dataclass

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import DRAIN_BACK, Circuit, heated_circuits
from schemagen.network.network import Part

BAR = 1e5
PA_PER_M = 9806.65
GAP = 0.5 * BAR
_USUAL = {"heating-water": 4 * BAR, "antifreeze-mix": 6 * BAR, "ground-brine": 4 * BAR}
_HOTTEST_C = {"heating-water": 90.0, "antifreeze-mix": 110.0, "ground-brine": 40.0}
_HEAT_PUMP_C = 65.0
_GROWTH = ((10, 0.0), (50, 0.012), (60, 0.017), (70, 0.023), (80, 0.029), (90, 0.036), (110, 0.051))
"""Share by which water filled at 10 °C has grown at a temperature in °C."""
_ANTIFREEZE_GROWS = 1.5
_FLUID_NAMES = {"antifreeze-mix": ("antifreeze-mix", "solar-fluid"), "ground-brine": ("ground-brine", "brine")}


@dataclass(frozen=True)
class Vessel:
    part: Part
    volume: float | None
    charge: float | None


@dataclass(frozen=True)
class Figures:
    """What a list says about the pressures of one circuit: gauge pressures in Pa, volumes in m³, heights in m."""

    reliefs: tuple[tuple[str, float], ...]
    vessels: tuple[Vessel, ...]
    stands: tuple[tuple[float, str], ...]
    fill: tuple[str, float] | None
    top_m: float | None


def check(facts):
    circuits = [c for c in heated_circuits(facts) if c.sealed]
    media = [c.medium for c in circuits]
    for circuit in circuits:
        figures = _figures(facts, circuit)
        yield from _settings(figures, circuit.medium)
        yield from _charges(figures)
        yield from _fill(figures)
        yield from _volumes(facts, circuit, figures, alone=media.count(circuit.medium) == 1)


def _figures(facts, circuit: Circuit) -> Figures:
    parts = [facts.network.parts[tag] for tag in circuit.section.tags]
    reliefs = []
    for tag in dict.fromkeys(port.tag for port in circuit.reliefs):
        part = facts.network.parts[tag]
        setting = part.value("setting" if part.kind.name == "relief-valve" else "relief-setting")
        reliefs += [(tag, setting)] if setting else []
    vessels = []
    for tag in dict.fromkeys(port.tag for port in circuit.vessels):
        part = facts.network.parts[tag]
        if part.kind.name == DRAIN_BACK:
            continue
        volume = part.value("volume" if part.kind.family == "vessels" else "vessel-volume")
        vessels.append(Vessel(part, volume, part.value("pre-charge")))
    fills = [(p.tag, p.value("setting")) for p in parts if p.kind.name == "automatic-fill-unit" and p.value("setting")]
    heights = [p.value("height") for p in parts if p.value("height") is not None]
    for port in circuit.section.ports:
        pipe = facts.pipe_at(port)
        heights += pipe.values.get("heights", ()) if pipe and pipe.start == port else ()
    stands = sorted((p.value("max-pressure"), p.tag) for p in parts if p.value("max-pressure"))
    return Figures(tuple(reliefs), tuple(vessels), tuple(stands), next(iter(fills), None), max(heights, default=None))


def _settings(figures: Figures, medium: str):
    for tag, setting in figures.reliefs:
        if figures.stands and figures.stands[0][0] < setting:
            weakest, weak = figures.stands[0]
            yield Fault(
                f"{tag} opens at {_bar(setting)}, but {weak} stands only {_bar(weakest)}",
                f"set {tag} to {_bar(weakest)} or less, or take a stronger {weak}",
                parts=(tag, weak),
            )
        elif not figures.stands and setting > _USUAL[medium]:
            yield _warning(
                f"{tag} is set to {_bar(setting)}, more than the usual {_bar(_USUAL[medium])}, "
                "and no part says that it stands so much",
                f"set {tag} lower, or state the `max-pressure` of the parts",
                tag,
            )


def _charges(figures: Figures):
    highest = min((setting for _, setting in figures.reliefs), default=None)
    for vessel in figures.vessels:
        tag, charge, height = vessel.part.tag, vessel.charge, vessel.part.value("height")
        if charge is None:
            continue
        head = (figures.top_m - height) * PA_PER_M if figures.top_m is not None and height is not None else 0.0
        if charge < head - 0.05 * BAR:
            yield _warning(
                f"the pre-charge of {tag} is {_bar(charge)}, less than the {_bar(head)} of water above it",
                f"charge {tag} to {_bar(head + 0.3 * BAR)}",
                tag,
            )
        elif figures.fill and charge > figures.fill[1]:
            yield _warning(
                f"the pre-charge of {tag} is {_bar(charge)}, "
                f"but {figures.fill[0]} fills only to {_bar(figures.fill[1])}",
                f"charge {tag} to less than {_bar(figures.fill[1])}, 0.3 bar below is usual",
                tag,
            )
        elif highest is not None and charge >= highest - GAP:
            yield _warning(
                f"the pre-charge of {tag} is {_bar(charge)}: "
                f"no room is left below the relief setting of {_bar(highest)}",
                f"charge {tag} to the height of water above it, and 0.3 bar more",
                tag,
            )


def _fill(figures: Figures):
    for tag, setting in figures.reliefs:
        if figures.fill and figures.fill[1] > setting - GAP:
            yield _warning(
                f"{figures.fill[0]} fills to {_bar(figures.fill[1])}, within 0.5 bar of {tag}, which opens at "
                f"{_bar(setting)}",
                f"set {figures.fill[0]} to {_bar(setting - GAP)} or less",
                figures.fill[0],
                tag,
            )


def _volumes(facts, circuit: Circuit, figures: Figures, alone: bool):
    tags = tuple(vessel.part.tag for vessel in figures.vessels)
    if not tags or circuit.section.elsewhere:
        return
    content = _content(facts, circuit.medium) if alone else None
    needs = [] if content else [f"content of this {circuit.medium} under `fluids:`"]
    needs += [f"volume and pre-charge of {v.part.tag}" for v in figures.vessels if None in (v.volume, v.charge)]
    needs += [] if figures.reliefs else ["setting of the relief valve"]
    if needs:
        yield Unknown(tags, "; ".join(needs))
        return
    highest = min(setting for _, setting in figures.reliefs) - GAP
    charge = max(vessel.charge for vessel in figures.vessels)
    if highest <= charge:
        return
    needed = content * _growth(circuit) * (highest + BAR) / (highest - charge)
    have = sum(vessel.volume for vessel in figures.vessels)
    if have < needed:
        yield _warning(
            f"{', '.join(tags)} hold{'s' * (len(tags) == 1)} {quantity(have, 'L')}; "
            f"{quantity(needed, 'L')} are needed for "
            f"{quantity(content, 'L')} of water",
            f"take vessels of at least {quantity(needed, 'L')} together",
            *tags,
        )


def _content(facts, medium: str) -> float | None:
    rows = (facts.network.fluids.get(name, {}) for name in _FLUID_NAMES.get(medium, (medium,)))
    return next((row["content"] for row in rows if row.get("content")), None)


def _growth(circuit: Circuit) -> float:
    kinds = {source.part.kind.name for source in circuit.sources}
    hottest = _HOTTEST_C[circuit.medium]
    if circuit.medium != "ground-brine" and all("heat-pump" in name for name in kinds):
        hottest = max(source.part.value("max-flow") or _HEAT_PUMP_C for source in circuit.sources)
    grown = water_growth(hottest)
    return grown if circuit.medium == "heating-water" else grown * _ANTIFREEZE_GROWS


def water_growth(temperature_c: float) -> float:
    """Share by which water filled at 10 °C has grown, between the figures of the table; none below 10 °C."""
    n = bisect_left([t for t, _ in _GROWTH], temperature_c)
    if n == 0:
        return 0.0
    (t0, e0), (t1, e1) = _GROWTH[min(n, len(_GROWTH) - 1) - 1], _GROWTH[min(n, len(_GROWTH) - 1)]
    return e0 + (e1 - e0) * (temperature_c - t0) / (t1 - t0)


def _bar(pressure: float) -> str:
    return quantity(pressure, "bar")


def _warning(message: str, cure: str, *tags: str) -> Fault:
    return Fault(message, cure, parts=tags, severity="warning")
