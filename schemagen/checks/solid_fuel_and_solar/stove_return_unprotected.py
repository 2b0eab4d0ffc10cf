"""stove-return-unprotected (warning)

What: no loading valve stands before the return of a stove or wood boiler, and no pipe thermostat on its flow holds the
    pump off until the flow is hot; or the loading valve is piped the wrong way round, or set below the return that the
    fire needs (`min-return`, else 40 °C for a stove and 55 °C for a wood boiler). Without a pump it is not judged.
Why: cold return water makes acid tar inside the firebox and eats the boiler.
Cure: a loading valve with its bypass leg, or a pump held off until the flow is hot.
Source: a maker's installation manual, seen: return at 40 °C and a pipe thermostat; 55–60 °C for wood
    boilers, from memory

Wrong:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [S1.flow, P1, R1, S1.return]

Right:
    parts:
      S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
      A1: {kind: open-vent-end, at: S1.flow}
      P1: {kind: pump}
      R1: {kind: radiator}
      X1: {kind: pipe-thermostat, on: S1.flow, duty: gate, switches: [P1]}
    connections:
      - [S1.flow, P1, R1, S1.return]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import KINDS
from schemagen.network.network import PortId
from schemagen.network.walks import upstream

_GATES = ("pipe-thermostat", "temperature-sensor")
_LEAST_C = {"solid-fuel-stove": 40.0, "wood-boiler": 55.0}
_VALVE = "loading-valve"


def check(facts):
    for fire in facts.parts(*KINDS):
        gated = {tag for device in _gates(facts, fire) for tag in facts.signals.targets(device)}
        for inlet in facts.return_ports(fire):
            if not facts.is_piped(inlet) or facts.goes_on_elsewhere(inlet):
                continue
            before = _before(facts, inlet)
            pumps = [part.tag for part in before if part.kind.driver == "pump" or "pump" in part.built_in]
            valves = [part for part in before if part.kind.name == _VALVE]
            if valves:
                yield from _valve_faults(facts, fire, valves)
            elif pumps and not gated & set(pumps):
                yield Fault(
                    f"nothing keeps cold water away from {inlet}",
                    f"put a loading-valve before {inlet}, or hold {pumps[0]} off with a pipe-thermostat "
                    f"(`on: {fire.tag}.flow, duty: gate`)",
                    parts=(fire.tag,),
                    pipes=[facts.pipe_at(inlet)],
                )


def _valve_faults(facts, fire, valves):
    cool = {part.tag for part in facts.network.parts.values() if part.kind.takes or part.kind.store or part.kind.gives}
    hot = facts.reach.downstream_of_all(facts.outlet_ports(fire), without=cool | {valve.tag for valve in valves})
    least = fire.value("min-return") or _LEAST_C[fire.kind.name]
    for valve in valves:
        bypass, cold = PortId(valve.tag, "bypass"), PortId(valve.tag, "cold")
        if facts.is_piped(bypass) and bypass not in hot:
            yield Fault(
                f"{bypass} does not get hot water from the flow of {fire.tag}",
                f"join {bypass} to the flow of {fire.tag}, and {cold} to what comes back from the store",
                parts=(valve.tag, fire.tag),
                pipes=[facts.pipe_at(bypass)],
            )
        elif (setting := valve.value("setting")) is not None and setting < least:
            yield Fault(
                f"{valve.tag} opens at {quantity(setting, '°C')}, but {fire.tag} needs "
                f"{quantity(least, '°C')} at its return",
                f"set {valve.tag} to {quantity(least, '°C')} or more",
                parts=(valve.tag, fire.tag),
            )


def _gates(facts, fire) -> list[str]:
    """Devices that feel the fire's flow and are not said to be a limit, which stops a pump when it is hot."""
    parts = facts.network.parts
    devices = (tag for tag in facts.signals.at(fire.tag) if parts[tag].kind.name in _GATES)
    return [tag for tag in devices if parts[tag].texts.get("duty") != "limit"]


def _before(facts, inlet: PortId) -> list:
    """Parts from which water can come to a return, up to sources and stores."""
    parts = facts.network.parts

    def passes(_, way) -> bool:
        kind = parts[way.tag].kind
        return not (kind.gives or kind.store or kind.separates)

    tags = dict.fromkeys(port.tag for port in upstream(facts.reach, inlet, passes))
    return [parts[tag] for tag in tags if not parts[tag].kind.gives]
