"""Who switches what: control devices seen through the controllers that they inform."""

from functools import cached_property

from schemagen.network.network import Network, PortId

THERMOSTATS = (
    "room-thermostat", "cylinder-thermostat", "store-thermostat", "temperature-sensor", "outdoor-sensor",
)  # fmt: skip
"""Devices that can say "warm enough". A programmer knows the time only; a pipe or cut-out thermostat guards."""


class Signals:
    """The control lines of one network, each answer worked out when it is first asked for."""

    def __init__(self, network: Network) -> None:
        self.network = network
        self._behind: dict[str, tuple[str, ...]] = {}
        self._targets: dict[str, tuple[str, ...]] = {}

    def behind(self, tag: str) -> tuple[str, ...]:
        """Every device that has a say in a part: those that act on it, and those that inform its controllers."""
        if tag not in self._behind:
            self._behind[tag] = self._reached(tag, lambda t: (*self.network.switched_by.get(t, ()), *self._read_by(t)))
        return self._behind[tag]

    def targets(self, device: str) -> tuple[str, ...]:
        """The parts that a device acts on, by itself or through controllers, those controllers included."""
        if device not in self._targets:
            self._targets[device] = self._reached(device, self._next)
        return self._targets[device]

    def place(self, device: str) -> PortId | None:
        """Where a device feels: the part (port "") or the opening that the list names with `on:` or `senses:`."""
        return self.network.host_of(device) or self.network.parts[device].value("senses")

    def at(self, tag: str) -> tuple[str, ...]:
        """The devices that feel a part or one of its openings, in the order of the list."""
        return self._at.get(tag, ())

    def has_thermostat(self, tag: str) -> bool:
        """True if something that feels warmth has a say in a part."""
        return any(self.feels_warmth(device) for device in self.behind(tag))

    def feels_warmth(self, device: str) -> bool:
        part = self.network.parts[device]
        return part.kind.name in THERMOSTATS or part.value("weather-compensated") is True

    def is_blind(self, tag: str) -> bool:
        """True if a controller has a say in a part and the list does not tell what that controller feels."""
        controllers = [d for d in self.behind(tag) if self.network.parts[d].kind.name == "controller"]
        return any(not self.behind(device) for device in controllers)

    def is_outdoors(self, device: str) -> bool:
        part = self.network.parts[device]
        return part.kind.name == "outdoor-sensor" or "outdoor" in part.place.casefold()

    @cached_property
    def _at(self) -> dict[str, tuple[str, ...]]:
        at: dict[str, list[str]] = {}
        for tag, part in self.network.parts.items():
            place = self.place(tag) if part.kind.is_control else None
            if place:
                at.setdefault(place.tag, []).append(tag)
        return {tag: tuple(devices) for tag, devices in at.items()}

    def _read_by(self, tag: str) -> tuple[str, ...]:
        part = self.network.parts[tag]
        return tuple(part.value("reads", ())) if part.kind.is_control else ()

    @cached_property
    def _readers(self) -> dict[str, list[str]]:
        readers: dict[str, list[str]] = {}
        for tag in self.network.parts:
            for device in self._read_by(tag):
                readers.setdefault(device, []).append(tag)
        return readers

    def _next(self, device: str) -> tuple[str, ...]:
        return (*self.network.parts[device].value("switches", ()), *self._readers.get(device, ()))

    def _reached(self, start: str, following) -> tuple[str, ...]:
        seen: dict[str, None] = {}
        todo = [start]
        while todo:
            tag = todo.pop()
            for other in following(tag):
                if other not in seen and other != start:
                    seen[other] = None
                    if self.network.parts[other].kind.name == "controller":
                        todo.append(other)
        return tuple(seen)
