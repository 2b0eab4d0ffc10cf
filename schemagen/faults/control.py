"""Controls that act on nothing, or on the wrong thing."""

from collections.abc import Iterator

from schemagen.checks.facts import Facts
from schemagen.faults.change import with_values
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import Network

THERMOSTATS = ("room-thermostat", "cylinder-thermostat", "store-thermostat", "cut-out-thermostat", "pipe-thermostat")


def _switching(network: Network, tag: str, tags: tuple[str, ...]) -> Network:
    return with_values(network, tag, {"switches": tags}, {"switches": ", ".join(tags)})


def _nothing(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts(*THERMOSTATS):
        if targets := part.value("switches", ()):
            host = facts.network.host_of(part.tag)
            at = (part.tag, *targets, *([host.tag] if host else []))
            yield Edit(at, f"{part.tag} switches nothing.", _switching(facts.network, part.tag, ()))


def _valve_without_control(facts: Facts) -> Iterator[Edit]:
    for part in facts.parts("zone-valve", "diverter-valve"):
        network = facts.network
        devices = network.switched_by.get(part.tag, ())
        for device in devices:
            left = tuple(t for t in network.parts[device].value("switches", ()) if t != part.tag)
            network = _switching(network, device, left)
        if devices:
            yield Edit((part.tag, *devices), f"Nothing switches {part.tag}.", network)


def _valve_only(facts: Facts) -> Iterator[Edit]:
    """A thermostat that opens a valve and starts neither pump nor source."""
    for part in facts.parts("room-thermostat", "cylinder-thermostat"):
        targets = part.value("switches", ())
        valves = tuple(t for t in targets if facts.network.parts[t].kind.moved_by == "motor")
        if valves and len(valves) < len(targets):
            told = f"{part.tag} opens {' and '.join(valves)} and starts nothing."
            at = (part.tag, *targets)
            yield Edit(at, told, _switching(facts.network, part.tag, valves))


def _wrong_host(facts: Facts) -> Iterator[Edit]:
    """A limit thermostat on the pipe before the mixing set instead of behind it."""
    for part in facts.parts("pipe-thermostat"):
        host = facts.network.host_of(part.tag)
        if host and host.port == "load-flow":
            other = host._replace(port="load-return")
            network = with_values(facts.network, part.tag, {"on": other}, {"on": str(other)})
            yield Edit((part.tag, host.tag), f"{part.tag} sits on {other} instead of on {host}.", network)


FAULTS = (
    FaultKind("thermostat-switches-nothing", "a thermostat that switches nothing", "control", 2, _nothing),
    FaultKind("valve-without-control", "a motor valve that nothing switches", "control", 1, _valve_without_control),
    FaultKind("thermostat-starts-nothing", "a thermostat that only opens a valve", "control", 3, _valve_only),
    FaultKind("limit-at-wrong-pipe", "a pipe thermostat on the wrong pipe", "control", 3, _wrong_host),
)
