"""valve-no-controller (error)

What: no control device switches a motor valve, and no control is built into it; at a valve with two ways a cut-out
    does not count. Warning: the same at a pump or at a heat source that can be switched; or a thermostat opens a valve
    but by no route starts the pump or source behind it.
Why: a motor without a wire stays where it last stopped, and a cut-out never calls for heat.
Cure: name the part under `switches:` of the device that moves it, or write `built-in: [control]` if it controls
    itself.
Source: common practice, no source
Caution: electric

Wrong:
    parts:
      B1: {kind: system-boiler, built-in: [pump, vessel, relief, gauge, control], capped: [relief-outlet, condensate]}
      ZV1: {kind: zone-valve}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, ZV1, R1, B1.return]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ZV1: {kind: zone-valve}
      R1: {kind: radiator}
      RT1: {kind: room-thermostat, room: Hall, switches: [ZV1, B1]}
    connections:
      - {run: [B1.flow, ZV1, R1, B1.return]}
"""

from schemagen.checks.controls._heat_paths import heat_sources_of, is_motor_valve
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

FOLDS = ("no-interlock", "zone-no-thermostat")
_TWO_WAYS = ("diverter-valve", "mid-position-valve")
_SELF_ACTING = ("ground-loop", "split-outdoor-unit")
_OPENERS = ("room-thermostat", "cylinder-thermostat")
_BUILT_IN = ("control", "thermostat", "controller")


def check(facts):
    yield from _unmoved(facts)
    for part in facts.network.parts.values():
        if part.kind.name in _OPENERS:
            yield from _starts_nothing(facts, part.tag)


def _unmoved(facts):
    for part in facts.network.parts.values():
        devices = facts.signals.behind(part.tag)
        if set(part.built_in) & set(_BUILT_IN) or part.value("spare"):
            continue
        if devices and part.kind.name in _TWO_WAYS and all(_only_cuts_off(facts, device) for device in devices):
            yield _fault(part, f"nothing turns {part.tag}: {devices[0]} only cuts the heat off")
        if devices:
            continue
        if is_motor_valve(part):
            yield _fault(part, f"nothing moves {part.tag}: no control device names it")
        elif part.kind.driver == "pump":
            yield _fault(part, f"nothing switches the pump {part.tag}", "warning")
        elif part.kind.giver == "controlled" and part.kind.name not in _SELF_ACTING:
            yield _fault(part, f"nothing switches {part.tag} on and off", "warning")


def _only_cuts_off(facts, device: str) -> bool:
    return facts.network.parts[device].kind.name == "cut-out-thermostat"


def _starts_nothing(facts, device: str):
    """A thermostat that opens a valve while only other thermostats start what pushes the water there.

    Where a sensor or a controller starts it, the valve is a branch off a network that runs for others.
    """
    parts, signals = facts.network.parts, facts.signals
    targets = [parts[tag] for tag in signals.targets(device)]
    valves = [part for part in targets if is_motor_valve(part) and not part.value("has-end-switch")]
    if not valves or any(part.kind.driver or part.kind.giver for part in targets):
        return
    inlet = next(PortId(valves[0].tag, n) for n, s in valves[0].kind.ports.items() if s.role != "out")
    givers, passed = heat_sources_of(facts, inlet)
    pumps = list(dict.fromkeys(port.tag for port in passed if parts[port.tag].kind.driver == "pump"))
    sources = pumps or [tag for tag in givers if parts[tag].kind.giver == "controlled"]
    callers = {d for tag in sources for d in signals.behind(tag) if signals.feels_warmth(d)}
    if callers and all(_calls_for_itself(facts, d, valves[0]) for d in callers):
        source = next(tag for tag in sources if signals.has_thermostat(tag))
        yield Fault(
            f"{device} opens {valves[0].tag} but starts nothing: {source} waits for {' or '.join(sorted(callers))}",
            f"write switches: [{valves[0].tag}, {source}] at {device}, or has-end-switch: yes at the valve",
            parts=(device, valves[0].tag),
            severity="warning",
        )


def _calls_for_itself(facts, caller: str, valve) -> bool:
    """True for a thermostat, and beside a diverter for a sensor on a buffer: neither calls for what others serve."""
    if facts.network.parts[caller].kind.name in _OPENERS:
        return True
    place = facts.signals.place(caller)
    host = facts.network.parts.get(place.tag) if place else None
    return valve.kind.name == "diverter-valve" and host is not None and host.kind.separates


def _fault(part, message: str, severity: str | None = None) -> Fault:
    cure = f"write switches: [{part.tag}] at the device that does it, or built-in: [control] at {part.tag}"
    if part.built_in:
        cure = cure.replace("[control]", f"[{', '.join((*part.built_in, 'control'))}]")
    return Fault(message, cure, parts=(part.tag,), severity=severity)
