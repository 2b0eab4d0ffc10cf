"""no-service-valves (advice)

What: a pump, filter, heat source, plate exchanger or meter cannot be shut off by hand from the rest of its circuit.
    Shutting it off together with one neighbour (a source, an exchanger, an emitter, a mixing valve) is enough.
Why: without a valve on each side, changing a pump means draining the house.
Cure: put an isolating valve on each side.
Source: isolating valves in heat-pump makers' installation manuals, seen; BS EN 14336 from memory

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      V1: {kind: isolating-valve}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, V1, P1, R1, B1.return]}

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      V1: {kind: isolating-valve}
      P1: {kind: pump}
      V2: {kind: isolating-valve}
      R1: {kind: radiator}
      V3: {kind: isolating-valve}
    connections:
      - {run: [B1.flow, V1, P1, V2, R1, V3, B1.return]}
"""

from schemagen.checks.fault import Fault
from schemagen.checks.service._regions import Region, regions
from schemagen.network.network import PortId

_METERS = ("heat-meter", "flow-meter")
_NO_VALVES_WANTED = ("heat-interface-unit", "ground-loop")
_HEATING = ("heating-water", "antifreeze-mix", "ground-brine")


def check(facts):
    numbers, all_regions = regions(facts)
    stuck: dict[int, list[str]] = {}
    for tag in facts.network.parts:
        port = _served_at(facts, tag)
        if port and facts.is_piped(port) and not _can_be_shut_off(all_regions[numbers[port]]):
            stuck.setdefault(numbers[port], []).append(tag)
    for tags in stuck.values():
        named = ", ".join(tags[:4]) + (" …" if len(tags) > 4 else "")
        yield Fault(
            f"{named} cannot be shut off from the rest of the circuit",
            f"put an isolating valve on each side of {tags[0]}" + (" and of the others" if len(tags) > 1 else ""),
            parts=tags,
        )


def _can_be_shut_off(region: Region) -> bool:
    return region.elsewhere or (not region.stores and len(set(region.sources + region.takers)) <= 1)


def _served_at(facts, tag: str) -> PortId | None:
    """The opening of a part that has to be shut off for service; None if the part asks for no valves."""
    part = facts.network.parts[tag]
    kind = part.kind
    if "isolating" in part.built_in or part.value("has-valves") or part.value("gravity"):
        return None
    if kind.giver == "controlled" and kind.gives and kind.name not in _NO_VALVES_WANTED:
        return PortId(tag, kind.gives[0])
    first = PortId(tag, next(iter(kind.ports), ""))
    if kind.driver == "pump" or kind.name in _METERS or kind.name == "plate-heat-exchanger":
        return first
    if "filter" in kind.counts_as and kind.name != "air-and-dirt-separator" and facts.medium_at(first) in _HEATING:
        return first
    return None
