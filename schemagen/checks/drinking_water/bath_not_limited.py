"""bath-not-limited (error)

What: hot water reaches a bath without passing a thermostatic mixing valve, and its source is not limited to 48 °C. An
    error in England and Wales, a warning elsewhere.
Why: water at 60 °C scalds a child in seconds.
Cure: a mixing valve set to 48 °C or less, within 2 m of the bath.
Source: Approved Document G (England), requirement G3(4): 48 °C in new dwellings, seen in quotations; 2 m from a
    construction encyclopaedia and a valve maker's sheet (manual), seen
Caution: scald
Regions: 48 °C at baths of new dwellings in England and Wales; Australia limits delivery at outlets for personal hygiene

Wrong:
    parts:
      W1: {kind: cold-water-cistern}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      O1: {kind: bath-outlet}
    connections:
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, O1.cold-in]
      - [C1.hot-out, O1.hot-in]

Right:
    parts:
      W1: {kind: cold-water-cistern}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      T1: {kind: tee}
      V1: {kind: thermostatic-mixing-valve, setting: 46 °C}
      O1: {kind: bath-outlet}
    connections:
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, T1, O1.cold-in]
      - [T1, V1.cold]
      - [C1.hot-out, V1.hot]
      - [V1.mixed, O1.hot-in]
"""

from schemagen.base.units import quantity
from schemagen.checks.drinking_water._blend import unblended
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

BATH_MOST_C = 48.0
_STRICT = ("england-and-wales", "england", "wales")


def check(facts):
    baths = [bath for bath in facts.parts("bath-outlet") if not _is_limited(bath)]
    if not baths:
        return
    sources = [p for p in facts.network.parts.values() if "hot-out" in p.kind.ports and not _is_limited(p)]
    reached = unblended(facts, [PortId(source.tag, "hot-out") for source in sources])
    for bath in baths:
        inlet = PortId(bath.tag, "hot-in")
        if inlet in reached:
            yield Fault(
                f"hot water reaches the bath {inlet} without a thermostatic mixing valve",
                f"put a thermostatic-mixing-valve set to {quantity(BATH_MOST_C, '°C')} or less before "
                f"{inlet}, within 2 m",
                parts=(bath.tag,),
                pipes=[facts.pipe_at(inlet)],
                ports=(inlet,),
                severity="error" if facts.region in _STRICT else "warning",
            )


def _is_limited(part) -> bool:
    """True if the part's own data keep its water at 48 °C or below."""
    most = part.value("max-temperature") if part.kind.store else part.value("setting")
    return most is not None and most <= BATH_MOST_C
