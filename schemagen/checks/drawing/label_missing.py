"""label-missing (advice)

What: on a sheet for a customer or for training (`purpose:`) a relief valve has no setting, a vessel no volume or
    pre-charge; or most pipes that carry water have a size and some have none.
Why: the next engineer was not there when it was built.
Cure: write the missing data at the parts and connections named.
Source: ISO 14617 (symbols) and ISO 6412 (pipe drawings), seen as titles only

Wrong:
    sheet: {purpose: customer}
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      RV1: {kind: relief-valve, at: B1.flow}
      SO1: {kind: safe-outlet}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, B1.return], size: 22 mm}
      - [RV1.outlet, SO1.in]

Right:
    sheet: {purpose: customer}
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      RV1: {kind: relief-valve, at: B1.flow, setting: 3 bar}
      SO1: {kind: safe-outlet}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, B1.return], size: 22 mm}
      - {run: [RV1.outlet, SO1.in], size: 15 mm}
"""

from schemagen.checks.fault import Fault

_PURPOSES = ("customer", "client", "training", "lesson", "handover", "as-built")
_RELIEF_VALVES = ("relief-valve", "expansion-relief-valve", "temperature-and-pressure-relief-valve")
_VESSELS = ("expansion-vessel", "solar-expansion-vessel", "wholesome-expansion-vessel")
_WANTED = {
    **dict.fromkeys(_RELIEF_VALVES, ("setting",)),
    **dict.fromkeys(_VESSELS, ("volume", "pre-charge")),
    "pressure-reducer": ("setting",),
    "inlet-control-group": ("setting", "relief-setting"),
}
_MOST = 0.5


def check(facts):
    purpose = facts.network.sheet.get("purpose", "").casefold()
    if not any(word in purpose.replace(" ", "-") for word in _PURPOSES):
        return
    for part in facts.parts(*_WANTED):
        missing = [key for key in _WANTED[part.kind.name] if part.value(key) is None]
        if missing:
            yield Fault(
                f"{part.tag} is printed without its {' and '.join(missing)}",
                f"write {', '.join(f'{key}:' for key in missing)} at {part.tag}",
                parts=(part.tag,),
            )
    listed = [p for p in facts.network.pipes if facts.waters.carries[p.index] and not _is_stub(facts, p)]
    bare = [p for p in listed if not p.size_text]
    if bare and len(bare) < _MOST * len(listed):
        more = f" and {len(bare) - 1} more" if len(bare) > 1 else ""
        yield Fault(
            f"{bare[0].name}{more} has no size, while the other pipes have",
            "write size: at these connections",
            pipes=bare,
        )


def _is_stub(facts, pipe) -> bool:
    """A pipe that belongs to a part hung on another by `at:`, which has no connection of its own in the list."""
    return any(facts.network.parts[port.tag].kind.shape == "stub" for port in (pipe.start, pipe.end))
