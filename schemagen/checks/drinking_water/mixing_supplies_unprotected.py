"""mixing-supplies-unprotected (warning)

What: a mixing valve, mixer tap, bath or shower takes hot and cold from supplies of different pressure and has no check
    valve on each inlet. Advice if a mixing valve has no isolating valves or strainers.
Why: the stronger supply pushes through the mixer into the weaker one.
Cure: check valves on both inlets, or take both from the same reduced supply.
Source: installation note IRN R010 of the water-regulations body, seen: single check valves immediately upstream of both
    inlets where supplies are unbalanced; a valve maker's sheet (manual), seen
Caution: drinking-water

Wrong:
    parts:
      M1: {kind: cold-main}
      T1: {kind: tee}
      W1: {kind: cold-water-cistern, capped: [outlet-2]}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      S1: {kind: shower-outlet}
    connections:
      - [M1.out, T1, W1.supply]
      - [T1, S1.cold-in]
      - [W1.outlet, C1.cold-in]
      - [C1.hot-out, S1.hot-in]

Right:
    parts:
      M1: {kind: cold-main}
      W1: {kind: cold-water-cistern}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      S1: {kind: shower-outlet}
    connections:
      - [M1.out, W1.supply]
      - [W1.outlet-2, S1.cold-in]
      - [W1.outlet, C1.cold-in]
      - [C1.hot-out, S1.hot-in]
"""

from schemagen.checks.drinking_water._blend import BLENDING_VALVE
from schemagen.checks.drinking_water._mixing import has_check, mixers, supplies
from schemagen.checks.fault import Fault, Unknown
from schemagen.network.network import PortId

_DRIVERS = ("main", "cistern")


def check(facts):
    supply = facts.once(supplies)
    driven = {supply[p] for part in facts.network.parts.values() for p in facts.wet_ports(part) if _feeds(part)}
    beyond = {supply[PortId(p.tag, n)] for p in facts.parts("off-sheet-connector") for n in p.kind.ports}
    for hot, cold in mixers(facts):
        if not (facts.is_piped(hot) and facts.is_piped(cold)):
            continue
        if supply[hot] != supply[cold]:
            bare = [inlet for inlet in (hot, cold) if not has_check(facts, inlet)]
            known = {supply[hot], supply[cold]} <= driven and not {supply[hot], supply[cold]} & beyond
            if bare and known:
                yield _fault(facts, hot.tag, bare)
            elif bare:
                yield Unknown((hot.tag,), f"what feeds {hot} and {cold}")
        if facts.network.parts[hot.tag].kind.name == BLENDING_VALVE:
            yield from _service(facts, hot, cold)


def _feeds(part) -> bool:
    return part.kind.driver in _DRIVERS or part.kind.name in ("pressure-reducer", "inlet-control-group")


def _service(facts, hot, cold):
    valve = facts.network.parts[hot.tag]
    lacks = []
    if "isolating" not in valve.built_in and not all(_meets(facts, inlet, _isolates) for inlet in (hot, cold)):
        lacks.append("isolating valves")
    if "strainer" not in valve.built_in and not all(_meets(facts, inlet, _strains) for inlet in (hot, cold)):
        lacks.append("strainers")
    if lacks:
        yield Fault(
            f"{valve.tag} has no {' and no '.join(lacks)} on its inlets",
            f"put them before {hot} and {cold}, or write `built-in: [check, strainer, isolating]` at {valve.tag} if it "
            "has them inside",
            parts=(valve.tag,),
            ports=(hot, cold),
            severity="advice",
        )


def _meets(facts, inlet, wanted) -> bool:
    return any(wanted(facts.network.parts[port.tag]) for port in facts.run_from(inlet))


def _isolates(part) -> bool:
    return part.kind.name == "isolating-valve" or "isolating" in part.built_in


def _strains(part) -> bool:
    return "filter" in part.kind.counts_as or "strainer" in part.built_in


def _fault(facts, tag: str, bare) -> Fault:
    return Fault(
        f"{tag} mixes supplies of different pressure, and {' and '.join(str(inlet) for inlet in bare)} "
        f"{'has' if len(bare) == 1 else 'have'} no check valve",
        f"put a check-valve before {' and '.join(str(inlet) for inlet in bare)}, or take both waters of {tag} from the "
        "same reduced supply",
        parts=(tag,),
        pipes=[facts.pipe_at(inlet) for inlet in bare],
        ports=tuple(bare),
    )
