"""supply-degraded (warning)

What: the pump behind a header or four-pipe buffer moves more water than the source sends in, so that return water
    rises inside and the supply is cooler than the source makes it.
Why: emitters get cooler water than they were chosen for, and the source has to run hotter to make up for it.
Cure: a larger flow through the source, or a larger difference of flow and return on the load side.
Source: heat balance of mixing; common practice, no source

Wrong:
    parts:
      H1: {kind: air-heat-pump, output: 6 kW, flow-temperature: 45 °C, flow: 10 L/min, capped: [relief-outlet]}
      F1: {kind: strainer}
      B1: {kind: buffer-four-pipe, volume: 80 L, capped: [vent, drain]}
      P1: {kind: pump}
      Z1: {kind: heating-zone, output: 6 kW}
      A1: {kind: room-thermostat, switches: [P1, H1]}
    connections:
      - [H1.flow, B1.primary-flow]
      - [B1.primary-return, F1, H1.return]
      - [B1.secondary-flow, P1, Z1, B1.secondary-return]

Right:
    parts:
      H1: {kind: air-heat-pump, output: 6 kW, flow-temperature: 45 °C, flow: 18 L/min, capped: [relief-outlet]}
      F1: {kind: strainer}
      B1: {kind: buffer-four-pipe, volume: 80 L, capped: [vent, drain]}
      P1: {kind: pump}
      Z1: {kind: heating-zone, output: 6 kW}
      A1: {kind: room-thermostat, switches: [P1, H1]}
    connections:
      - [H1.flow, B1.primary-flow]
      - [B1.primary-return, F1, H1.return]
      - [B1.secondary-flow, P1, Z1, B1.secondary-return]
"""

from schemagen.base.units import quantity
from schemagen.checks.design_facts import fullest_states
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_OPENINGS = (("primary-flow", "secondary-flow"), ("source-flow", "load-flow"))
_LEAST_K = 1.0
"""Cooler by less than this goes unnoticed: common practice, no source."""


def check(facts):
    separators = [
        (part, names)
        for part in facts.network.parts.values()
        for names in _OPENINGS
        if part.kind.separates and set(names) <= set(part.kind.ports)
    ]
    for part, (inlet, outlet) in separators:
        for state in fullest_states(facts):
            loss = _cooler(facts, state, part.tag, inlet, outlet)
            if loss is not None and loss >= _LEAST_K:
                yield Fault(
                    f"water leaves {part.tag} {quantity(loss, 'K')} cooler than it comes from the "
                    "source, as more is drawn "
                    "from it than goes in",
                    "send more water through the source, or less through the load",
                    parts=(part.tag,),
                    states=(state.state.name,),
                )
                break


def _cooler(facts, state, tag: str, inlet: str, outlet: str) -> float | None:
    """How much cooler [K] water leaves a separator than it arrives, where more leaves; None if that is not known."""
    (came_in, hot), (went_out, warm) = (_at(facts, state, PortId(tag, name)) for name in (inlet, outlet))
    if None in (came_in, hot, went_out, warm) or not 0 < came_in < went_out:
        return None
    return hot - warm


def _at(facts, state, port: PortId) -> tuple[float | None, float | None]:
    pipe = facts.pipe_at(port)
    w = state.pipe_ways.get(pipe.index) if pipe else None
    if w is None:
        return None, None
    flow, way = state.flow(w), state.ways[w]
    forward = way.sign > 0 if not flow else flow > 0
    return (None if flow is None else abs(flow)), state.temperature_c.get(way.start if forward else way.end)
