"""hot-water-through-buffer (warning)

What: every way from a heat pump to a store's coil passes a buffer or separator that also serves heating,
    or the coil's return enters such a buffer.
Why: the whole buffer has to be raised to hot-water temperature first, and then that heat goes into the floor.
Cure: a diverter before the buffer, the returns joined after it.
Source: common practice, no source

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      U1: {kind: buffer-four-pipe, capped: [vent, drain]}
      P1: {kind: pump}
      V1: {kind: diverter-valve, rest: b}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, cold-in, hot-out]}
      R1: {kind: radiator}
      T1: {kind: tee}
      F1: {kind: strainer}
    connections:
      - [H1.flow, U1.primary-flow]
      - [U1.primary-return, F1.in]
      - [F1.out, H1.return]
      - [U1.secondary-flow, P1.in]
      - [P1.out, V1.common]
      - [V1.a, C1.coil-in]
      - [V1.b, R1.a]
      - [C1.coil-out, T1.branch]
      - [R1.b, T1.a]
      - [T1.b, U1.secondary-return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      V1: {kind: diverter-valve, rest: b}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return, relief-tapping, cold-in, hot-out]}
      U1: {kind: buffer-four-pipe, capped: [vent, drain, secondary-flow, secondary-return]}
      T1: {kind: tee}
      F1: {kind: strainer}
    connections:
      - [H1.flow, V1.common]
      - [V1.a, C1.coil-in]
      - [V1.b, U1.primary-flow]
      - [C1.coil-out, T1.branch]
      - [U1.primary-return, T1.a]
      - [T1.b, F1.in]
      - [F1.out, H1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import heat_pumps
from schemagen.network.network import PortId


def check(facts):
    buffers = [p.tag for p in facts.network.parts.values() if p.kind.separates or p.kind.store == "heating"]
    emitters = [PortId(p.tag, n) for p in facts.takers if p.kind.family == "emitters" for n in p.kind.takes]
    for unit in heat_pumps(facts):
        yield from _returns(facts, buffers, unit)
        outlets = [port for port in facts.outlet_ports(unit) if facts.is_piped(port)]
        anyhow = facts.reach.downstream_of_all(outlets, without=(unit.tag,))
        direct = facts.reach.downstream_of_all(outlets, without=(unit.tag, *buffers))
        for store in facts.takers:
            coil = [PortId(store.tag, n) for n in store.kind.takes]
            if store.kind.store != "wholesome" or not any(p in anyhow for p in coil) or any(p in direct for p in coil):
                continue
            through = [tag for tag in buffers if tag != store.tag and _feeds(facts, tag, coil, emitters)]
            if through:
                yield Fault(
                    f"{store.tag} gets the heat of {unit.tag} only through {through[0]}, which also serves heating",
                    f"put a diverter between {unit.tag} and {through[0]} for {store.tag}",
                    parts=(store.tag, through[0]),
                    pipes=[pipe for port in coil if (pipe := facts.pipe_at(port))],
                )


def _returns(facts, buffers, unit):
    """Coils whose water comes home only through the load side of a separator."""
    home = [port for port in facts.return_ports(unit) if facts.is_piped(port)]
    parting = [tag for tag in buffers if "secondary-return" in facts.network.parts[tag].kind.ports]
    takers = [part.tag for part in facts.takers]
    for store in facts.takers:
        outlets = [PortId(store.tag, n) for n in store.kind.takes if facts.spec(PortId(store.tag, n)).role == "out"]
        if store.kind.store != "wholesome" or not outlets:
            continue
        direct = facts.reach.downstream_of_all(outlets, without=(unit.tag, *takers, *parting))
        through = next((tag for tag in parting if PortId(tag, "secondary-return") in direct), None)
        if through and not any(port in direct for port in home):
            yield Fault(
                f"the water from the coil of {store.tag} comes back through {through}",
                f"join {outlets[0]} to the return between {through} and {unit.tag}",
                parts=(store.tag, through),
                pipes=[pipe for port in outlets if (pipe := facts.pipe_at(port))],
            )


def _feeds(facts, tag: str, coil, emitters) -> bool:
    """True if the load side of a buffer leads both to the coil and to an emitter."""
    starts = [
        PortId(tag, n) for n in facts.network.parts[tag].kind.ports if n in ("secondary-flow", "load-flow", "top")
    ]
    reached = facts.reach.downstream_of_all(starts, without=(tag,))
    return any(port in reached for port in coil) and any(port in reached for port in emitters)
