"""pressure-figures-wrong (error)

What: a relief valve is set above what a part of its circuit may stand; or (warning) it is set above what is usual for its duty, a vessel's pre-charge does not fit the height of water above it or the reducer's setting, or the vessel is too small for the content.
Why: the relief valve protects only what is stronger than its setting, and a small or flat vessel makes it weep.
Cure: change the figure that is named.
Source: BS EN 12828 annex D and BS 7074-1, formula from memory; final pressure = relief setting less 0.5 bar: design handbook, seen; usual settings: common practice, no source
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve, setting: 3 bar}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator, max-pressure: 2 bar}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      T1: {kind: tee}
      S1: {kind: relief-valve, setting: 3 bar}
      O1: {kind: safe-outlet}
      T2: {kind: tee}
      E1: {kind: expansion-vessel}
      P1: {kind: pump}
      R1: {kind: radiator, max-pressure: 6 bar}
    connections:
      - [B1.flow, T1.a]
      - [T1.branch, S1.inlet]
      - [S1.outlet, O1.in]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, E1.port]
      - [T2.b, P1.in]
      - [P1.out, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.sealed_and_vented._sections import CIRCUITS

PA_PER_M = 9806.65
BAR = 1e5
_USUAL = {"heating-water": 4 * BAR, "antifreeze-mix": 6 * BAR, "ground-brine": 4 * BAR}
"""Settings above these are unusual unless parts are said to stand more. Common practice, no source."""

_HOTTEST_C = {"heating-water": 90, "antifreeze-mix": 110, "ground-brine": 40}


def check(facts):
    for section in facts.reach.sections:
        reliefs = [facts.network.parts[t] for t in section.tags if facts.network.parts[t].kind.name == "relief-valve"]
        vessels = [facts.network.parts[t] for t in section.tags if facts.network.parts[t].kind.name.endswith("expansion-vessel")]
        medium = next((m for p in section.ports if (m := facts.medium_at(p)) in CIRCUITS), "")
        if not medium or section.supply:
            continue
        yield from _settings(facts, section, reliefs, medium)
        yield from _charges(facts, section, vessels)
        yield from _volumes(facts, vessels, reliefs, medium)


def _settings(facts, section, reliefs, medium: str):
    stands = [(value, tag) for tag in section.tags if (value := facts.network.parts[tag].value("max-pressure"))]
    for relief in (r for r in reliefs if r.value("setting")):
        setting = relief.value("setting")
        if stands and min(stands)[0] < setting:
            weakest, tag = min(stands)
            yield Fault(
                f"{relief.tag} opens at {setting / BAR:g} bar, but {tag} stands only {weakest / BAR:g} bar",
                f"set {relief.tag} to {weakest / BAR:g} bar or less, or take a stronger {tag}",
                parts=(relief.tag, tag),
            )
        elif not stands and setting > _USUAL[medium]:
            yield Fault(
                f"{relief.tag} is set to {setting / BAR:g} bar, more than is usual, and no part says what it stands",
                f"state `max-pressure` of the parts, or set {relief.tag} lower",
                parts=(relief.tag,),
                severity="warning",
            )


def _charges(facts, section, vessels):
    heights = [h for tag in section.tags if (h := facts.network.parts[tag].value("height")) is not None]
    for vessel in vessels:
        charge, height = vessel.value("pre-charge"), vessel.value("height")
        if charge is None or height is None or len(heights) < 2:
            continue
        head = (max(heights) - height) * PA_PER_M
        if charge < head - 0.05 * BAR:
            yield Fault(
                f"the pre-charge of {vessel.tag} is {charge / BAR:g} bar, below the {head / BAR:.1f} bar of water above it",
                f"charge {vessel.tag} to {head / BAR + 0.3:.1f} bar",
                parts=(vessel.tag,),
                severity="warning",
            )


def _volumes(facts, vessels, reliefs, medium: str):
    content = facts.network.fluids.get(medium, {}).get("content")
    sized = [(v.value("volume"), v.value("pre-charge")) for v in vessels]
    settings = [r.value("setting") for r in reliefs if r.value("setting")]
    if not content or not settings or not sized or any(None in pair for pair in sized):
        return
    swelling = _swelling(_HOTTEST_C[medium])
    highest = min(settings) - 0.5 * BAR
    charge = max(p for _, p in sized)
    if highest <= charge:
        return
    needed = content * swelling * (highest + BAR) / (highest - charge)
    have = sum(v for v, _ in sized)
    if have < needed:
        tags = tuple(v.tag for v in vessels)
        yield Fault(
            f"{', '.join(tags)} hold {have * 1000:.0f} L; {needed * 1000:.0f} L are needed for {content * 1000:.0f} L of water",
            f"take a vessel of at least {needed * 1000:.0f} L",
            parts=tags,
            severity="warning",
        )


def _swelling(hottest_c: float) -> float:
    """Share by which water grows from 10 °C; from memory: 3.6 % to 90 °C, about half as much again with antifreeze."""
    return {40: 0.008, 90: 0.036, 110: 0.078}[hottest_c]
