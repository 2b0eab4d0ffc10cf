"""no-test-points (advice)

What: the flow or the return of a heat source, or one of the four pipes of a separator or buffer, has nothing to
    read its temperature with. Thermometers, test points, sensor pockets, heat meters and readings built into the
    part count.
Why: setting a system up is reading temperatures; with none to read, faults are guessed at.
Cure: put a thermometer or a pocket into each of these pipes.
Source: pockets for probes and gauges in makers' installation manuals, seen; BS EN 14336, title seen

Wrong:
    parts:
      LH1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
    connections:
      - {run: [B1.flow, LH1.primary-flow]}
      - {run: [LH1.primary-return, B1.return]}
      - {run: [LH1.secondary-flow, P1, R1, LH1.secondary-return]}

Right:
    parts:
      LH1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      TI1: {kind: thermometer, at: LH1.primary-flow}
      TI2: {kind: thermometer, at: LH1.primary-return}
      TI3: {kind: thermometer, at: LH1.secondary-flow}
      TI4: {kind: thermometer, at: LH1.secondary-return}
    connections:
      - {run: [B1.flow, LH1.primary-flow]}
      - {run: [LH1.primary-return, B1.return]}
      - {run: [LH1.secondary-flow, P1, R1, LH1.secondary-return]}
"""

from schemagen.checks.fault import Fault

_READINGS = ("reading", "readings", "flow-reading", "thermometer", "test-point", "test-points")
_EXEMPT = ("ground-loop", "split-outdoor-unit")
_FOUR_PIPES = ("low-loss-header", "buffer-four-pipe", "close-tees")


def check(facts):
    numbers, read = _headers(facts)
    for part in facts.network.parts.values():
        if set(part.built_in) & set(_READINGS) or part.kind.name in _EXEMPT:
            continue
        unread = [
            ports[0]
            for ports in _wanted(facts, part)
            if ports and not any(numbers[p] in read or facts.goes_on_elsewhere(p) for p in ports)
        ]
        if unread:
            named = ", ".join(str(port) for port in unread)
            yield Fault(
                f"no temperature can be read at {named}",
                f"put a thermometer or a test point at {named}",
                parts=(part.tag,),
                pipes=[facts.pipe_at(port) for port in unread],
            )


def _wanted(facts, part):
    """Groups of openings of which one each has to be readable."""
    if part.kind.name in _FOUR_PIPES:
        return [[p] for p in facts.wet_ports(part) if facts.is_piped(p) and facts.spec(p).role != "dead"]
    if not part.kind.giver:
        return []
    sides = (facts.outlet_ports(part), facts.return_ports(part))
    return [[port for port in side if facts.is_piped(port)] for side in sides]


def _headers(facts):
    """The header (openings joined by pipes and plain parts) of each opening, and the headers that can be read."""
    parts = facts.network.parts
    numbers, _ = facts.reach.headers
    read = {n for port, n in numbers.items() if _reads(parts[port.tag].kind.name, parts[port.tag].kind.counts_as)}
    for device, part in parts.items():
        place = facts.signals.place(device) if part.kind.is_control else None
        if place in numbers:
            read.add(numbers[place])
    return numbers, read


def _reads(name: str, counts_as: tuple[str, ...]) -> bool:
    return "test-point" in counts_as or name == "heat-meter"
