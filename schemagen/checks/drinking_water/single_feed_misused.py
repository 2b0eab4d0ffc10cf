"""single-feed-misused (error)

What: a single-feed cylinder has on its primary side a part of a sealed system, a feed cistern of its own, antifreeze or
    inhibitor, or a heat source that cannot be switched off or may only stand in a sealed system.
Why: only a bubble of air keeps heating water and tap water apart in this cylinder. Additives or pressure push past it.
Cure: replace it with a coil cylinder.
Source: makers' sheets on sealed systems, which call single-feed cylinders unsuitable, seen; the two air locks of
    BS 1566-2 in a building handbook, seen
Caution: drinking-water

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      C1: {kind: single-feed-cylinder}
      E1: {kind: expansion-vessel, at: B1.return}
    connections:
      - [B1.flow, P1, C1.primary-flow]
      - [C1.primary-return, B1.return]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      C1: {kind: single-feed-cylinder}
    connections:
      - [B1.flow, P1, C1.primary-flow]
      - [C1.primary-return, B1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_SEALED = ("expansion-vessel", "relief-valve", "filling-loop", "automatic-fill-unit", "solar-expansion-vessel")
_SEALED_INSIDE = ("vessel", "relief")


def check(facts):
    for cylinder in facts.parts("single-feed-cylinder"):
        primary = PortId(cylinder.tag, "primary-flow")
        tags = sorted({port.tag for port in facts.reach.wet(primary)} - {cylinder.tag})
        parts = [facts.network.parts[tag] for tag in tags]
        if found := next((said for part in parts if (said := _misfit(part))), None):
            yield _fault(cylinder, *found)
        elif dose := _dose(facts, primary):
            yield _fault(cylinder, dose)


def _misfit(part) -> tuple[str, str] | None:
    if part.kind.name in _SEALED:
        return f"{part.tag} ({part.kind.title}) makes the primary side sealed", part.tag
    if part.kind.giver and any(item in part.built_in for item in _SEALED_INSIDE):
        return f"{part.tag} brings its own vessel or relief valve: a sealed system", part.tag
    if part.kind.name == "feed-and-expansion-cistern":
        return f"{part.tag} feeds the primary side separately", part.tag
    if part.kind.giver == "uncontrolled":
        return f"{part.tag} cannot be switched off", part.tag
    if part.value("sealed-only"):
        return f"{part.tag} may only stand in a sealed system", part.tag
    return None


def _dose(facts, primary) -> str:
    if facts.medium_at(primary) == "antifreeze-mix":
        return "the primary side holds antifreeze"
    water = facts.network.fluids.get("heating-water", {})
    if water.get("inhibitor") is True:
        return "the heating water is dosed with inhibitor"
    return "the heating water holds antifreeze" if (water.get("antifreeze") or 0) > 0 else ""


def _fault(cylinder, said: str, *others: str) -> Fault:
    return Fault(
        f"{said}, but in the single-feed cylinder {cylinder.tag} only air keeps heating and tap water apart",
        f"list {cylinder.tag} as a vented-cylinder, which has a coil",
        parts=(cylinder.tag, *others),
    )
