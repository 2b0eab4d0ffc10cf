"""heat-pump-no-strainer (error)

What: no strainer or filter lies on the way from the last taker, store or separator to the return of a heat pump,
    and none is built in.
Why: the plate inside is full of passages a few millimetres wide; one lump of old sludge blocks it.
Cure: a fine strainer and a magnetic filter on the return, with valves to service them.
Source: particle filter and strainer on the return: makers' instructions, seen; BS 7593

Wrong:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      F1: {kind: magnetic-filter}
      R1: {kind: radiator}
    connections:
      - [H1.flow, F1.in]
      - [F1.out, R1.a]
      - [R1.b, H1.return]

Right:
    parts:
      H1: {kind: air-heat-pump, capped: [relief-outlet]}
      F1: {kind: magnetic-filter}
      R1: {kind: radiator}
    connections:
      - [H1.flow, R1.a]
      - [R1.b, F1.in]
      - [F1.out, H1.return]
"""

from schemagen.checks.circulation._ways import bodies
from schemagen.checks.fault import Fault
from schemagen.checks.heat_pumps._units import heat_pumps

FOLDS = ("filter-missing-or-misplaced",)
_FILTERS = ("strainer", "magnetic-filter", "dirt-separator", "air-and-dirt-separator")


def check(facts):
    filters = {p.tag for p in facts.network.parts.values() if p.kind.name in _FILTERS or "filter" in p.kind.counts_as}
    stop = bodies(facts) | {part.tag for part in facts.takers}
    for unit in heat_pumps(facts):
        if facts.built_in(unit.tag, "strainer", "filter"):
            continue
        for home in facts.return_ports(unit):
            if facts.spec(home).media != "H" or not facts.is_piped(home) or facts.goes_on_elsewhere(home):
                continue
            unfiltered = {port.tag for port in _upstream(facts, home, filters | {unit.tag})}
            dirty = sorted(unfiltered & (stop - {unit.tag}))
            if dirty:
                yield Fault(
                    f"nothing filters the water between {dirty[0]} and {home}",
                    f"put a strainer or magnetic filter into the pipe at {home}",
                    parts=(unit.tag,),
                    pipes=[facts.pipe_at(home)],
                )


def _upstream(facts, home, without):
    """Ports from which water can come to a return without passing these parts: walked against the water."""
    seen, todo = {home}, [home]
    while todo:
        port = todo.pop()
        onward = list(facts.reach.piped_to[port])
        part = facts.network.parts[port.tag]
        ends_here = part.kind.takes or part.kind.gives or part.kind.separates or part.kind.store
        if port.tag not in without and not ends_here:
            onward += [way.to for way in facts.reach.ways[port] if way.both or not way.forward]
        for other in onward:
            if other not in seen:
                seen.add(other)
                todo.append(other)
    return seen
