"""filter-missing-or-misplaced (warning)

What: a pumped circuit with a heat source has no filter or dirt separator; a brine circuit has no strainer, a solar
    circuit neither strainer nor fill-and-flush valves. Advice: a filter is there but not on the way back to a heat
    source, or a pressure reducer or tap mixing valve has no strainer before it.
Why: sludge settles where the passages are narrowest, usually in the new boiler.
Cure: put a filter into the return, last before the heat source.
Source: BS 7593:2019, in-line filters, named by Approved Document L since 2022, seen in trade articles

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
      MF1: {kind: magnetic-filter}
    connections:
      - {run: [B1.flow, R1, MF1, B1.return]}
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId
from schemagen.network.walks import upstream

_HEAT_PUMPS = ("air-heat-pump", "ground-heat-pump", "heat-pump-indoor-unit")
_BUILT_IN = ("filter", "strainer", "magnetic-filter")
_FLUSHED = ("fill-and-flush-valves", "fill-valve")


def check(facts):
    for section in facts.reach.sections:
        if section.elsewhere or section.supply:
            continue
        parts = [facts.network.parts[tag] for tag in section.tags]
        ports = set(section.ports)
        givers = [p for p in parts if any(PortId(p.tag, n) in ports for n in p.kind.gives)]
        if givers and _is_pumped(facts, parts, ports):
            yield from _section(facts, parts, givers)
    yield from _narrow_parts(facts)


def _section(facts, parts, givers):
    filtered = any(_filters(part) for part in parts)
    kinds = {part.kind.name for part in givers}
    flushed = any(part.kind.name in _FLUSHED for part in parts)
    if kinds <= {"ground-loop"}:
        if not filtered:
            yield _missing(givers[0].tag, "the brine circuit", "a strainer before the pump or the heat pump")
    elif kinds <= {"solar-collector"}:
        if not filtered and not flushed:
            yield _missing(givers[0].tag, "the solar circuit", "a strainer, or fill-and-flush valves")
    elif kinds <= set(_HEAT_PUMPS):
        return
    elif not filtered:
        first = next(part.tag for part in givers if part.kind.name not in _HEAT_PUMPS)
        yield _missing(first, "the heating circuit", "a filter in the return, last before the source")
    else:
        yield from _misplaced(facts, givers)


def _missing(tag: str, what: str, cure: str) -> Fault:
    return Fault(f"{what} of {tag} has no filter", f"fit {cure}", parts=(tag,))


def _misplaced(facts, givers):
    wanted = [g for g in givers if g.kind.name not in (*_HEAT_PUMPS, "solar-collector") and not _filters(g)]
    for giver in wanted:
        returns = [port for port in facts.return_ports(giver) if facts.is_piped(port)]
        if returns and not any(_is_guarded(facts, port) for port in returns):
            yield Fault(
                f"no filter stands on the way back to {giver.tag}",
                f"move the filter into the return, last before {returns[0]}",
                parts=(giver.tag,),
                pipes=[facts.pipe_at(returns[0])],
                severity="advice",
            )


def _is_guarded(facts, port: PortId) -> bool:
    """True if a filter lies on the way to an opening; a separator's other return is on the way too."""
    parts = facts.network.parts

    def passes(_, way) -> bool:
        kind = parts[way.tag].kind
        return not (kind.giver or kind.taker or kind.breaks_pressure or kind.name == "bypass-valve")

    return any(_filters(parts[p.tag]) for p in upstream(facts.reach, port, passes))


def _is_pumped(facts, parts, ports) -> bool:
    for part in parts:
        if part.kind.driver == "pump":
            return True
        if facts.drives(part) and any(PortId(part.tag, n) in ports for n in part.kind.gives):
            return True
        if "brine-pump" in part.built_in and PortId(part.tag, "brine-in") in ports:
            return True
    return False


def _filters(part) -> bool:
    return "filter" in part.kind.counts_as or bool(set(part.built_in) & set(_BUILT_IN))


def _narrow_parts(facts):
    for part in facts.parts("pressure-reducer", "thermostatic-mixing-valve"):
        inlets = [p for p in facts.wet_ports(part) if facts.spec(p).role == "in" and facts.is_piped(p)]
        if _filters(part) or part.value("has-strainer") or not inlets:
            continue
        bare = [p for p in inlets if not facts.goes_on_elsewhere(p) and not _is_guarded(facts, p)]
        if bare:
            yield Fault(
                f"nothing keeps grit from {part.tag}: no strainer before {' and '.join(str(p) for p in bare)}",
                f"put a strainer before {part.tag}, or write what is inside it, as in `built-in: [strainer]`",
                parts=(part.tag,),
                pipes=[facts.pipe_at(p) for p in bare],
                severity="advice",
            )
