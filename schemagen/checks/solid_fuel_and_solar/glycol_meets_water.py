"""glycol-meets-water (error)

What: a circuit with antifreeze is joined to plain heating water, or has a filling part from the main.
Why: every top-up thins the antifreeze until the pipe freezes; and antifreeze must not creep into drinking water.
Cure: fill with a hand pump through fill-and-flush valves; separate with a coil or plate.
Source: common practice; ethylene glycol is named in fluid category 3 of the Water Fittings Regulations, seen
Caution: antifreeze

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      T1: {kind: tee}
      L1: {kind: filling-loop}
      D1: {kind: double-check-valve}
      M1: {kind: cold-main}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, T1, P1, K1, S1.in]
      - [M1.out, D1, L1, T1]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
      F1: {kind: fill-and-flush-valves}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, F1, P1, K1, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._sun import ANTIFREEZE, collectors, holds_antifreeze
from schemagen.network.network import PortId

FOLDS = ("solar-coil-too-high",)
_FROM_MAIN = {"filling-loop": "system-end", "automatic-fill-unit": "system", "disconnecting-preventer": "out"}


def check(facts):
    yield from _topped_up(facts)
    yield from _joined_pipes(facts)
    yield from _joined_sources(facts)


def _topped_up(facts):
    for part in facts.parts(*_FROM_MAIN):
        port = PortId(part.tag, _FROM_MAIN[part.kind.name])
        if facts.is_piped(port) and holds_antifreeze(facts, port):
            yield Fault(
                f"{part.tag} tops a circuit with antifreeze up from the main",
                f"take {part.tag} out and fill through fill-and-flush-valves with a hand pump",
                parts=(part.tag,),
                pipes=[facts.pipe_at(port)],
            )


def _joined_pipes(facts):
    """Pipes that say heating water in a body of water in which others hold antifreeze."""
    mixed = {body for body, medium in zip(facts.waters.body, facts.waters.medium, strict=True) if medium == ANTIFREEZE}
    told = set()
    for pipe in facts.network.pipes:
        body = facts.waters.body[pipe.index]
        if pipe.medium == "heating-water" and body in mixed and body not in told:
            told.add(body)
            yield Fault(
                f"{pipe.name} carries plain heating water but is joined to {ANTIFREEZE}",
                "put a coil or plate exchanger between the two waters",
                parts=(pipe.start.tag, pipe.end.tag),
                pipes=[pipe],
            )


def _joined_sources(facts):
    """Other sources, and stores of heating water, in the antifreeze of a collector that do not say they hold it."""
    told = set()
    for collector in collectors(facts):
        out = PortId(collector.tag, "out")
        number = facts.reach.wet_number(out)
        if number in told or not holds_antifreeze(facts, out):
            continue
        told.add(number)
        tags = dict.fromkeys(port.tag for port in sorted(facts.reach.wet(out)) if _is_body(facts, port))
        others = [tag for tag in tags if facts.network.parts[tag].value("medium") != ANTIFREEZE]
        if others:
            yield Fault(
                f"the antifreeze of {collector.tag} and the heating water of {others[0]} are one water",
                f"put a coil or plate exchanger between {collector.tag} and {others[0]}, "
                f"or write `medium: {ANTIFREEZE}` at {others[0]} if its circuit is filled with it",
                parts=(collector.tag, *others),
            )


def _is_body(facts, port: PortId) -> bool:
    kind = facts.network.parts[port.tag].kind
    return port.port in kind.gives or kind.store == "heating"
