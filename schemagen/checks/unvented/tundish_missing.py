"""tundish-missing (error)

What: the discharge of a store's temperature or expansion relief valve ends without a tundish, can be shut off before
    it, or runs more than 600 mm to reach it.
Why: the open gap lets you see a leak, and it stops dirty water being sucked back.
Cure: a tundish, upright, in the same space, below the valve and close to it.
Source: Approved Document G (England), 3.50 to 3.55, seen in makers' reproductions that print 600 mm or 750 mm for D1;
    600 mm also in guidance G19.3 and G19.4 to the water fittings regulations, seen
Caution: unvented-store

Wrong:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve}
      W1: {kind: waste-stack}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - [S1.outlet, W1.in]

Right:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve}
      N1: {kind: tundish}
      O1: {kind: safe-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - {run: [S1.outlet, N1.in], length: 300 mm}
      - [N1.out, O1.in]
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._discharge import can_shut, d1_of, length_m, pipes_on
from schemagen.checks.unvented._stores import ELSEWHERE, relief_outlets

FOLDS = ("port-left-open",)
D1_MOST_M = 0.6


def check(facts):
    for outlet in relief_outlets(facts):
        run = d1_of(facts, outlet)
        shut = can_shut(facts, run)
        if not facts.is_piped(outlet):
            yield _fault(facts, outlet, "has no discharge pipe")
        elif run.end == outlet and any(facts.network.parts[tag].kind.name == ELSEWHERE for tag in run.tags):
            yield Unknown((outlet.tag,), f"where {outlet} leads")
        elif run.end == outlet:
            yield _fault(facts, outlet, f"leads to {run.ports[-1].tag} without a tundish", run.ports[-1].tag)
        elif shut:
            yield _fault(facts, outlet, f"can be shut off by {shut[0]} before its tundish {run.end.tag}", *shut)
        else:
            yield from _too_long(facts, outlet, run)


def _too_long(facts, outlet, run):
    length = length_m(pipes_on(facts, run))
    if length is None:
        yield Unknown((outlet.tag,), f"`length:` of the pipe from {outlet} to {run.end}")
    elif length > D1_MOST_M + 1e-9:
        said = f"runs {quantity(length, 'mm')} to its tundish {run.end.tag}, more than {quantity(D1_MOST_M, 'mm')}"
        yield _fault(facts, outlet, said, run.end.tag)


def _fault(facts, outlet, message: str, *others: str) -> Fault:
    pipe = facts.pipe_at(outlet)
    return Fault(
        f"{outlet} {message}",
        f"pipe {outlet} down to a tundish within {quantity(D1_MOST_M, 'mm')}, with nothing that can "
        "shut, and the tundish "
        "on to a safe-outlet",
        parts=(outlet.tag, *others),
        pipes=[pipe] if pipe else [],
        ports=(outlet,),
    )
