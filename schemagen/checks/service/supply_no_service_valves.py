"""supply-no-service-valves (warning)

What: the cold main has no stop valve before the first branch or fitting that is not plain; or a cistern has no
    service valve directly before its float valve. Advice: no drain behind the stop valve.
Why: when it leaks at midnight somebody must be able to turn it off.
Cure: a stop valve and a drain cock where the pipe enters, a service valve at each cistern.
Source: stop valve near the point of entry, water-regulations guidance, seen; Water Supply (Water Fittings)
    Regulations 1999, schedule 2, paragraphs 10 and 11, from memory
Caution: drinking-water

Wrong:
    parts:
      CM1: {kind: cold-main}
      IG1: {kind: inlet-control-group, capped: [balanced-cold-out, vessel]}
      ST1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - {run: [CM1.out, IG1.main-in]}
      - {run: [IG1.cylinder-out, ST1.cold-in]}

Right:
    parts:
      CM1: {kind: cold-main}
      SV1: {kind: isolating-valve}
      DC1: {kind: drain-cock, at: SV1.b}
      IG1: {kind: inlet-control-group, capped: [balanced-cold-out, vessel]}
      ST1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
    connections:
      - {run: [CM1.out, SV1, IG1.main-in]}
      - {run: [IG1.cylinder-out, ST1.cold-in]}
"""

from schemagen.checks.fault import Fault
from schemagen.network.network import PortId


def check(facts):
    for main in facts.parts("cold-main"):
        yield from _main(facts, PortId(main.tag, "out"))
    for cistern in facts.parts("cold-water-cistern", "feed-and-expansion-cistern"):
        supply = PortId(cistern.tag, "supply")
        if facts.is_piped(supply) and not facts.goes_on_elsewhere(supply) and _first_valve(facts, supply) is None:
            yield Fault(
                f"the float valve of {cistern.tag} cannot be shut off",
                f"put an isolating valve into the pipe to {supply}",
                parts=(cistern.tag,),
                pipes=[facts.pipe_at(supply)],
            )


def _main(facts, outlet: PortId):
    if not facts.is_piped(outlet):
        return
    valve = _first_valve(facts, outlet)
    if valve is None:
        yield Fault(
            f"{outlet.tag} has no stop valve where it enters",
            f"put an isolating valve (stop valve) directly behind {outlet}, and a drain cock behind it",
            parts=(outlet.tag,),
            pipes=[facts.pipe_at(outlet)],
        )
    elif not facts.goes_on_elsewhere(valve) and not _drains(facts, valve):
        yield Fault(
            f"no drain behind the stop valve {valve.tag}",
            f"put a drain cock at {valve}",
            parts=(valve.tag,),
            severity="advice",
        )


def _first_valve(facts, start: PortId) -> PortId | None:
    """The far opening of the first isolating valve along the pipe from here; None if there is a branch before it."""
    passed = set()
    port = start
    while port not in passed:
        passed.add(port)
        far = facts.piped_across(port)
        if far is None:
            return None
        kind = facts.network.parts[far.tag].kind
        onward = _onward(facts, far)
        if onward is None:
            return None
        if kind.name == "isolating-valve":
            return onward
        port = onward
    return None


def _onward(facts, port: PortId) -> PortId | None:
    """The one opening of a plain part at which its pipe goes on; stubs such as gauges and drain cocks do not count."""
    if not facts.network.parts[port.tag].kind.plain:
        return None
    on = [way.to for way in facts.reach.ways[port] if not _is_stub(facts, way.to)]
    return on[0] if len(set(on)) == 1 else None


def _is_stub(facts, port: PortId) -> bool:
    far = facts.piped_across(port)
    return far is not None and facts.network.parts[far.tag].kind.shape == "stub"


def _drains(facts, port: PortId) -> bool:
    return any("drain" in facts.network.parts[p.tag].kind.counts_as for p in facts.reach.fixed(port))
