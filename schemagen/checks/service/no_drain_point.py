"""no-drain-point (warning)

What: a closed circuit, a drinking-water store, a place that lies lower than all around it (heights given) or an
    outdoor run has no drain. Fill-and-flush valves and the drain of a header, separator or manifold count.
Why: water that cannot be drained has to be sucked out, and low pockets freeze.
Cure: put a drain cock at each low point.
Source: drain valves at the lowest points, radiators on drops included, in a plumbing course
    textbook, seen; common practice

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, R1, B1.return]}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
      DC1: {kind: drain-cock, at: B1.return}
    connections:
      - {run: [B1.flow, R1, B1.return]}
"""

from schemagen.checks.fault import Fault
from schemagen.checks.service._heights import pockets
from schemagen.checks.service._regions import closed_circuits, does, is_heated, is_outdoors, regions
from schemagen.network.network import PortId

_FROST_VALVES = ("antifreeze-valve", "inline-antifreeze-valve")


def check(facts):
    drained = True
    for section in closed_circuits(facts):
        if not any(does(facts, tag, "drain") for tag in section.tags):
            drained = False
            first = next(p.tag for p in section.ports if is_heated(facts, p))
            yield Fault(
                f"the circuit of {first} has no drain",
                "put a drain cock at its lowest point, for example at the return of the source",
                parts=(first,),
            )
    yield from _stores(facts)
    for place in pockets(facts, lowest=True):
        if not any(does(facts, tag, "drain") for tag in place.tags):
            yield Fault(
                f"water stays in the low point at {place.name}",
                "put a drain cock there",
                parts=place.tags[:1],
                pipes=place.pipes,
            )
    if drained:
        yield from _outdoors(facts)


def _stores(facts):
    for part in facts.network.parts.values():
        if part.kind.store != "wholesome" or part.value("drain") or "drain" in part.built_in:
            continue
        inlet = PortId(part.tag, "cold-in")
        if facts.is_piped(inlet) and not facts.goes_on_elsewhere(inlet):
            near = {port.tag for port in facts.reach.fixed(inlet)}
            if not any(does(facts, tag, "drain") for tag in near if facts.network.parts[tag].kind.store != "wholesome"):
                yield Fault(
                    f"{part.tag} cannot be drained: nothing on its cold inlet opens",
                    f"put a drain cock at {inlet}, between the store and the nearest valve",
                    parts=(part.tag,),
                    pipes=[facts.pipe_at(inlet)],
                )


def _outdoors(facts):
    numbers, all_regions = regions(facts)
    told = set()
    for part in facts.network.parts.values():
        ports = [p for p in facts.wet_ports(part) if facts.is_piped(p) and is_heated(facts, p)]
        if not is_outdoors(part.place) or not ports or _is_frost_proof(facts, ports[0]):
            continue
        region = all_regions[numbers[ports[0]]]
        tags = dict.fromkeys(p.tag for p in region.ports)
        opens = any(does(facts, t, "drain") or facts.network.parts[t].kind.name in _FROST_VALVES for t in tags)
        if not opens and not region.elsewhere and numbers[ports[0]] not in told:
            told.add(numbers[ports[0]])
            yield Fault(
                f"the outdoor pipes at {part.tag} cannot be drained between their valves",
                "put a drain cock at the lowest outdoor point",
                parts=(part.tag,),
            )


def _is_frost_proof(facts, port: PortId) -> bool:
    medium = facts.medium_at(port)
    share = facts.network.fluids.get(medium, {}).get("antifreeze")
    return medium in ("antifreeze-mix", "ground-brine") or bool(share)
