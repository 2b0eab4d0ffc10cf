"""mixed-water-too-cool (warning)

What: the water that reaches the hot side of a mixing valve or mixing set is cooler than its setting.
Why: it stands fully open to hot and still passes water that is too cool; it can never hold its setting.
Cure: a hotter supply, or a lower setting.
Source: heat balance of mixing, as in handbooks

Wrong:
    parts:
      B1: {kind: system-boiler, output: 12 kW, flow-temperature: 40 °C, capped: [relief-outlet, condensate]}
      M1: {kind: mixing-set, setting: 45 °C}
      Z1: {kind: heating-zone, output: 6 kW}
    connections:
      - [B1.flow, M1.source-flow]
      - [M1.load-flow, Z1, M1.load-return]
      - [M1.source-return, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, output: 12 kW, flow-temperature: 60 °C, capped: [relief-outlet, condensate]}
      M1: {kind: mixing-set, setting: 45 °C}
      Z1: {kind: heating-zone, output: 6 kW}
    connections:
      - [B1.flow, M1.source-flow]
      - [M1.load-flow, Z1, M1.load-return]
      - [M1.source-return, B1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.design_facts import design_of, fullest_states
from schemagen.checks.fault import Fault
from schemagen.sizing.plant import MIXERS

_LEAST_K = 0.5


def check(facts):
    mixers = [part for part in facts.parts(*MIXERS) if part.value("setting") is not None]
    for part in mixers:
        hot = MIXERS[part.kind.name][0]
        for state in fullest_states(facts):
            point = design_of(facts).graph.at(part.tag, hot)
            reaches = state.temperature_c.get(point)
            moves = any(way.tag == part.tag and way.a == hot for way in state.ways)
            if moves and reaches is not None and reaches < part.value("setting") - _LEAST_K:
                yield Fault(
                    f"{part.tag} is set to {quantity(part.value('setting'), '°C')}, but water of "
                    f"{quantity(reaches, '°C')} reaches it",
                    "make the supply hotter, or lower the setting",
                    parts=(part.tag,),
                    states=(state.state.name,),
                )
                break
