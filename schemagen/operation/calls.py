"""What can call for heat or hot water in a system, and what each call makes the moving parts do.

A thermostat or sensor calls. What only permits (a programmer, a limit thermostat, an outdoor sensor) is taken as
permitting, and calls by itself only for parts that nothing else calls for. A controller passes calls on.
"""

from collections.abc import Iterable, Iterator, Mapping
from dataclasses import dataclass, field

from schemagen.network.network import Network, Part, PortId

HEATING, HOT_WATER, BUFFER = "heating", "hot water", "buffer"
CIRCULATION, FROST, SOLAR, STOVE = "hot-water circulation", "frost protection", "solar", "stove"

_STRONG = ("room-thermostat", "cylinder-thermostat", "store-thermostat", "temperature-sensor", "controller")
_RANK = {**dict.fromkeys(_STRONG, 3), "pipe-thermostat": 2, "flow-switch": 2, "outdoor-sensor": 1, "programmer": 0}
"""Who calls for a part: the devices of the highest rank that act on it. A cut-out thermostat never calls."""

_SENSORS = ("temperature-sensor", "outdoor-sensor", "pipe-thermostat")
_FIRES = ("solid-fuel-stove", "wood-boiler")


@dataclass(frozen=True)
class Call:
    """One reason to run. `duty` is what for; `tags` the devices, or the part itself if no device is listed.

    wants     positions by tag ("on", "open", "a", "hot-water"), in the order of the list
    priority  rank of the call as stated, 1 first; None if the list does not say
    follows   it comes by itself whenever another call takes heat (the sensor of a header without volume)
    """

    duty: str
    tags: tuple[str, ...]
    wants: Mapping[str, str] = field(default_factory=dict)
    priority: int | None = None
    follows: bool = False


def find_calls(network: Network) -> tuple[Call, ...]:
    """All calls of a network: hot water first, then heating, then the rest, each in the order of the list."""
    calls = list(_Calls(network).found())
    order = (HOT_WATER, HEATING)
    return tuple(sorted(calls, key=lambda c: order.index(c.duty) if c.duty in order else len(order)))


def idle_side(network: Network, part: Part, served: Mapping[str, tuple[str, ...]]) -> str:
    """Where a diverter stands when nothing asks it to turn: its rest, else the side that does not serve a store."""
    if part.kind.rest:
        return part.kind.rest
    hot = _side_for(network, part, HOT_WATER, "", served)
    return next(side for side in part.kind.positions if side != hot)


def served_by(network: Network, tag: str) -> dict[str, tuple[str, ...]]:
    """The takers, stores and separators next to each opening of a part: on the way in which the list lets water run."""
    return {name: _beyond(network, PortId(tag, name)) for name in network.parts[tag].kind.ports}


def _beyond(network: Network, start: PortId) -> tuple[str, ...]:
    downstream = any(pipe.start == start for pipe in network.pipes_at.get(start, ()))
    seen: set[PortId] = set()
    todo = [start]
    tags: dict[str, None] = {}
    while todo:
        port = todo.pop()
        far = [p.end if downstream else p.start for p in network.pipes_at.get(port, ())]
        for other in far:
            kind = network.parts[other.tag].kind
            if other == port or other in seen:
                continue
            seen.add(other)
            if other.port in kind.takes or kind.separates:
                tags[other.tag] = None
            elif not (other.port in kind.gives or kind.name == "bypass-valve"):
                todo += [way.to for way in network.reach.ways[other]]
    return tuple(tags)


def _side_for(network: Network, part: Part, duty: str, host: str, served: Mapping[str, tuple[str, ...]]) -> str:
    """Which outlet of a diverter a call wants: as `serves` says, else where its store hangs, else by its rest."""
    sides = part.kind.positions
    said = {side: str(text).casefold().replace("-", " ") for side, text in part.value("serves", {}).items()}
    for word in (host.casefold(), HOT_WATER if duty == HOT_WATER else HEATING):
        if found := [side for side in sides if word and word in said.get(side, "")]:
            return found[0]
    if duty == HOT_WATER:
        stores = [s for s in sides if host in served[s]] or [s for s in sides if _heats_water(network, served[s])]
        if len(stores) == 1:
            return stores[0]
        return next(side for side in sides if side != part.kind.rest)
    hot = _side_for(network, part, HOT_WATER, "", served)
    return next(side for side in sides if side != hot)


def _heats_water(network: Network, tags: Iterable[str]) -> bool:
    return any(network.parts[tag].kind.store == "wholesome" for tag in tags)


class _Calls:
    def __init__(self, network: Network) -> None:
        self.network = network
        self.parts = network.parts
        self._served: dict[str, dict[str, tuple[str, ...]]] = {}

    def found(self) -> Iterator[Call]:
        from_devices = [call for call in self._of_devices() if call.wants]
        fires = list(self._of_fires(from_devices))
        wanted = {tag for call in (*from_devices, *fires) for tag in call.wants}
        hot_wanted = {t for call in from_devices if call.duty == HOT_WATER for t in call.wants}
        own = [*self._of_valves(wanted), *self._of_indoor_units(hot_wanted)]
        yield from (*from_devices, *own, *fires)
        if not from_devices and not own:
            yield from self._plain(wanted)

    # devices

    def _of_devices(self) -> Iterator[Call]:
        targets: dict[str, list[str]] = {}
        for tag in self.parts:
            for device in self._callers(tag):
                targets.setdefault(device, []).append(tag)
        for device in self.parts:
            if device in targets:
                yield self._call(device, targets[device])

    def _callers(self, tag: str) -> list[str]:
        """The devices that call for a part, controllers looked through: those of the highest rank."""
        if self.parts[tag].kind.is_control:
            return []
        found = self._behind(tag, set())
        top = max((self._rank(device) for device in found), default=-1)
        return [device for device in found if self._rank(device) == top >= 0]

    def _behind(self, tag: str, seen: set[str]) -> list[str]:
        devices: dict[str, None] = {}
        for device in self.network.switched_by.get(tag, ()):
            if device in seen or device == tag:
                continue
            if self.parts[device].kind.name == "controller":
                devices |= dict.fromkeys(self._through_hub(device, tag, seen | {device}))
            else:
                devices[device] = None
        return list(devices)

    def _through_hub(self, hub: str, tag: str, seen: set[str]) -> list[str]:
        """Who speaks through a controller to one of its parts; the controller itself if only sensors inform it."""
        before = [*self._behind(hub, seen), *(t for t in self.parts[hub].value("reads", ()) if t not in seen)]
        callers = [d for d in before if self._rank(d) == 3 and self.parts[d].kind.name not in _SENSORS]
        if not callers:
            return [hub, *(d for d in before if self._rank(d) < 3)]
        if len(callers) > 1 and self.parts[tag].kind.moved_by == "motor" and self.parts[tag].kind.passages:
            return self._meant(callers, tag)
        return callers

    def _meant(self, callers: list[str], tag: str) -> list[str]:
        """Of several devices behind one controller, those whose store or room a valve serves; all if none is nearer."""
        if self.parts[tag].kind.name in ("diverter-valve", "mid-position-valve") or self.parts[tag].kind.giver:
            return callers
        served = self._nearest(tag)
        claims = {d: self._claims(d, served) for d in callers}
        mine = [d for d in callers if claims[d]]
        if mine:
            return mine
        hot = _heats_water(self.network, served)
        alike = [d for d in callers if (self._duty(d, [tag]) == HOT_WATER) == hot]
        return alike or callers

    def _claims(self, device: str, served: tuple[str, ...]) -> bool:
        host, room = self.network.host_of(device), str(self.parts[device].value("room", "")).casefold()
        if host and host.tag in served:
            return True
        return bool(room) and any(str(self.parts[t].value("room", "")).casefold() == room for t in served)

    def _nearest(self, tag: str) -> tuple[str, ...]:
        """What a two-port valve serves: the side on which fewer takers lie."""
        sides = [tags for tags in self.served(tag).values() if tags]
        return min(sides, key=len, default=())

    def served(self, tag: str) -> dict[str, tuple[str, ...]]:
        if tag not in self._served:
            self._served[tag] = served_by(self.network, tag)
        return self._served[tag]

    def _rank(self, device: str) -> int:
        part = self.parts[device]
        if part.kind.name == "temperature-sensor" and "outdoor" in part.place.casefold():
            return _RANK["outdoor-sensor"]
        return _RANK.get(part.kind.name, -1 if part.kind.is_control else 3)

    def _call(self, device: str, targets: list[str]) -> Call:
        duty = self._duty(device, targets)
        host = self._about(device)[1]
        if duty in (SOLAR, STOVE):
            targets = [*targets, host]
        wants = {tag: word for tag in targets if (word := self._want(tag, duty, host))}
        priority = self.parts[device].value("priority")
        rank = int(priority) if isinstance(priority, int | float) else None
        return Call(duty, (device,), wants, rank, self._is_following(device))

    def _informants(self, device: str) -> list[str]:
        """The device, and the sensors that inform it if it is a controller."""
        if self.parts[device].kind.name != "controller":
            return [device]
        told = [*self.network.switched_by.get(device, ()), *self.parts[device].value("reads", ())]
        return [device, *dict.fromkeys(told)]

    def _places(self, device: str) -> Iterator[tuple[str, PortId]]:
        """Where a device feels, or where the sensors of a controller do."""
        for one in self._informants(device):
            place = self.network.host_of(one) or self.parts[one].value("senses")
            if place and place.tag in self.parts:
                yield one, place

    def _about(self, device: str) -> tuple[str, str]:
        """What a device feels: a duty and the part that says so; a collector or stove goes before all else."""
        found = [(duty, place.tag) for one, place in self._places(device) if (duty := self._duty_at(one, place))]
        return min(found, key=lambda said: said[0] not in (SOLAR, STOVE), default=("", ""))

    def _duty(self, device: str, targets: list[str]) -> str:
        name = self.parts[device].kind.name
        if name == "room-thermostat":
            return FROST if self.parts[device].value("type") == "frost" else HEATING
        if duty := self._about(device)[0]:
            return duty
        if any(self.parts[tag].kind.name == "wholesome-circulating-pump" for tag in targets):
            return CIRCULATION
        return HOT_WATER if name == "cylinder-thermostat" else HEATING

    def _duty_at(self, device: str, place: PortId) -> str:
        host = self.parts[place.tag]
        if host.kind.name == "solar-collector":
            return SOLAR
        if host.kind.name in _FIRES:
            return STOVE
        if host.kind.name == "swimming-pool":
            return HEATING
        if host.kind.store == "wholesome" and host.kind.separates:
            return HOT_WATER if self._feels_cylinder(device, place) else BUFFER
        return {"wholesome": HOT_WATER, "heating": BUFFER}.get(host.kind.store, "")

    def _feels_cylinder(self, device: str, place: PortId) -> bool:
        """In a casing with cylinder and buffer: True if the device is at the cylinder."""
        if self.parts[device].kind.name == "cylinder-thermostat" or place.port:
            spec = self.parts[place.tag].kind.ports.get(place.port)
            return spec is None or spec.media != "H" or place.port.startswith("coil")
        beside = self.network.mounted_on.get(place.tag, ())
        return all(self.parts[other].kind.name != "cylinder-thermostat" for other in beside)

    def _is_following(self, device: str) -> bool:
        hosts = [self.network.host_of(one) for one in self._informants(device)]
        kinds = [self.parts[h.tag].kind for h in hosts if h and h.tag in self.parts]
        return bool(kinds) and all(kind.separates and not kind.store for kind in kinds)

    def _want(self, tag: str, duty: str, host: str = "") -> str:
        """The position that a call for this duty asks of a part, "" if the part has none to choose."""
        part = self.parts[tag]
        kind = part.kind
        if kind.name == "diverter-valve":
            return _side_for(self.network, part, duty, host, self.served(tag))
        if kind.name == "mid-position-valve":
            return "hot-water" if duty == HOT_WATER else "heating"
        if "heating" in kind.positions:
            own = duty == HOT_WATER and self.network.pipes_at.get(PortId(tag, "hot-water-flow"))
            return "hot-water" if own else "heating"
        if "open" in kind.positions and kind.moved_by in ("motor", "hand"):
            return "open"
        return "on" if kind.driver or kind.giver else ""

    # calls without a device

    def _of_valves(self, wanted: set[str]) -> Iterator[Call]:
        """A motor valve that no device moves is taken as moved by a call of its own."""
        for tag, part in self.parts.items():
            name = part.kind.name
            if name == "zone-valve" and tag not in wanted:
                hot = _heats_water(self.network, self._nearest(tag))
                yield Call(HOT_WATER if hot else HEATING, (tag,), {tag: "open"})
            elif name in ("diverter-valve", "mid-position-valve") and tag not in wanted:
                for duty in (HOT_WATER, HEATING):
                    yield Call(duty, (tag,), {tag: self._want(tag, duty)})

    def _of_indoor_units(self, hot: set[str]) -> Iterator[Call]:
        """An indoor unit with a hot-water outlet has a hot-water sensor of its own."""
        for tag, part in self.parts.items():
            outlet = self.network.pipes_at.get(PortId(tag, "hot-water-flow"))
            if part.kind.name == "heat-pump-indoor-unit" and outlet and tag not in hot:
                yield Call(HOT_WATER, (tag,), {tag: "hot-water"})

    def _of_fires(self, calls: list[Call]) -> Iterator[Call]:
        """Stoves and collectors are hot when they are hot; a call that moves their water tells of it."""
        wanted = {tag for call in calls for tag in call.wants}
        for tag, part in self.parts.items():
            if part.kind.giver == "uncontrolled" and part.kind.gives and tag not in wanted:
                solar = part.kind.name == "solar-collector"
                moved = {t: self._want(t, SOLAR) for t in self._round(tag, valves=solar) if t not in wanted}
                yield Call(SOLAR if solar else STOVE, (tag,), {tag: "on"} | moved)

    def _round(self, giver: str, valves: bool) -> list[str]:
        """Pumps (and motor valves, for a collector) in the water of an uncontrolled giver, up to any separator."""
        ports = [PortId(giver, name) for name in self.parts[giver].kind.gives]
        seen = set(ports)
        while ports:
            port = ports.pop()
            ways = [] if self.parts[port.tag].kind.separates else [way.to for way in self.network.reach.ways[port]]
            for other in (*self.network.reach.piped_to[port], *ways):
                if other not in seen:
                    seen.add(other)
                    ports.append(other)
        tags = {port.tag for port in seen}
        kinds = ("zone-valve",) if valves else ()
        return [t for t, p in self.parts.items() if t in tags and (p.kind.driver == "pump" or p.kind.name in kinds)]

    def _plain(self, wanted: set[str]) -> Iterator[Call]:
        """No device and no motor valve is listed: one call runs everything."""
        sources = [t for t, p in self.parts.items() if p.kind.giver == "controlled" and p.kind.gives]
        pumps = [t for t, p in self.parts.items() if p.kind.driver == "pump" and t not in wanted]
        takers = [p for p in self.parts.values() if p.kind.taker and not p.kind.giver]
        if sources or pumps:
            hot = bool(takers) and all(p.kind.store == "wholesome" for p in takers)
            yield Call(HOT_WATER if hot else HEATING, (), {})
