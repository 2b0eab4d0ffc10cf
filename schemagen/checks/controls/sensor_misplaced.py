"""sensor-misplaced (warning)

What: a device does not feel the thing that it governs: the sensor of a mixing valve away from the mixed water; a
    store thermostat on a part that is no store, or acting for another store; a solar controller without one sensor
    at the collector and one at the store; a circulation thermostat off the circulation return. Error for safety
    devices: a floor's limit thermostat before the mixing valve, a cut-out on another store than the one whose heat
    it stops.
Why: a controller is only as good as the spot that it feels.
Cure: move the sensor to what it governs: write that part or opening under `on:`.
Source: common practice, no source; pipe thermostat before the floor as in EN 1264, quoted in a trade article, seen

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      MV1: {kind: heating-mixing-valve}
      P1: {kind: pump}
      UL1: {kind: underfloor-loop}
      T1: {kind: tee}
      PT1: {kind: pipe-thermostat, on: B1.flow, switches: [P1]}
    connections:
      - [B1.flow, MV1.hot]
      - {run: [MV1.mixed, P1, UL1, T1, B1.return]}
      - [T1, MV1.cold]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      MV1: {kind: heating-mixing-valve}
      P1: {kind: pump}
      UL1: {kind: underfloor-loop}
      T1: {kind: tee}
      PT1: {kind: pipe-thermostat, on: UL1.in, switches: [P1]}
    connections:
      - [B1.flow, MV1.hot]
      - {run: [MV1.mixed, P1, UL1, T1, B1.return]}
      - [T1, MV1.cold]
"""

from schemagen.checks.controls._heat_paths import flow_inlet, heat_sources_of, served_from, warms_floor
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId
from schemagen.network.walks import downstream

_MIXERS = {"heating-mixing-valve": "mixed", "four-port-mixing-valve": "load-flow", "mixing-set": "load-flow"}


def check(facts):
    for device in facts.network.parts.values():
        match device.kind.name:
            case "temperature-sensor":
                yield from _mixing_sensor(facts, device.tag)
            case "pipe-thermostat":
                yield from _floor_limit(facts, device)
                yield from _circulation(facts, device.tag)
            case "cylinder-thermostat" | "store-thermostat":
                yield from _store_device(facts, device.tag)
            case "cut-out-thermostat":
                yield from _cut_out(facts, device.tag)
            case "controller":
                yield from _solar(facts, device.tag)


def _mixing_sensor(facts, device: str):
    place = facts.signals.place(device)
    if place is None or facts.signals.is_outdoors(device):
        return
    for tag in facts.signals.targets(device):
        outlet = _MIXERS.get(facts.network.parts[tag].kind.name)
        host = facts.network.parts[place.tag]
        if outlet is None or place.tag == tag or host.kind.store or host.kind.separates or host.kind.giver:
            continue
        mixed = downstream(facts.reach, PortId(tag, outlet), _stays_mixed(facts, tag))
        if place not in mixed and not (place.port == "" and any(port.tag == place.tag for port in mixed)):
            yield Fault(
                f"{device} governs {tag} but feels {_at(place)}, not the mixed water",
                f"write on: and an opening behind {tag}.{outlet}, beyond the pump",
                parts=(device, tag),
            )


def _stays_mixed(facts, tag: str):
    parts = facts.network.parts

    def passes(port, _) -> bool:
        kind = parts[port.tag].kind
        return port.tag != tag and not (kind.giver or kind.taker or kind.store or kind.name in _MIXERS)

    return passes


def _floor_limit(facts, device):
    place = facts.signals.place(device.tag)
    if place is None or device.value("duty") not in (None, "", "limit"):
        return
    mixers = tuple(p.tag for p in facts.parts(*_MIXERS))
    for tag in facts.signals.targets(device.tag):
        part = facts.network.parts[tag]
        if part.kind.driver != "pump" and part.kind.name not in _MIXERS and part.kind.name != "zone-valve":
            continue
        floors = [facts.network.parts[t] for t in served_from(facts, tag) if warms_floor(facts.network.parts[t])]
        for floor in floors[:1]:
            _, passed = heat_sources_of(facts, flow_inlet(floor), blocked=mixers)
            if place not in passed and place.tag != floor.tag and any(port.tag in mixers for port in passed):
                yield Fault(
                    f"{device.tag} guards the floor {floor.tag} but feels {_at(place)}, not the mixed water",
                    f"write on: {flow_inlet(floor)} at {device.tag}",
                    parts=(device.tag, floor.tag),
                    severity="error",
                )


def _circulation(facts, device: str):
    place = facts.signals.place(device)
    targets = facts.signals.targets(device)
    pumps = [tag for tag in targets if facts.network.parts[tag].kind.name == "wholesome-circulating-pump"]
    if not place or not pumps:
        return
    names = [place.port] if place.port else list(facts.network.parts[place.tag].kind.ports)
    pipes = [p for name in names for p in facts.network.pipes_at.get(PortId(place.tag, name), ())]
    if pipes and not any(facts.waters.section[pipe.index] == "circulation" for pipe in pipes):
        yield Fault(
            f"{device} switches {pumps[0]} but feels {_at(place)}, not the circulation return",
            f"write on: {pumps[0]}.in at {device}",
            parts=(device, pumps[0]),
        )


def _store_device(facts, device: str):
    place = facts.signals.place(device)
    if place is None:
        return
    host = facts.network.parts[place.tag]
    if not host.kind.store and not host.kind.separates:
        yield Fault(
            f"{device} is a thermostat for a store but sits on {place.tag} ({host.kind.title})",
            f"write on: and the tag of the store at {device}",
            parts=(device, place.tag),
        )
        return
    yield from _acts_elsewhere(facts, device, place.tag, None)


def _cut_out(facts, device: str):
    place = facts.signals.place(device)
    if place is not None and facts.network.parts[place.tag].kind.store:
        yield from _acts_elsewhere(facts, device, place.tag, "error")


def _acts_elsewhere(facts, device: str, host: str, severity):
    """A valve or pump that the device moves heats other stores and not the one that it feels."""
    parts = facts.network.parts
    for tag in parts[device].value("switches", ()):
        kind = parts[tag].kind
        if kind.name not in ("zone-valve", "diverter-valve", "mid-position-valve") and kind.driver != "pump":
            continue
        stores = [t for t in served_from(facts, tag) if parts[t].kind.store]
        if stores and host not in stores:
            yield Fault(
                f"{device} feels {host}, but {tag}, which it switches, heats {', '.join(stores)}",
                f"write on: {stores[0]} at {device}, or name the valve of {host} under switches:",
                parts=(device, tag),
                severity=severity,
            )


def _solar(facts, device: str):
    signals, parts = facts.signals, facts.network.parts
    pumps = [t for t in signals.targets(device) if parts[t].kind.driver == "pump"]
    collectors = [p for p in facts.parts("solar-collector")]
    mine = [c for c in collectors if any(_share_water(facts, c.tag, pump) for pump in pumps)]
    places = [p for d in signals.behind(device) if (p := signals.place(d))]
    if not mine or not places and not signals.behind(device):
        return
    hot = any(parts[p.tag].kind.name == "solar-collector" for p in places)
    cool = any(parts[p.tag].kind.store or parts[p.tag].kind.name == "plate-heat-exchanger" for p in places)
    if not (hot and cool):
        missing = f"the collector {mine[0].tag}" if not hot else "the lower coil of the store"
        yield Fault(
            f"{device} runs the solar pump without a sensor at {missing}",
            f"add a temperature-sensor there that switches {device}",
            parts=(device, mine[0].tag),
        )


def _share_water(facts, a: str, b: str) -> bool:
    ports = [PortId(tag, next(iter(facts.network.parts[tag].kind.ports))) for tag in (a, b)]
    return facts.reach.same_water(*ports)


def _at(place: PortId) -> str:
    return str(place) if place.port else place.tag
