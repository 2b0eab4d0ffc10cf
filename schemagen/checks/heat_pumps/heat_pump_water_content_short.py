"""heat-pump-water-content-short (warning)

What: the water in circuits that stay open in some state with the heat pump on is less than the maker's least volume;
    without such a figure, advice below 10 litres per kW.
Why: when it defrosts, an air-source unit takes heat back from the water;
    with too little it stops or chills the rooms, and it also starts and stops all day.
Cure: leave circuits open, fit a two-pipe buffer in line, or a larger one.
Source: least water content and reasons: a maker's installation manual, seen;
    10 litres per kW: common practice, no source; EN 15450 buffer figures from memory

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], min-volume: 60 L}
      Z1: {kind: zone-valve}
      Z2: {kind: zone-valve}
      L1: {kind: underfloor-loop, volume: 18 L}
      L2: {kind: underfloor-loop, volume: 22 L}
      T1: {kind: tee}
      T2: {kind: tee}
      F1: {kind: strainer}
    connections:
      - [H1.flow, T1.a]
      - [T1.b, Z1.in]
      - [T1.branch, Z2.in]
      - [Z1.out, L1.in]
      - [Z2.out, L2.in]
      - [L1.out, T2.a]
      - [L2.out, T2.branch]
      - [T2.b, F1.in]
      - [F1.out, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet], min-volume: 40 L}
      L1: {kind: underfloor-loop, volume: 70 L}
      F1: {kind: strainer}
    connections:
      - [H1.flow, L1.in]
      - [L1.out, F1.in]
      - [F1.out, H1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.circulation._ways import WORKING
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.heat_pumps._units import ALL, heat_pumps
from schemagen.network.network import PortId

LEAST_M3_PER_W = 10e-3 / 1000
"""10 litres per kW, from makers' rules of thumb; common practice, no source."""


def check(facts):
    for unit in heat_pumps(facts, *ALL):
        least, output = unit.value("min-volume"), unit.value("output")
        said = [
            (state.name, *_volume(facts, unit, state))
            for state in facts.operation.of_sort(*WORKING)
            if _heats(unit, state)
        ]
        if not said or (least is None and output is None):
            continue
        name, volume, missing = min(said, key=lambda row: row[1])
        wanted = least if least is not None else output * LEAST_M3_PER_W
        if volume >= wanted:
            continue
        if missing:
            yield Unknown((unit.tag,), f"add `volume` to {', '.join(missing[:5])}")
            continue
        yield Fault(
            f"{unit.tag} needs {quantity(wanted, 'L')} in open circuits and has {quantity(volume, 'L')} when: {name}",
            "leave a circuit open, or put a two-pipe buffer into the run",
            parts=(unit.tag,),
            states=(name,),
            severity=None if least is not None else "advice",
        )


def _heats(unit, state) -> bool:
    return unit.tag in state.sources_on and state.positions.get(unit.tag) != "hot-water"


def _volume(facts, unit, state) -> tuple[float, list[str]]:
    """Water that shares the unit's in this state, and takers or stores whose volume is not given."""
    reached = facts.reach.in_state(PortId(unit.tag, unit.kind.gives[0]), state.positions)
    total, missing = 0.0, []
    names: dict[str, set[str]] = {}
    for port in sorted(reached):
        names.setdefault(port.tag, set()).add(port.port)
    for tag, touched in names.items():
        part = facts.network.parts[tag]
        if touched & set(part.kind.takes):
            key = "coil-volume" if part.kind.store == "wholesome" else "volume"
            volume = part.value(key)
            missing += [tag] if volume is None else []
            total += volume or 0.0
        elif part.kind.store == "heating":
            volume = part.value("buffer-volume") or part.value("volume")
            missing += [tag] if volume is None else []
            total += volume or 0.0
    return total, missing
