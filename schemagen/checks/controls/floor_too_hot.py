"""floor-too-hot (error)

What: a heat source that can give more than 55 °C reaches an underfloor circuit without a mixing valve, or through a
    mixing valve but with no limit thermostat on the floor's flow that stops its pump, shuts its valve or stops the
    source. Boilers, stoves and collectors count as hot unless `max-flow:` says otherwise. Advice: sources of 55 °C
    or less without a limit thermostat.
Why: water of 70 °C cracks screed and lifts wooden floors.
Cure: a mixing valve, and behind it a pipe thermostat that stops the pump.
Source: EN 1264, limit of 55 °C and limit thermostat, quoted in a trade article, seen

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      UM1: {kind: underfloor-manifold}
    connections:
      - [B1.flow, UM1.flow-in]
      - [UM1.return-out, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      MS1: {kind: mixing-set}
      UM1: {kind: underfloor-manifold}
      PT1: {kind: pipe-thermostat, on: MS1.load-flow, switches: [MS1]}
    connections:
      - [B1.flow, MS1.source-flow]
      - [MS1.load-flow, UM1.flow-in]
      - [UM1.return-out, MS1.load-return]
      - [MS1.source-return, B1.return]
"""

from schemagen.checks.controls._heat_paths import flow_inlet, heat_sources_of, is_motor_valve, warms_floor
from schemagen.checks.fault import Fault, Unknown
from schemagen.network.network import PortId

LIMIT = 55.0
_MIXING = ("heating-mixing-valve", "mixing-set", "four-port-mixing-valve")
_HOT = ("heat-only-boiler", "system-boiler", "combi-boiler", "electric-flow-boiler", "solid-fuel-stove", "wood-boiler",
        "solar-collector")  # fmt: skip
_LIMITS = ("pipe-thermostat", "cut-out-thermostat")
_BUILT_IN = ("limit", "limit-thermostat", "cut-out")


def check(facts):
    mixers = tuple(p.tag for p in facts.parts(*_MIXING) if p.value("duty") not in ("return", "return-protection"))
    for floor in facts.network.parts.values():
        inlet = _inlet(facts, floor) if warms_floor(floor) else None
        if inlet is not None:
            yield from _floor(facts, inlet, mixers)


def _inlet(facts, floor) -> PortId | None:
    """Where the flow enters; None for a loop that hangs on a manifold, which is judged itself."""
    inlet = flow_inlet(floor)
    far = facts.piped_across(inlet)
    if far is None or facts.network.parts[far.tag].kind.name == "underfloor-manifold":
        return None
    return inlet


def _floor(facts, inlet: PortId, mixers):
    direct, passed = heat_sources_of(facts, inlet, blocked=mixers)
    through = _through_mixers(facts, passed, mixers)
    heat = {tag: _is_hot(facts.network.parts[tag]) for tag in {**direct, **through}}
    hot = [tag for tag in direct if heat[tag]]
    if hot:
        yield Fault(
            f"{hot[0]} sends water of more than 55 °C straight into the floor at {inlet}",
            f"put a mixing valve before {inlet.tag} and a pipe thermostat behind it that stops its pump",
            parts=(inlet.tag, hot[0]),
            pipes=[facts.pipe_at(inlet)],
        )
    elif unknown := [tag for tag in direct if heat[tag] is None]:
        yield Unknown((inlet.tag,), f"max-flow at {', '.join(unknown)}")
    elif not _is_limited(facts, inlet, passed, heat):
        if any(heat[tag] for tag in through):
            yield _unguarded(facts, inlet, "the mixing valve may fail open", None)
        elif direct or through:
            yield _unguarded(facts, inlet, "the source is limited, but nothing guards the floor", "advice")


def _unguarded(facts, inlet: PortId, why: str, severity) -> Fault:
    return Fault(
        f"{inlet} has no limit thermostat: {why}",
        f"put a pipe thermostat on {inlet} that stops the pump, shuts the valve or stops the source",
        parts=(inlet.tag,),
        pipes=[facts.pipe_at(inlet)],
        severity=severity,
    )


def _through_mixers(facts, passed, mixers) -> dict[str, None]:
    """Heat sources that reach the hot inlets of the mixing valves that the walk from the floor came to."""
    found: dict[str, None] = {}
    met = dict.fromkeys(port.tag for port in passed if port.tag in mixers)
    for tag in met:
        for name in facts.network.parts[tag].kind.ports:
            if name in ("hot", "source-flow"):
                found |= heat_sources_of(facts, PortId(tag, name), blocked=mixers)[0]
    return found


def _is_hot(part) -> bool | None:
    """Whether a source can give more than 55 °C; None if that cannot be told."""
    most = part.value("max-flow")
    if most is not None:
        return most > LIMIT
    return True if part.kind.name in _HOT else None


def _is_limited(facts, inlet: PortId, passed, heat) -> bool:
    parts, signals = facts.network.parts, facts.signals
    near = dict.fromkeys((inlet.tag, *(port.tag for port in passed)))
    if any(set(parts[tag].built_in) & set(_BUILT_IN) for tag in near if parts[tag].kind.name in _MIXING):
        return True
    stops = set(heat) | {tag for tag in near if _can_stop(parts[tag])}
    devices = dict.fromkeys(d for tag in near for d in signals.at(tag) if parts[d].kind.name in _LIMITS)
    feels = (d for d in devices if signals.place(d) in passed or signals.place(d) == PortId(inlet.tag, ""))
    return any(set(signals.targets(device)) & stops for device in feels)


def _can_stop(part) -> bool:
    return part.kind.driver == "pump" or is_motor_valve(part) or part.kind.name in _MIXING
