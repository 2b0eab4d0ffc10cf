"""no-interlock (error)

What: a heat source or a pump of the heating is switched, but by nothing that feels warmth: it runs on while every
    room and store is satisfied. Error for boilers in the United Kingdom, warning elsewhere. Thermostatic radiator
    valves are no call; the sensor of a room, store, buffer or header is one, and so is the end switch of a zone
    valve.
Why: a boiler that fires only to keep itself warm wastes fuel all night.
Cure: let a room thermostat, a store thermostat or the end switches of the zone valves switch the source and its pump.
Source: Approved Document L: with no demand the appliance and its pump are off, seen; controls trade body guidance
    that thermostatic valves alone give no interlock, as a standard rule of the trade, seen
Regions: error for boilers in England, Wales, Scotland and Northern Ireland

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      TV1: {kind: thermostatic-radiator-valve}
      R1: {kind: radiator}
      PR1: {kind: programmer, switches: [B1]}
    connections:
      - {run: [B1.flow, TV1, R1, B1.return]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      TV1: {kind: thermostatic-radiator-valve}
      R1: {kind: radiator}
      R2: {kind: radiator}
      PR1: {kind: programmer, switches: [B1]}
      RT1: {kind: room-thermostat, room: Hall, switches: [B1]}
      T1: {kind: tee}
      T2: {kind: tee}
    connections:
      - {run: [B1.flow, T1, TV1, R1, T2, B1.return]}
      - {run: [T1, R2, T2]}
"""

from schemagen.checks.fault import Fault, Unknown

_BOILERS = ("heat-only-boiler", "system-boiler", "combi-boiler")
_UK = ("england-and-wales", "england", "wales", "scotland", "northern-ireland", "uk", "united-kingdom")
_CALLERS = ("pipe-thermostat", "flow-switch")
_EXEMPT = ("ground-loop", "immersion-heater", "split-outdoor-unit")


def check(facts):
    end_switches = any(part.value("has-end-switch") for part in facts.parts("zone-valve"))
    for part in facts.network.parts.values():
        source = part.kind.giver == "controlled" and part.kind.name not in _EXEMPT
        pump = part.kind.driver == "pump" and part.kind.name != "wholesome-circulating-pump"
        if not (source or pump) or end_switches or _is_called(facts, part.tag):
            continue
        devices = facts.signals.behind(part.tag)
        if facts.signals.is_blind(part.tag):
            yield Unknown((part.tag,), f"what the controller of {part.tag} feels, with reads: or a sensor's switches:")
        elif devices and "control" not in part.built_in:
            yield _fault(facts, part, devices)
        elif source and "control" in part.built_in:
            yield Unknown((part.tag,), f"the thermostat or sensor that stops {part.tag}, with switches: [{part.tag}]")


def _is_called(facts, tag: str) -> bool:
    signals, parts = facts.signals, facts.network.parts
    return any(signals.feels_warmth(d) or parts[d].kind.name in _CALLERS for d in signals.behind(tag))


def _fault(facts, part, devices) -> Fault:
    by = ", ".join(devices)
    boiler = part.kind.name in _BOILERS and facts.region in _UK
    return Fault(
        f"{part.tag} runs on when every room and store is warm: only {by} switches it",
        f"write switches: [{part.tag}] at a room thermostat, a store thermostat or a sensor",
        parts=(part.tag, *devices),
        severity="error" if boiler else "warning",
    )
