"""glycol-meets-water (error)

What: a circuit with antifreeze is joined to plain water, or has a filling part from the main.
Why: every top-up thins the antifreeze until the pipe freezes; and antifreeze must not creep into drinking water.
Cure: fill with a hand pump through fill-and-flush valves; separate with a coil or plate.
Source: common practice; ethylene glycol is named in fluid category 3 of the Water Fittings Regulations guidance, seen
Caution: antifreeze

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
      T1: {kind: tee}
      L1: {kind: filling-loop}
      D1: {kind: double-check-valve}
      M1: {kind: cold-main}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, T1.a]
      - [M1.out, D1.in]
      - [D1.out, L1.supply-end]
      - [L1.system-end, T1.branch]
      - [T1.b, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve}
      F1: {kind: fill-and-flush-valves}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, F1.a]
      - [F1.b, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import ANTIFREEZE, holds_antifreeze
from schemagen.network.network import PortId

_FROM_MAIN = {"filling-loop": "system-end", "automatic-fill-unit": "system"}


def check(facts):
    for part in facts.parts(*_FROM_MAIN):
        port = PortId(part.tag, _FROM_MAIN[part.kind.name])
        if facts.is_piped(port) and holds_antifreeze(facts, port):
            yield Fault(
                f"{part.tag} tops a circuit with antifreeze up from the main",
                f"take {part.tag} out and fill through fill-and-flush-valves with a hand pump",
                parts=(part.tag,),
                pipes=[facts.pipe_at(port)],
            )
    told = set()
    for pipe in facts.network.pipes:
        if pipe.medium == "heating-water" and holds_antifreeze(facts, pipe.start):
            number = facts.reach.wet_number(pipe.start)
            if number not in told:
                told.add(number)
                yield Fault(
                    f"the pipe {pipe.name} carries plain heating water but is joined to {ANTIFREEZE}",
                    "put a coil or plate exchanger between the two waters",
                    parts=(pipe.start.tag, pipe.end.tag),
                    pipes=[pipe],
                )
