"""heat-pump-no-flexibles (advice)

What: an opening of an outdoor unit with a fan or compressor is not joined directly to a flexible hose.
Why: rigid pipe carries the hum into the house and cracks with movement.
Cure: two hoses, full bore, no smaller than the openings, with service valves behind them.
Source: makers' installation manuals, seen

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      F1: {kind: magnetic-filter}
      R1: {kind: radiator}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      X1: {kind: flexible-hose}
      X2: {kind: flexible-hose}
      F1: {kind: strainer}
      R1: {kind: radiator}
    connections:
      - [H1.flow, X1.a]
      - [X1.b, R1.a]
      - [R1.b, F1.in]
      - [F1.out, X2.a]
      - [X2.b, H1.return]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import heat_pumps, legs

_NOT_RIGID = ("flexible-hose", "off-sheet-connector")


def check(facts):
    for unit in heat_pumps(facts, "air-heat-pump"):
        if facts.built_in(unit.tag, "hoses"):
            continue
        rigid = [
            port
            for port in legs(facts, unit)
            if facts.network.parts[facts.piped_across(port).tag].kind.name not in _NOT_RIGID
        ]
        if rigid:
            yield Fault(
                f"rigid pipe is joined to {' and '.join(str(port) for port in rigid)}",
                f"put a flexible hose at {rigid[0]}, or write `built-in: hoses` at {unit.tag}",
                parts=(unit.tag,),
                pipes=[facts.pipe_at(port) for port in rigid],
            )
