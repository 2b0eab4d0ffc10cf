"""stove-return-unprotected (warning)

What: no loading valve stands before the return of a stove or wood boiler, and no pipe thermostat on its flow holds the heating pump off.
Why: cold return water makes acid tar inside the firebox and eats the boiler.
Cure: a loading valve with its bypass leg, or a pump held off until the flow is hot.
Source: a maker's notes, seen: 40 °C and a pipe thermostat; 55–60 °C for wood boilers, from memory

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [S1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      P1: {kind: pump}
      R1: {kind: radiator}
      X1: {kind: pipe-thermostat, on: S1.flow, switches: [P1]}
    connections:
      - [S1.flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, S1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_PAIRS = (("flow", "return"), ("flow-2", "return-2"))


def check(facts):
    for fire in facts.parts("solid-fuel-stove", "wood-boiler"):
        for flow, home in _PAIRS:
            inlet = PortId(fire.tag, home)
            if home not in fire.kind.ports or not facts.is_piped(inlet) or facts.goes_on_elsewhere(inlet):
                continue
            if _is_protected(facts, fire, flow, inlet):
                continue
            yield Fault(
                f"nothing keeps cold water away from {inlet}",
                f"put a loading-valve before {inlet}, or hold the pump off with a pipe-thermostat `on: {fire.tag}.{flow}`",
                parts=(fire.tag,),
                pipes=[facts.pipe_at(inlet)],
            )


def _is_protected(facts, fire, flow: str, inlet: PortId) -> bool:
    """A loading valve upstream, a guarded pump, or a loop that warmth alone moves."""
    behind = _upstream(facts, inlet)
    if any(facts.network.parts[tag].kind.name == "loading-valve" for tag in behind):
        return True
    pumps = [tag for tag in behind if facts.network.parts[tag].kind.driver == "pump"]
    if not pumps and not _pumped(facts, fire, flow):
        return True
    guards = [p for p in facts.parts("pipe-thermostat") if (on := facts.network.host_of(p.tag)) and on.tag == fire.tag]
    moved = {tag for guard in guards for tag in (*guard.value("switches", ()), *guard.value("acts-on", ()))}
    return bool(moved & (set(pumps) | set(_pumped(facts, fire, flow))))


def _upstream(facts, inlet: PortId) -> list[str]:
    """Tags from which water can come to this return, up to what heats, takes or stores."""
    seen, todo = {inlet}, [inlet]
    while todo:
        port = todo.pop()
        onward = list(facts.reach.piped_to[port])
        kind = facts.network.parts[port.tag].kind
        if not (kind.gives or kind.takes or kind.store or kind.separates):
            onward += [way.to for way in facts.reach.ways[port] if way.both or not way.forward]
        for other in onward:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return list(dict.fromkeys(port.tag for port in sorted(seen)))


def _pumped(facts, fire, flow: str) -> list[str]:
    """Pumps to which water can run from this flow before it is home."""
    start = PortId(fire.tag, flow)
    if flow not in fire.kind.ports or not facts.is_piped(start):
        return []
    reached = facts.reach.downstream(start, without=(fire.tag,))
    return [p.tag for p in facts.network.parts.values() if p.kind.driver == "pump" and any(q.tag == p.tag for q in reached)]
