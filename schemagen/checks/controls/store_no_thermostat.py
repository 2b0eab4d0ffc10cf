"""store-no-thermostat (error)

What: a hot-water store is heated by something that can be stopped, and no thermostat or sensor on the store acts on
    a part whose stopping ends that heat.
Why: with nothing to say "hot enough" the store heats until a safety device trips.
Cure: put a thermostat on the store at the maker's height and let it switch the source, or the valve or pump before
    the coil.
Source: thermostat, cut-out and relief as the three layers of protection, makers' installation manuals, seen;
    Approved Document L from memory
Caution: scald

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ZV1: {kind: zone-valve}
      ST1: {kind: vented-cylinder, capped: [circulation-return]}
      CT1: {kind: cylinder-thermostat, on: ST1}
      PR1: {kind: programmer, switches: [ZV1, B1]}
    connections:
      - {run: [B1.flow, ZV1, ST1.coil-in]}
      - [ST1.coil-out, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      ZV1: {kind: zone-valve}
      ST1: {kind: vented-cylinder, capped: [circulation-return]}
      CT1: {kind: cylinder-thermostat, on: ST1, switches: [ZV1, B1]}
    connections:
      - {run: [B1.flow, ZV1, ST1.coil-in]}
      - [ST1.coil-out, B1.return]
"""

from schemagen.checks.controls._heat_paths import heat_sources_of
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_BUILT_IN = ("thermostat", "sensor", "control")


def check(facts):
    for store in facts.network.parts.values():
        if store.kind.store != "wholesome":
            continue
        devices = [d for d in facts.signals.at(store.tag) if facts.signals.feels_warmth(d)]
        stopped = tuple(dict.fromkeys(t for device in devices for t in facts.signals.targets(device)))
        if not set(store.built_in) & set(_BUILT_IN):
            yield from _coils(facts, store, devices, stopped)
        yield from _heaters(facts, store, stopped)


def _coils(facts, store, devices, stopped):
    for inlet in _coil_inlets(facts, store):
        givers, _ = heat_sources_of(facts, inlet, blocked=stopped)
        free = [tag for tag in givers if _goes_on(facts.network.parts[tag]) and tag not in stopped]
        if free:
            named = ", ".join(free[:3])
            said = f"nothing on {store.tag} says hot enough to {named}"
            if devices:
                said = f"{', '.join(devices)} on {store.tag} stops neither {named} nor a valve or pump between"
            yield Fault(
                said,
                f"let a thermostat on {store.tag} switch {free[0]}, or the valve or pump before {inlet}",
                parts=(store.tag, *devices),
                pipes=[facts.pipe_at(inlet)],
            )


def _coil_inlets(facts, store):
    for way in facts.waterways(store):
        ports = [p for p in way if p.port in store.kind.takes and facts.is_piped(p)]
        entered = [p for p in ports if facts.spec(p).role == "in"] or [p for p in ports if facts.pipe_at(p).end == p]
        yield from entered[:1]


def _goes_on(part) -> bool:
    return part.kind.giver == "controlled" and part.kind.name != "ground-loop"


def _heaters(facts, store, stopped):
    for tag in facts.network.mounted_on.get(store.tag, ()):
        heater = facts.network.parts[tag]
        if heater.kind.giver == "controlled" and "thermostat" not in heater.built_in and tag not in stopped:
            yield Fault(
                f"nothing on {store.tag} says hot enough to {tag}",
                f"write what is inside it, as in built-in: [thermostat, cut-out], or let a thermostat on {store.tag} "
                f"switch {tag}",
                parts=(store.tag, tag),
                ports=[PortId(tag, "boss")] if "boss" in heater.kind.ports else (),
            )
