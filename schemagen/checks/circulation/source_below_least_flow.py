"""source-below-least-flow (warning)

What: in some state the flow that the open circuits take is below the `min-flow:` of the heat source, with neither a
    bypass valve nor a buffer or header beside it.
Why: with too little flow the source stops on its flow switch or gets too hot, and starts again and again.
Cure: leave a circuit without a valve, fit a bypass valve, or separate the source by a buffer or header.
Source: least flow as the maker's manual states it; the flows by continuity, common practice, no source

Wrong:
    parts:
      B1: {kind: system-boiler, output: 18 kW, flow-temperature: 70 °C, min-flow: 8 L/min,
        capped: [relief-outlet, condensate]}
      Z1: {kind: zone-valve}
      Z2: {kind: zone-valve}
      H1: {kind: heating-zone, output: 14 kW}
      H2: {kind: heating-zone, output: 4 kW}
      A1: {kind: room-thermostat, switches: [Z1, B1]}
      A2: {kind: room-thermostat, switches: [Z2, B1]}
      T1: {kind: tee}
      T2: {kind: tee}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1, H1, T2.a]
      - [T1.branch, Z2, H2, T2.branch]
      - [T2.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, output: 18 kW, flow-temperature: 70 °C, min-flow: 8 L/min,
        capped: [relief-outlet, condensate]}
      Z1: {kind: zone-valve}
      H1: {kind: heating-zone, output: 8 kW}
      H2: {kind: heating-zone, output: 12 kW}
      A1: {kind: room-thermostat, switches: [Z1, B1]}
      T1: {kind: tee}
      T2: {kind: tee}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, Z1, H1, T2.a]
      - [T1.branch, H2, T2.branch]
      - [T2.b, B1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.design_facts import design_of, heating_states
from schemagen.checks.fault import Fault

_SHORT = 0.02
"""A flow short by less than this share is enough: common practice, no source."""


def check(facts):
    sources = [part for part in facts.givers if part.value("min-flow") and part.value("flow") is None]
    for source in sources if facts.operation.states else ():
        if found := _least(facts, source):
            flow, names = found
            yield Fault(
                f"{source.tag} gets {quantity(flow, 'L/min')} and needs {quantity(source.value('min-flow'), 'L/min')}",
                "fit a bypass valve, leave a circuit open, or put a buffer between",
                parts=(source.tag,),
                states=tuple(names),
            )


def _least(facts, source):
    """The least flow of a source that is short of it, and the states in which it is short; None if it never is."""
    design, short = design_of(facts), {}
    for state in heating_states(facts):
        w = next((k for k, way in enumerate(state.ways) if way.tag == source.tag and _gives(source, way)), None)
        flow = None if w is None or source.tag not in state.state.sources_on else state.flow(w)
        if flow is None or abs(flow) >= (1 - _SHORT) * source.value("min-flow"):
            continue
        beside = [t for k in design.graph.beside(state.ways, w) if (t := state.ways[k].tag)]
        body = design.plant.parts_in[state.ways[w].body]
        kinds = [p.kind for p in (*body, *(facts.network.parts[t] for t in beside))]
        if not any(kind.separates or kind.name == "bypass-valve" for kind in kinds):
            short[state.state.name] = abs(flow)
    return (min(short.values()), list(short)) if short else None


def _gives(source, way) -> bool:
    return {way.a, way.b} <= set(source.kind.gives)
