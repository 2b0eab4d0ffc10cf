"""zone-no-thermostat (warning)

What: a zone valve or a zone's pump serves emitters, no room thermostat or sensor has a say in it, and not every
    emitter beyond it has a thermostatic valve. Weather compensation counts, and so does a thermostat on the pump or
    source of that zone alone. Also where the sheet gives `floor-area:` of 150 m² or more and fewer than two rooms
    have a thermostat.
Why: somebody has to tell the valve that the room is warm.
Cure: a room thermostat for each zone, that switches its valve or pump.
Source: two independently controlled circuits from 150 m², Approved Document L volume 1, seen

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ZV1: {kind: zone-valve}
      R1: {kind: radiator}
      PR1: {kind: programmer, switches: [ZV1, B1]}
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

from schemagen.base.units import UnitError, parse
from schemagen.checks.controls._heat_paths import has_trv, heat_sources_of, is_emitter, served_from
from schemagen.checks.fault import Fault, Unknown
from schemagen.network.network import PortId

_LARGE = 150.0
_UK = ("england-and-wales", "england", "wales", "uk", "united-kingdom")


def check(facts):
    zones = _zones(facts)
    for tag in zones:
        served = [facts.network.parts[t] for t in served_from(facts, tag, stops=tuple(zones))]
        emitters = [part for part in served if is_emitter(part)]
        if not emitters or _is_told(facts, tag, zones) or all(has_trv(facts, part) for part in emitters):
            continue
        if facts.signals.is_blind(tag):
            yield Unknown((tag,), f"what the controller of {tag} feels, with reads: or a sensor's switches:")
            continue
        bare = next(part.tag for part in emitters if not has_trv(facts, part))
        yield Fault(
            f"no thermostat has a say in {tag}: nothing shuts it when {bare} has warmed the room",
            f"write switches: [{tag}] at a room thermostat of that zone, or a thermostatic valve at each emitter",
            parts=(tag,),
        )
    yield from _large_dwelling(facts)


def _zones(facts) -> dict[str, None]:
    """Zone valves, and pumps of heating circuits."""
    kinds = {tag: part.kind for tag, part in facts.network.parts.items()}
    return {tag: None for tag, kind in kinds.items() if kind.name == "zone-valve" or _pumps_heating(kind)}


def _pumps_heating(kind) -> bool:
    return kind.driver == "pump" and kind.name != "wholesome-circulating-pump"


def _is_told(facts, tag: str, zones) -> bool:
    if facts.signals.has_thermostat(tag) or "control" in facts.network.parts[tag].built_in:
        return True
    inlet = next(PortId(tag, n) for n, s in facts.network.parts[tag].kind.ports.items() if s.role == "in")
    givers, passed = heat_sources_of(facts, inlet)
    if any(facts.network.parts[p.tag].kind.name == "off-sheet-connector" for p in passed):
        return True
    above = dict.fromkeys((*(p.tag for p in passed if p.tag in zones and p.tag != tag), *givers))
    devices = dict.fromkeys(d for up in above for d in facts.signals.behind(up))
    return any(_speaks_for(facts, device, tag) for device in devices)


def _speaks_for(facts, device: str, tag: str) -> bool:
    """A device on the source speaks for a zone if it follows the weather, or acts on no other zone valve."""
    signals = facts.signals
    if not signals.feels_warmth(device):
        return False
    if signals.is_outdoors(device) or facts.network.parts[device].value("weather-compensated"):
        return True
    valves = [t for t in signals.targets(device) if facts.network.parts[t].kind.name == "zone-valve"]
    return not valves or tag in valves


def _large_dwelling(facts):
    said = facts.network.sheet.get("floor-area", "")
    try:
        area = parse(said, "area", "m²") if said else 0.0
    except UnitError:
        return
    rooms = {str(p.value("room", p.tag)).casefold() for p in facts.parts("room-thermostat")}
    boilers = [p.tag for p in facts.givers if p.kind.giver == "controlled" and p.kind.name != "ground-loop"]
    if area >= _LARGE and len(rooms) < 2 and boilers and facts.region in _UK and facts.premises == "house":
        yield Fault(
            f"a dwelling of {said} has fewer than two rooms with a thermostat",
            "part the heating into two circuits or more, each with a thermostat of its own",
            parts=boilers[:1],
        )
