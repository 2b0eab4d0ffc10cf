"""frost-valve-misplaced (error)

What: a frost valve stands in water with antifreeze, serves only one of flow and return,
    or has a check or hand valve between it and the outdoor unit;
    or it stands indoors or has a closed pipe on its outlet (warning).
Why: it lets the water out before it freezes; on antifreeze it would pour that on the ground,
    and one on the flow cannot empty the return.
Cure: one on each outdoor leg, at the lowest point, open to drip.
Source: opens below 3 °C and closes at 4 °C: design handbook, seen; rules of placing from memory, makers' practice

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], place: Outside, medium: antifreeze-mix}
      T1: {kind: tee}
      T2: {kind: tee}
      A1: {kind: antifreeze-valve}
      A2: {kind: antifreeze-valve}
      X1: {kind: plate-heat-exchanger, capped: [right-top, right-bottom]}
    connections:
      - [H1.flow, T1.a]
      - [T1.branch, A1.inlet]
      - [T1.b, X1.left-top]
      - [X1.left-bottom, T2.a]
      - [T2.branch, A2.inlet]
      - [T2.b, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], place: Outside}
      T1: {kind: tee}
      T2: {kind: tee}
      A1: {kind: antifreeze-valve}
      A2: {kind: antifreeze-valve}
      R1: {kind: radiator}
    connections:
      - [H1.flow, T1.a]
      - [T1.branch, A1.inlet]
      - [T1.b, R1.a]
      - [R1.b, T2.a]
      - [T2.branch, A2.inlet]
      - [T2.b, H1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import has_antifreeze, heat_pumps, is_outdoors, legs
from schemagen.network.network import PortId

_KINDS = ("antifreeze-valve", "inline-antifreeze-valve")
_BETWEEN = ("isolating-valve", "check-valve", "double-check-valve", "lockshield-valve", "balancing-valve", "zone-valve")


def check(facts):
    valves = list(facts.parts(*_KINDS))
    units = [unit for unit in heat_pumps(facts) if legs(facts, unit)]
    for valve in valves:
        inlet = PortId(valve.tag, "inlet" if valve.kind.name == "antifreeze-valve" else "a")
        if has_antifreeze(facts, inlet):
            yield _fault(valve, "stands in water with antifreeze", f"take {valve.tag} out, or fill with plain water")
        if valve.place and any(is_outdoors(unit.place) for unit in units) and not is_outdoors(valve.place):
            yield _fault(valve, "stands indoors", f"move {valve.tag} to the outdoor part of the pipe", "warning")
        outlet = PortId(valve.tag, "outlet")
        far = facts.piped_across(outlet) if outlet.port in valve.kind.ports else None
        if far is not None and facts.network.parts[far.tag].kind.family != "ends":
            yield _fault(valve, "has a closed pipe on its outlet", f"leave {outlet} open to drip", "warning")
    for unit in units:
        near = {port: _nearest(facts, port) for port in legs(facts, unit)}
        served = [port for port, (found, _) in near.items() if found]
        for found, blocked in near.values():
            if found and blocked:
                yield _fault(
                    facts.network.parts[found],
                    f"is cut off from {unit.tag} by {blocked}",
                    f"put {found} between {unit.tag} and {blocked}",
                )
        if served and len(served) < len(near):
            bare = next(port for port in near if port not in served)
            yield Fault(
                f"a frost valve serves {served[0]} but none serves {bare}",
                f"put a second one at the lowest point of the pipe at {bare}",
                parts=(near[served[0]][0], unit.tag),
                pipes=[facts.pipe_at(bare)],
            )


def _nearest(facts, port):
    """The frost valve on this leg, and the shut-off between it and the unit, if there is one."""
    queue, seen = [(port, "")], {port}
    while queue:
        here, blocked = queue.pop(0)
        part = facts.network.parts[here.tag]
        if part.kind.name in _KINDS:
            return part.tag, blocked
        onward = [(other, blocked) for other in facts.reach.piped_to[here]]
        if here != port and not (part.kind.gives or part.kind.takes or part.kind.separates or part.kind.store):
            stop = blocked or (part.tag if part.kind.name in _BETWEEN and part.value("locked") != "open" else "")
            onward += [(way.to, stop) for way in facts.reach.ways[here]]
        for other, by in onward:
            if other not in seen:
                seen.add(other)
                queue.append((other, by))
    return "", ""


def _fault(valve, what: str, cure: str, severity=None) -> Fault:
    return Fault(f"{valve.tag} {what}", cure, parts=(valve.tag,), severity=severity)
