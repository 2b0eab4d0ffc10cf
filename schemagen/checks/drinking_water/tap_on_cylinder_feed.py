"""tap-on-cylinder-feed (warning)

What: a cold tap, or the cold side of a mixer, is teed on the feed pipe of a vented cylinder.
Why: hot water can rise from the cylinder into the tap, the tap starves the cylinder when both run, and the cistern's
    feed is no place for a drinking tap.
Cure: give cold taps their own pipe from the cistern, and drinking taps one from the main.
Source: common practice, no source; a feed pipe that serves nothing but the cylinder: BS 6700, from memory
Caution: drinking-water

Wrong:
    parts:
      W1: {kind: cold-water-cistern, capped: [outlet-2]}
      T1: {kind: tee}
      O1: {kind: cold-outlet}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
    connections:
      - [W1.outlet, T1, C1.cold-in]
      - [T1, O1.in]

Right:
    parts:
      W1: {kind: cold-water-cistern}
      O1: {kind: cold-outlet}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
    connections:
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import at, is_check, joined, mixes
from schemagen.checks.unvented.inlet_check_missing import cold_openings
from schemagen.network.network import PortId

_VENTED = ("vented-cylinder", "single-feed-cylinder")


def check(facts):
    cylinders = list(facts.parts(*_VENTED))
    if not cylinders:
        return
    numbers = joined(facts, lambda p: not (p.kind.store or p.kind.driver or mixes(p) or is_check(p)))
    taps = at(numbers, cold_openings(facts))
    for cylinder in cylinders:
        for tap in taps.get(numbers[PortId(cylinder.tag, "cold-in")], ()):
            yield Fault(
                f"{tap} is teed on the feed pipe of {cylinder.tag}",
                f"pipe {tap} to the other outlet of the cistern, or to the main if people drink from it",
                parts=(tap.tag, cylinder.tag),
                pipes=[facts.pipe_at(tap)],
                ports=(tap,),
            )
