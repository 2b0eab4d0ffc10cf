"""reference-room-valve (advice)

What: every emitter in the room of a room thermostat has a thermostatic valve.
Why: the valve shuts first, the thermostat never warms up, and the heat source runs on.
Cure: plain valves (wheel-head and lockshield) at the emitters of that room.
Source: a controls trade body and Approved Document L guidance, seen, as a standard rule of the trade

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      TV1: {kind: thermostatic-radiator-valve}
      R1: {kind: radiator, room: Hall}
      RT1: {kind: room-thermostat, room: Hall, switches: [B1]}
    connections:
      - {run: [B1.flow, TV1, R1, B1.return]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      WV1: {kind: radiator-valve}
      R1: {kind: radiator, room: Hall}
      RT1: {kind: room-thermostat, room: Hall, switches: [B1]}
    connections:
      - {run: [B1.flow, WV1, R1, B1.return]}
"""

from schemagen.checks.controls._heat_paths import TRV, is_emitter
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    emitters: dict[str, list] = {}
    for part in facts.network.parts.values():
        if is_emitter(part) and part.value("room"):
            emitters.setdefault(_name(part), []).append(part)
    for thermostat in facts.parts("room-thermostat"):
        if thermostat.value("type") == "frost" or not facts.signals.targets(thermostat.tag):
            continue
        here = emitters.get(_name(thermostat), [])
        valves = [_valve(facts, part) for part in here]
        if here and all(valves):
            yield Fault(
                f"{valves[0]} shuts {here[0].tag} before {thermostat.tag} in the same room feels warm",
                f"put a plain valve in place of {', '.join(dict.fromkeys(valves))}",
                parts=(valves[0], thermostat.tag),
            )


def _name(part) -> str:
    return str(part.value("room", "")).strip().casefold()


def _valve(facts, emitter) -> str:
    """Tag of the thermostatic valve in the run of an emitter, "" if it has none."""
    ends = [PortId(emitter.tag, name) for name in emitter.kind.takes]
    tags = (p.tag for end in ends for p in facts.run_from(end))
    return next((tag for tag in tags if facts.network.parts[tag].kind.name == TRV), "")
