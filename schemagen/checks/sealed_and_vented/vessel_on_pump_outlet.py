"""vessel-on-pump-outlet (warning)

What: while the strongest pump of a sealed circuit runs, the vessel near it joins the pipe at its outlet, and none joins
    the pipe at its inlet. In a solar circuit the vessel belongs between check valve and collector and is not judged.
Why: the pressure where the vessel joins cannot change; if the pump pushes towards it, the pressure on the suction side
    drops instead, and air is drawn in.
Cure: join the vessel close to the pump inlet.
Source: vessel close to the inlet side of the circulating pump: makers' sheets on sealed systems (citing BS EN
    12828), seen; the point of no pressure change: trade pages, seen

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      E1: {kind: expansion-vessel, at: P1.out}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      P1: {kind: pump}
      E1: {kind: expansion-vessel, at: P1.in}
      R1: {kind: radiator}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.network.network import PortId

_WORKING = ("named", "call", "all-calls")


def check(facts):
    open_to = {c.section.number: c for c in heated_circuits(facts) if c.sealed and c.vessels and not _is_solar(c)}
    told = set()
    for state in facts.operation.of_sort(*_WORKING):
        for number, tag in _strongest(facts, state, open_to).items():
            if tag in told:
                continue
            vessels = frozenset(open_to[number].vessels)
            behind = facts.reach.header(PortId(tag, "out"), state.positions) & vessels
            if behind and not facts.reach.header(PortId(tag, "in"), state.positions) & vessels:
                told.add(tag)
                vessel = min(behind).tag
                yield Fault(
                    f"{vessel} stands on the outlet of {tag}",
                    f"join {vessel} to the pipe at {tag}.in",
                    parts=(vessel, tag),
                    ports=(PortId(tag, "in"),),
                    states=(state.name,),
                )


def _strongest(facts, state, among) -> dict[int, str]:
    """The pump with the largest flow in each of these sections; a pump inside a source is its maker's affair."""
    flow = facts.operation.flow(state)
    best: dict[int, tuple[float, str]] = {}
    for tag in state.pumps_on:
        pipe = facts.pipe_at(PortId(tag, "in")) if facts.network.parts[tag].kind.driver == "pump" else None
        number = facts.section(PortId(tag, "in")).number if pipe else None
        if number in among and abs(flow.amount(pipe)) > best.get(number, (0.0, ""))[0]:
            best[number] = abs(flow.amount(pipe)), tag
    return {number: tag for number, (_, tag) in best.items()}


def _is_solar(circuit) -> bool:
    return any(source.part.kind.name == "solar-collector" for source in circuit.sources)
