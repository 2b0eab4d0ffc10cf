"""Questions about hot water: its taps, its circulation, and the pipes that stay warm while no tap runs."""

from collections.abc import Iterable, Iterator

from schemagen.checks.facts import Facts
from schemagen.checks.unvented._stores import TAPS, mixes
from schemagen.network.groups import bridges
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet
from schemagen.network.walks import downstream

_CHECKS = ("check-valve", "double-check-valve")
_HOT_INLETS = ("hot-in", "in")


def is_check(facts: Facts, tag: str) -> bool:
    part = facts.network.parts[tag]
    return part.kind.name in _CHECKS or part.value("has-check") is True or "check" in part.built_in


def tap_openings(facts: Facts) -> dict[PortId, None]:
    """Where taps take hot or blended water, in the order of the list."""
    return {
        PortId(tap.tag, name): None
        for tap in facts.parts(*TAPS)
        for name in _HOT_INLETS
        if name in tap.kind.ports and set(tap.kind.ports[name].media) & set("WT")
    }


def pumps(facts: Facts) -> list[str]:
    """Pumps that stand in hot drinking water."""
    return [
        part.tag
        for part in facts.parts("pump", "wholesome-circulating-pump")
        if facts.medium_at(PortId(part.tag, "in")) in ("hot", "tempered")
    ]


def circulation_ends(facts: Facts) -> Iterator[tuple[str, PortId]]:
    """Where a circulation comes home: the return opening of a store, or its cold inlet if a pump leads there."""
    for store in facts.network.parts.values():
        if store.kind.store == "wholesome" and "circulation-return" in store.kind.ports:
            end = PortId(store.tag, "circulation-return")
            if facts.is_piped(end):
                yield store.tag, end
    for home in facts.once(homes).values():
        if home and home.port == "cold-in":
            yield home.tag, home


def homes(facts: Facts) -> dict[str, PortId | None]:
    """For each pump in hot water the opening of the store into which it pushes: a return opening, else a cold inlet."""
    return {pump: _home(facts, reached) for pump, reached in facts.once(_pushed_to).items()}


def into_cold_inlet(facts: Facts) -> frozenset[PortId]:
    """Outlets of circulating pumps that push into the cold inlet of a store and into no other cold water.

    A check valve in the cold pipe keeps it so; a cistern that feeds the store may take up what expands.
    """
    return frozenset(
        PortId(pump, "out")
        for pump, reached in facts.once(_pushed_to).items()
        if (home := _home(facts, reached)) and home.port == "cold-in" and _only_cold(facts, reached, home)
    )


def _pushed_to(facts: Facts) -> dict[str, dict[PortId, None]]:
    """For each pump in hot water the openings that its water can reach before it is in a store or mixed."""
    stop = {p.tag for p in facts.network.parts.values() if p.kind.store or mixes(p)}

    def reached(pump: str) -> dict[PortId, None]:
        return downstream(facts.reach, PortId(pump, "out"), lambda port, _: port.tag not in stop and port.tag != pump)

    return {pump: reached(pump) for pump in pumps(facts)}


def _home(facts: Facts, reached: Iterable[PortId]) -> PortId | None:
    found = {port.port: port for port in reversed(list(reached)) if facts.network.parts[port.tag].kind.store}
    return found.get("circulation-return") or found.get("cold-in")


def _only_cold(facts: Facts, reached: Iterable[PortId], home: PortId) -> bool:
    cold = (port for port in reached if facts.spec(port).media == "C" and port != home)
    return all(facts.network.parts[port.tag].kind.name == "cold-water-cistern" for port in cold)


def circulating(facts: Facts) -> frozenset[int]:
    """Indexes of pipes of drinking water in which a circulation keeps the water moving while every tap is shut."""
    number = {port: i for i, port in enumerate(facts.network.ports())}
    pipes = [p for p in facts.network.pipes if facts.waters.medium[p.index] in ("hot", "tempered", "cold")]
    edges = [(number[pipe.start], number[pipe.end]) for pipe in pipes]
    for part in facts.network.parts.values():
        for passage in part.kind.passages:
            if is_wet(part.kind, passage) and not mixes(part):
                edges.append((number[PortId(part.tag, passage.a)], number[PortId(part.tag, passage.b)]))
    still = bridges(len(number), edges)
    return frozenset(pipe.index for i, pipe in enumerate(pipes) if not still[i])
