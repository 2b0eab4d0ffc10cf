"""outdoor-water-unprotected (error)

What: water without antifreeze runs outdoors or in an unheated place,
    and neither frost valves on both legs nor independent frost protection is listed.
Why: in a winter power cut the heat pump cannot run its pump to keep itself warm; ice splits the plate.
Cure: antifreeze mix, or frost valves on both legs.
Source: antifreeze, heater or drain-down as the options: design handbook, seen; otherwise common practice

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], place: Outside}
      T1: {kind: tee}
      A1: {kind: antifreeze-valve}
      R1: {kind: radiator}
      F1: {kind: strainer}
    connections:
      - [H1.flow, T1.a]
      - [T1.branch, A1.inlet]
      - [T1.b, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], place: Outside}
      A1: {kind: inline-antifreeze-valve}
      A2: {kind: inline-antifreeze-valve}
      R1: {kind: radiator}
      F1: {kind: strainer}
    connections:
      - [H1.flow, A1.a]
      - [A1.b, R1.a]
      - [R1.b, F1.in]
      - [F1.out, A2.a]
      - [A2.b, H1.return]
"""

from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import has_antifreeze, is_outdoors, legs

_VALVES = ("antifreeze-valve", "inline-antifreeze-valve")


MIX_LEAST = 0.2
"""Share of propylene glycol below which a mix freezes at about −8 °C: from memory."""


def check(facts):
    yield from _thin_mix(facts)
    for unit in facts.givers:
        if not is_outdoors(unit.place) or unit.kind.name in ("solar-collector", "ground-loop", "split-outdoor-unit"):
            continue
        if unit.value("frost-protection"):
            continue
        bare = [
            port for port in legs(facts, unit) if not has_antifreeze(facts, port) and not _has_frost_valve(facts, port)
        ]
        if bare:
            yield Fault(
                f"plain water stands outdoors at {' and '.join(str(port) for port in bare)}",
                "fill with antifreeze mix (`medium: antifreeze-mix` on a pipe), or put a frost valve on each leg",
                parts=(unit.tag,),
                pipes=[facts.pipe_at(port) for port in bare],
                ports=tuple(bare),
            )


def _thin_mix(facts):
    """Collectors whose fluid is said to hold too little antifreeze, or none."""
    share = facts.network.fluids.get("solar-fluid", facts.network.fluids.get("antifreeze-mix", {})).get("antifreeze")
    drained = any(True for _ in facts.parts("drain-back-vessel"))
    for collector in facts.parts("solar-collector"):
        if share is not None and share < MIX_LEAST and not drained and not collector.value("frost-protection"):
            yield Fault(
                f"the fluid of {collector.tag} holds {share:.0%} antifreeze and freezes in a cold winter",
                "write the share that the collector's maker asks for, such as `antifreeze: 40 %`, or drain back",
                parts=(collector.tag,),
            )


def _has_frost_valve(facts, port) -> bool:
    """True if a frost valve hangs on this leg before anything that heats, stores or takes."""
    stop = bodies(facts) | {part.tag for part in facts.takers}
    seen, todo = {port}, [port]
    while todo:
        here = todo.pop()
        if facts.network.parts[here.tag].kind.name in _VALVES:
            return True
        onward = list(facts.reach.piped_to[here])
        if here.tag not in stop:
            onward += [way.to for way in facts.reach.ways[here]]
        for other in onward:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return False
