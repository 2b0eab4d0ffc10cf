"""cross-connection (error)

What: drinking water can reach heating water, brine, pool water or waste through open pipework, and on the way no
    backflow device of the needed category faces the right way.
Why: a burst main can suck the system's water into the neighbours' kettles.
Cure: the right device at the point of connection, or an air gap.
Source: Water Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 15(1) and (3), seen in the Northern
    Ireland wording; table of devices and fluid categories of the water-regulations body, seen; BS EN 1717, from
    memory; category of ground brine and pool water from memory
Caution: drinking-water
Regions: fluid categories 1 to 5 are used across Europe; North America uses degrees of hazard and other devices
    (from memory)

Wrong:
    parts:
      M1: {kind: cold-main}
      V1: {kind: isolating-valve}
      T1: {kind: tee}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, V1, T1.branch]

Right:
    parts:
      M1: {kind: cold-main}
      V1: {kind: isolating-valve}
      K1: {kind: double-check-valve}
      L1: {kind: filling-loop}
      T1: {kind: tee}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1, T1, B1.return]
      - [M1.out, V1, K1, L1, T1.branch]
"""

from schemagen.checks.fault import Fault
from schemagen.network.groups import Groups
from schemagen.network.network import PortId
from schemagen.network.reach import is_wet
from schemagen.parts.kind import OUTSIDE

_WHOLESOME = ("cold", "hot", "tempered")
_CATEGORY = {"ground-brine": 4, "pool-water": 5, "discharge": 5, "condensate": 5}
_DEVICE = {
    3: "a double-check-valve (in towards the main)",
    4: "a disconnecting-preventer of type BA (in towards the main)",
    5: "an air gap, as in a cistern or an automatic-fill-unit",
}


def check(facts):
    category = [_category(facts, medium) for medium in facts.waters.medium]
    devices = _devices_facing_right(facts)
    told: set[str] = set()
    for k in sorted(set(category) & {3, 4, 5}, reverse=True):
        number = _joined(facts, {tag for tag, protects in devices.items() if protects >= k})
        drinking = {number[port] for port in _drunk(facts)}
        dirty = {number[p.start] for p in facts.network.pipes if category[p.index] == k}
        for group in sorted(drinking & dirty):
            joint = _joint(facts, number, group)
            if joint and joint[0].tag not in told:
                told.add(joint[0].tag)
                yield _fault(facts, *joint, k)


def _drunk(facts):
    """Openings of what gives or holds drinking water: mains, cisterns, taps and stores."""
    for part in facts.network.parts.values():
        source = part.kind.driver in ("main", "cistern") or part.kind.store == "wholesome" or _is_tap(part.kind)
        yield from (port for port in facts.wet_ports(part) if source and set(facts.spec(port).media) <= set("CWT"))


def _is_tap(kind) -> bool:
    return any(p.b == OUTSIDE and p.positions for p in kind.passages)


def _category(facts, medium: str) -> int:
    """Fluid category: heating water is 3 in a house and 4 elsewhere."""
    if medium in ("heating-water", "antifreeze-mix"):
        return 3 if facts.premises == "house" else 4
    return _CATEGORY.get(medium, 0)


def _devices_facing_right(facts) -> dict[str, int]:
    """Backflow devices whose inlet is nearer to the supply than their outlet, with the category they keep out."""
    devices = {tag: part for tag, part in facts.network.parts.items() if part.kind.protects > 2}
    number = _joined(facts, set(devices))
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


def _joined(facts, without: set[str]) -> dict[PortId, int]:
    """Groups of openings that share water when these devices hold."""
    groups: Groups[PortId] = Groups(facts.network.ports())
    for pipe in facts.network.pipes:
        groups.join(pipe.start, pipe.end)
    for tag, part in facts.network.parts.items():
        if tag not in without:
            for p in part.kind.passages:
                if is_wet(part.kind, p):
                    groups.join(PortId(tag, p.a), PortId(tag, p.b))
    return groups.numbered()[0]


def _joint(facts, number: dict[PortId, int], group: int) -> tuple[PortId, PortId] | None:
    """Two openings of one part where drinking water meets the other water, the drinking water first."""
    for part in facts.network.parts.values():
        ports = [port for port in facts.wet_ports(part) if number[port] == group and facts.is_piped(port)]
        clean = [port for port in ports if facts.medium_at(port) in _WHOLESOME]
        other = [port for port in ports if facts.medium_at(port) and facts.medium_at(port) not in _WHOLESOME]
        for a in clean:
            for b in other:
                if b in facts.waterway(a):
                    return a, b
    return None


def _fault(facts, a: PortId, b: PortId, k: int) -> Fault:
    clean, other = (facts.medium_at(port).replace("-", " ") for port in (a, b))
    return Fault(
        f"{clean if clean != 'cold' else 'cold drinking water'} at {a} and {other} at {b} are joined in {a.tag}, "
        f"with nothing against backflow of category {k} between them",
        f"put {_DEVICE[k]} into the pipe at {a}, or part the two waters",
        parts=(a.tag,),
        pipes=[facts.pipe_at(a), facts.pipe_at(b)],
        ports=(a, b),
    )
