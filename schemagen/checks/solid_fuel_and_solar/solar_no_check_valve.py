"""solar-no-check-valve (warning)

What: a pumped solar circuit has no check valve in its loop.
Why: at night the collector is cold and the store warm; the loop runs backwards and heats the sky.
Cure: a check valve with a spring after the pump.
Source: reverse thermosiphon: trade article; check valve between the parts of the return and the collector: installer's page, seen

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: twin-coil-unvented-cylinder, capped: [upper-coil-in, upper-coil-out, cold-in, hot-out, relief-tapping, circulation-return]}
      K1: {kind: check-valve, spring: yes}
    connections:
      - [S1.out, C1.lower-coil-in]
      - [C1.lower-coil-out, P1.in]
      - [P1.out, K1.in]
      - [K1.out, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._fires import collectors, loop_tags

_STOPS = ("check-valve", "double-check-valve", "drain-back-vessel")


def check(facts):
    told = set()
    for collector in collectors(facts):
        tags = loop_tags(facts, collector)
        parts = [facts.network.parts[tag] for tag in tags]
        pumps = [p.tag for p in parts if p.kind.driver == "pump"]
        if not pumps or set(pumps) & told or any(_stops(facts, p) for p in parts):
            continue
        if any(p.kind.name == "off-sheet-connector" for p in parts):
            continue
        told |= set(pumps)
        yield Fault(
            f"nothing stops the solar circuit of {collector.tag} from running backwards at night",
            f"put a check-valve with `spring: yes` behind {pumps[0]}",
            parts=(collector.tag, pumps[0]),
        )


def _stops(facts, part) -> bool:
    """True for a part of the solar loop itself, not of a filling branch, that lets water one way only."""
    pipes = [facts.pipe_at(port) for port in facts.wet_ports(part) if facts.is_piped(port)]
    in_loop = any(facts.waters.section[pipe.index].startswith("solar") for pipe in pipes)
    return in_loop and (part.kind.name in _STOPS or bool(part.value("has-check")))
