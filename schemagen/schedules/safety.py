"""Safety devices with their settings: what each protects and where it discharges."""

from collections.abc import Iterator

from schemagen.network.network import Part, PortId
from schemagen.operation.states import is_tap
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import kind_words, listed
from schemagen.schedules.schedule import Schedule, texts
from schemagen.schedules.valve_graph import is_safety

_DEVICES = (
    "cut-out-thermostat", "thermal-discharge-valve", "antifreeze-valve", "inline-antifreeze-valve", "pressure-reducer",
    "thermostatic-mixing-valve", "disconnecting-preventer", "double-check-valve", "automatic-fill-unit",
)  # fmt: skip
_SETTINGS = ("setting", "relief-setting", "temperature-setting", "pre-charge", "volume", "type")
_ENDS = ("tundish", "safe-outlet", "collecting-container", "waste-stack")
_OUTLETS = ("outlet", "relief-outlet")
_OF_RELIEF = ("relief-setting", "pre-charge", "vessel-volume")


def safety_schedule(dossier: Dossier) -> Schedule:
    """One row a device, in the order of the list; those inside a source or a group stand under its tag."""
    columns = texts("tag", "device", "label", "place", "protects", "setting", "discharges to", "on the drawing")
    rows = []
    for part in dossier.network.parts.values():
        for device, setting in _devices(part):
            zone = dossier.zones.get(part.tag, "")
            rows.append((
                part.tag, device, part.label, part.place, _protects(dossier, part), setting, _ends(dossier, part), zone,
            ))  # fmt: skip
    return Schedule("safety", "Safety devices and settings", columns, tuple(rows))


def _devices(part: Part) -> Iterator[tuple[str, str]]:
    kind = part.kind
    if kind.name in _DEVICES or is_safety(part) and kind.name not in ("safe-outlet", "open-vent-end"):
        yield kind_words(part), _said(part, _SETTINGS)
    elif kind.name == "open-vent-end":
        yield kind_words(part), "always open"
    elif kind.gives and {"relief", "vessel"} & set(part.built_in):
        inside = [name for name in ("relief", "vessel") if name in part.built_in]
        yield f"{listed(_INSIDE[name] for name in inside)} built in".capitalize(), _said(part, _OF_RELIEF)
    elif kind.name == "immersion-heater":
        yield "Thermostat and cut-out built in", _said(part, ("setting",))


_INSIDE = {"relief": "relief valve", "vessel": "expansion vessel"}


def _said(part: Part, keys: tuple[str, ...]) -> str:
    given = [(key, part.texts[key]) for key in keys if part.texts.get(key)]
    alone = len(given) == 1 and given[0][0].endswith("setting")
    return given[0][1] if alone else "; ".join(f"{key.replace('-', ' ')} {text}" for key, text in given)


def _protects(dossier: Dossier, part: Part) -> str:
    """The sources and stores in the same water, or what the device is mounted on."""
    parts = dossier.network.parts
    if host := dossier.network.host_of(part.tag):
        return host.tag
    if part.kind.gives:
        return part.tag
    ports = [p for p in dossier.facts.wet_ports(part) if part.kind.ports[p.port].media != "D"]
    if part.kind.name == "tundish" or not ports:
        return ""
    if part.kind.protects and not is_safety(part):
        return "drinking water"
    if part.kind.name in _BEHIND:
        start = PortId(part.tag, _BEHIND[part.kind.name])
        taps = [tag for tag, p in parts.items() if is_tap(p)]
        below = {port.tag for port in dossier.facts.reach.downstream(start, without=(part.tag, *taps))}
        wanted = "stores" if part.kind.name == "pressure-reducer" else "ends"
        return listed(t for t, p in parts.items() if t in below and p.kind.family == wanted)
    inside = (p for port in ports for p in dossier.facts.section(port).ports)
    held = (p.tag for p in inside if _holds(parts[p.tag], p.port))
    return ", ".join(dict.fromkeys(held))


_BEHIND = {"thermostatic-mixing-valve": "mixed", "pressure-reducer": "out"}
"""Kinds that protect what lies behind this opening."""


def _holds(part: Part, port: str) -> bool:
    """True for an opening to the water of a source, or to the body of a store."""
    return port in part.kind.gives or bool(part.kind.store) and port not in part.kind.takes


def _ends(dossier: Dossier, part: Part) -> str:
    """The tundish and the ends that its discharge runs to, with their labels."""
    parts = dossier.network.parts
    names = [name for name in part.kind.ports if name in _OUTLETS or part.kind.name == "tundish" and name == "out"]
    reached = dossier.facts.reach.downstream_of_all(PortId(part.tag, name) for name in names)
    ends = [
        t for t, p in parts.items() if p.kind.name in _ENDS and any(port.tag == t for port in reached) and t != part.tag
    ]
    return listed(f"{t} ({parts[t].label})" if parts[t].label else t for t in ends)
