"""no-gauge-or-filling-point (warning)

What: a sealed circuit that something heats has no pressure gauge, or nothing to fill it through. Advice: the list says
    that the gauge and the filling point are in different places, so that nobody can read the one at the other.
Why: a pressure that cannot be read cannot be set, and nothing can be topped up through nothing.
Cure: put the gauge next to the filling point.
Source: lists of sealed-system parts in makers' sheets and a textbook, seen; BS EN 12828, from memory

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, at: P1.in}
      F1: {kind: fill-valve, at: P1.in}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, P1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, at: P1.in}
      F1: {kind: fill-valve, at: P1.in}
      G1: {kind: pressure-gauge, at: P1.in}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, P1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heated_circuits import heated_circuits

_GAUGE = "no pressure gauge"
_FILL = "no filling point"
_CURES = {
    _GAUGE: "add a pressure-gauge beside the filling point",
    _FILL: "add a filling-loop behind a double-check-valve, fill-and-flush-valves or a fill-valve",
}


def check(facts):
    for circuit in heated_circuits(facts):
        if not circuit.sealed:
            continue
        gauges, fills = _parts(facts, circuit.gauges), _parts(facts, circuit.fills)
        lacks = [word for word, found in ((_GAUGE, gauges), (_FILL, fills)) if not found]
        if lacks and circuit.section.elsewhere:
            yield Unknown(circuit.tags, "what stands beyond the off-sheet connector")
        elif lacks:
            yield Fault(
                f"the sealed circuit of {', '.join(circuit.tags[:4])} has {' and '.join(lacks)}",
                "; ".join(_CURES[word] for word in lacks),
                parts=circuit.tags,
            )
        elif _out_of_sight(gauges, fills):
            yield Fault(
                f"{gauges[0].tag} cannot be read at {fills[0].tag}: they are in different places",
                f"put a pressure-gauge beside {fills[0].tag}",
                parts=(gauges[0].tag, fills[0].tag),
                severity="advice",
            )


def _parts(facts, ports) -> list:
    return [facts.network.parts[tag] for tag in dict.fromkeys(port.tag for port in ports)]


def _out_of_sight(gauges, fills) -> bool:
    """True if every gauge and every filling point says where it is, and no two share a room or place."""
    where = [{word.casefold() for word in _places(part)} for part in (*gauges, *fills)]
    if not all(where):
        return False
    seen = set().union(*where[: len(gauges)])
    return not any(place & seen for place in where[len(gauges) :])


def _places(part) -> list[str]:
    return [word for word in (part.place, str(part.value("room", "") or "")) if word]
