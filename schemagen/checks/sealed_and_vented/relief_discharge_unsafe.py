"""relief-discharge-unsafe (error)

What: the outlet of a heating relief valve, built in or not, has no pipe, can be shut off on its way, leads back
    into the system, or does not end at a tundish, a safe visible outlet or a container.
Why: what comes out can be boiling; it must be free to come out, be seen, and hurt nobody.
Cure: a falling pipe without any valve to a visible safe place.
Source: BS EN 12828 as quoted in a maker's specification, and makers' sheets on sealed systems, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: system-boiler, built-in: [pump, vessel, gauge], capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      V1: {kind: isolating-valve}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, R1, B1.return]
      - [S1.outlet, V1, O1.in]

Right:
    parts:
      B1: {kind: system-boiler, built-in: [pump, vessel, gauge], capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import relieves
from schemagen.network.network import PortId

FOLDS = ("port-left-open", "blind-end")
_ENDS = ("tundish", "safe-outlet", "collecting-container", "off-sheet-connector")
_CURE = "lead {0} down to a tundish, a safe-outlet or a collecting-container, with nothing in between that can shut"


def check(facts):
    for part in facts.network.parts.values():
        for outlet in _outlets(facts, part):
            if wrong := _wrong(facts, outlet):
                message, tags = wrong
                pipe = facts.pipe_at(outlet)
                yield Fault(
                    f"{outlet} {message}",
                    _CURE.format(outlet),
                    parts=(part.tag, *tags),
                    pipes=[pipe] if pipe else [],
                    ports=(outlet,),
                )


def _outlets(facts, part) -> list[PortId]:
    if part.kind.name == "relief-valve":
        return [PortId(part.tag, "outlet")]
    if "relief-outlet" not in part.kind.ports or not part.kind.gives or not relieves(facts, part):
        return []
    return [PortId(part.tag, "relief-outlet")]


def _wrong(facts, outlet: PortId) -> tuple[str, tuple[str, ...]] | None:
    """What is wrong with the way from an outlet, and the parts that are to blame; None if it is sound."""
    if not facts.is_piped(outlet):
        capped = outlet.port in facts.network.parts[outlet.tag].capped
        return ("is capped: the relief valve cannot relieve" if capped else "has no discharge pipe"), ()
    reached = [port for port in sorted(facts.reach.wet(outlet)) if port.port != "relief-outlet"]
    parts = {port.tag: facts.network.parts[port.tag] for port in reached if port.tag != outlet.tag}
    back = [tag for tag, part in parts.items() if part.kind.gives or part.kind.takes or part.kind.store]
    if back:
        return f"leads back into the system, to {back[0]}", (back[0],)
    shut = [tag for tag, part in parts.items() if part.kind.moved_by and part.kind.moved_by != "pressure"]
    shut += [tag for tag, part in parts.items() if part.kind.name in ("check-valve", "double-check-valve", "cap")]
    if shut:
        return f"can be shut off by {shut[0]}", (shut[0],)
    if not any(part.kind.name in _ENDS for part in parts.values()):
        return "does not end where it can be seen and is safe", tuple(parts)[-1:]
    return None
