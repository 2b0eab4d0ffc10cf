"""What keeps other water out of drinking water: who drinks, how bad the other water is, and which devices hold."""

from collections.abc import Collection, Iterator

from schemagen.checks.facts import Facts
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE

WHOLESOME = ("cold", "hot", "tempered")
_CATEGORY = {"ground-brine": 4, "pool-water": 5, "discharge": 5, "condensate": 5}
DEVICE = {
    3: "a double-check-valve (in towards the main)",
    4: "a disconnecting-preventer of type BA (in towards the main)",
    5: "an air gap, as in a cistern or an automatic-fill-unit",
}
"""What keeps out a fluid category, in the words of the list."""


def drunk(facts: Facts) -> Iterator[PortId]:
    """Openings of what gives or holds drinking water: mains, cisterns, taps and stores."""
    for part in facts.network.parts.values():
        if part.kind.driver in ("main", "cistern") or part.kind.store == "wholesome" or _is_tap(part.kind):
            yield from (port for port in facts.wet_ports(part) if set(facts.spec(port).media) <= set("CWT"))


def _is_tap(kind) -> bool:
    return any(p.b == OUTSIDE and p.positions for p in kind.passages)


def category_of(facts: Facts, medium: str) -> int:
    """Fluid category: heating water is 3 in a house and 4 elsewhere."""
    if medium in ("heating-water", "antifreeze-mix"):
        return 3 if facts.premises == "house" else 4
    return _CATEGORY.get(medium, 0)


def facing_right(facts: Facts) -> dict[str, int]:
    """Backflow devices whose inlet is nearer to the supply than their outlet, with the category they keep out."""
    devices = {tag: part for tag, part in facts.network.parts.items() if part.kind.protects > 2}
    number = joined_without(facts, set(devices))
    ways = [
        (tag, number[PortId(tag, p.a)], number[PortId(tag, p.b)])
        for tag, part in devices.items()
        for p in part.kind.passages
        if is_wet(part.kind, p)
    ]
    supplies = (part for part in facts.network.parts.values() if part.kind.driver in ("main", "cistern"))
    steps = {number[port]: 0 for part in supplies for port in facts.wet_ports(part)}
    queue = list(steps)
    for group in queue:
        for _, a, b in ways:
            other = b if group == a else a if group == b else None
            if other is not None and other not in steps:
                steps[other] = steps[group] + 1
                queue.append(other)
    far = len(ways) + 1
    return {tag: devices[tag].kind.protects for tag, a, b in ways if steps.get(a, far) < steps.get(b, far)}


def joined_without(facts: Facts, without: Collection[str]) -> dict[PortId, int]:
    """Groups of openings that share water when these devices hold."""
    return facts.reach.parted(without)


def joint(facts: Facts, number: dict[PortId, int], group: int) -> tuple[PortId, PortId] | None:
    """Two openings of one part where drinking water meets the other water, the drinking water first."""
    for part in facts.network.parts.values():
        ports = [port for port in facts.wet_ports(part) if number[port] == group and facts.is_piped(port)]
        clean = [port for port in ports if facts.medium_at(port) in WHOLESOME]
        other = [port for port in ports if facts.medium_at(port) and facts.medium_at(port) not in WHOLESOME]
        for a in clean:
            for b in other:
                if b in facts.waterway(a):
                    return a, b
    return None
