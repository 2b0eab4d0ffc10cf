"""solar-no-overheat-plan (advice)

What: nothing in a solar circuit takes up what the collector boils out on a hot day with a full store: no drain-back or
    intermediate vessel, no radiator that dumps heat, no vessel for the content of the collector and the swelling of the
    fluid with 3 L in reserve, and no note.
Why: the fluid boils in the collector then; that is normal if the steam has somewhere to push the fluid.
Cure: a larger vessel, drain-back, or a radiator that dumps heat; or write `overheat-plan:` at the collector.
Source: installers' pages and a German trade handbook, seen; content of 1 L for each m² of collector where none is given
    and a half of a vessel as usable where its pressures are not given: common practice, no source; reserve of 3 L, from
    memory

Wrong:
    parts:
      S1: {kind: solar-collector, area: 5 m²}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      E1: {kind: solar-expansion-vessel, volume: 12 L, at: S1.in}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]

Right:
    parts:
      S1: {kind: solar-collector, area: 5 m²}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      E1: {kind: solar-expansion-vessel, volume: 25 L, at: S1.in}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import is_vessel
from schemagen.checks.sealed_and_vented.pressure_figures_wrong import BAR, GAP, water_growth
from schemagen.checks.solid_fuel_and_solar._sun import collectors, loop_parts
from schemagen.network.network import PortId

CONTENT_M3_PER_M2 = 0.001
RESERVE_M3 = 0.003
USABLE = 0.5
_HOTTEST_C = 110
_ANTIFREEZE_GROWS = 1.5
_TAKES_UP = ("drain-back-vessel", "intermediate-vessel", "off-sheet-connector")


def check(facts):
    banks: dict[int, list] = {}
    for collector in collectors(facts):
        banks.setdefault(facts.section(PortId(collector.tag, "out")).number, []).append(collector)
    for bank in banks.values():
        parts = loop_parts(facts, bank[0])
        if not any(c.value("overheat-plan") for c in bank) and not any(_takes_up(part) for part in parts):
            yield from _judged(facts, bank, parts)


def _takes_up(part) -> bool:
    return part.kind.name in _TAKES_UP or part.kind.family == "emitters"


def _judged(facts, bank, parts):
    tags = tuple(collector.tag for collector in bank)
    vessels = [part for part in parts if is_vessel(part)]
    contents = [_content(collector) for collector in bank]
    unknown = [c.tag for c, content in zip(bank, contents, strict=True) if content is None]
    unknown += [vessel.tag for vessel in vessels if not vessel.value("volume")]
    if vessels and unknown:
        yield Unknown(tags, f"volume of {', '.join(unknown)}")
        return
    needed = sum(c or 0.0 for c in contents) + RESERVE_M3 + _swelling(facts)
    have = sum(vessel.value("volume") * _usable(vessel, parts) for vessel in vessels)
    if have < needed:
        sizes = f"{', '.join(v.tag for v in vessels)} can take up {quantity(have, 'L')} of the {quantity(needed, 'L')}"
        yield Fault(
            f"nothing takes up all that {', '.join(tags)} boil{'s' * (len(tags) == 1)} out when the store is full"
            + (f": {sizes}" if vessels else ""),
            f"take a larger vessel or drain-back, or write `overheat-plan:` at {tags[0]}",
            parts=(*tags, *(vessel.tag for vessel in vessels)),
        )


def _content(collector) -> float | None:
    area = collector.value("area")
    return collector.value("volume") or (area * CONTENT_M3_PER_M2 if area else None)


def _swelling(facts) -> float:
    """How much the fluid of the circuit grows, where its content is listed."""
    rows = (facts.network.fluids.get(name, {}) for name in ("solar-fluid", "antifreeze-mix"))
    content = next((row["content"] for row in rows if row.get("content")), 0.0)
    return content * water_growth(_HOTTEST_C) * _ANTIFREEZE_GROWS


def _usable(vessel, parts) -> float:
    """The share of a vessel that takes fluid up between its pre-charge and 0.5 bar below the relief setting."""
    charge = vessel.value("pre-charge")
    settings = [part.value("setting") for part in parts if part.kind.name == "relief-valve" and part.value("setting")]
    if charge is None or not settings:
        return USABLE
    highest = min(settings) - GAP
    return max(0.0, (highest - charge) / (highest + BAR))
