"""heat-pump-flow-not-assured (error)

What: in some state the design flows of the open circuits add up to less than the heat pump's least flow,
    and nothing separates it from them.
Why: heat pumps need a lot of water at a small temperature difference; one small circuit cannot take it.
Cure: keep enough circuits without valves, set a bypass, or separate.
Source: a maker's installation manual, seen: 70 % of nominal flow through the system, or a bypass for 40 %

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], min-flow: 12 L/min}
      F1: {kind: strainer}
      R1: {kind: radiator, flow: 4 L/min}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], min-flow: 12 L/min}
      F1: {kind: strainer}
      R1: {kind: radiator, flow: 14 L/min}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.circulation._ways import WORKING, bodies
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heat_pumps._units import heat_pumps
from schemagen.network.network import PortId


def check(facts):
    for unit in heat_pumps(facts):
        least = unit.value("min-flow")
        if least is None:
            continue
        worst = None
        for state in facts.operation.of_sort(*WORKING):
            if unit.tag not in state.sources_on:
                continue
            flow, missing = _open_flow(facts, unit, state)
            if flow < least and (worst is None or flow < worst[1]):
                worst = state.name, flow, missing
        if worst is None:
            continue
        name, flow, missing = worst
        if missing:
            yield Unknown((unit.tag,), f"add `flow` to {', '.join(missing[:5])}")
            continue
        yield Fault(
            f"{unit.tag} needs {quantity(least, 'L/min')} and gets {quantity(flow, 'L/min')} when: {name}",
            "keep more circuits open, set a bypass valve, or separate with a buffer or header",
            parts=(unit.tag,),
            states=(name,),
        )


def _open_flow(facts, unit, state) -> tuple[float, list[str]]:
    """Design flows of what the unit's water passes in this state; endless where a separator or store takes any flow."""
    moves = facts.operation.flow(state)
    stop = bodies(facts)
    total, missing = 0.0, []
    outlets = facts.outlet_ports(unit)
    reached = facts.reach.downstream_of_all(outlets, state.positions, without=stop | {p.tag for p in facts.takers})
    for tag in sorted({port.tag for port in reached if port.tag != unit.tag}):
        part = facts.network.parts[tag]
        if part.kind.separates or part.kind.store and any(PortId(tag, n) in reached for n in part.kind.takes):
            return float("inf"), []
        if part.kind.name == "bypass-valve":
            total += part.value("flow") or 0.0
        elif part.kind.takes and moves.part_moves(tag, part.kind.takes):
            flow = part.value("flow")
            missing += [tag] if flow is None else []
            total += flow or 0.0
    return total, missing
