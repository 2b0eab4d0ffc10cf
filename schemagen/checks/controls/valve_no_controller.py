"""valve-no-controller (error)

What: no control device switches a motor valve, and no control is built into it. Warning: the same at a pump or at a
    heat source that can be switched.
Why: a motor without a wire stays where it last stopped.
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

from schemagen.checks.controls._heat_paths import is_motor_valve
from schemagen.checks.fault import Fault

FOLDS = ("no-interlock", "zone-no-thermostat")
_SELF_ACTING = ("ground-loop", "split-outdoor-unit")
_BUILT_IN = ("control", "thermostat", "controller")


def check(facts):
    for part in facts.network.parts.values():
        if facts.signals.behind(part.tag) or set(part.built_in) & set(_BUILT_IN) or part.value("spare"):
            continue
        if is_motor_valve(part):
            yield _fault(part, f"nothing moves {part.tag}: no control device names it")
        elif part.kind.driver == "pump":
            yield _fault(part, f"nothing switches the pump {part.tag}", "warning")
        elif part.kind.giver == "controlled" and part.kind.name not in _SELF_ACTING:
            yield _fault(part, f"nothing switches {part.tag} on and off", "warning")


def _fault(part, message: str, severity: str | None = None) -> Fault:
    cure = f"write switches: [{part.tag}] at the device that does it, or built-in: [control] at {part.tag}"
    if part.built_in:
        cure = cure.replace("[control]", f"[{', '.join((*part.built_in, 'control'))}]")
    return Fault(message, cure, parts=(part.tag,), severity=severity)
