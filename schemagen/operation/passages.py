"""What a passage inside a part is to the water: whether it may flow there, what drives it, and how hard the way is.

The resistances are from the check's rule of thumb: shares of a pipe's, not figures of a maker.
"""

from schemagen.network.network import Network, Part, PortId
from schemagen.network.reach import is_discharge
from schemagen.operation.states import has_own_pump, is_tap
from schemagen.parts.kind import OUTSIDE, PartKind, Passage

PLAIN, HEAT, BYPASS, SEPARATING = 1.0, 5.0, 20.0, 0.01
"""Resistances: pipe or plain passage, giver or taker, open bypass, body of a separator. Common practice, no source."""

RECIRCULATING = 0.1
"""The way by which a mixing set takes water back from its load, so that its pump pulls little at the source."""

THROTTLED = 20.0
"""The cold way of a tap mixing valve, which it throttles for as long as hot water comes. Common practice, no source."""

_FIRES = ("solid-fuel-stove", "wood-boiler")


def may_flow(network: Network, part: Part, passage: Passage, filling: bool) -> bool:
    """True if water can go by a passage in some state; by vents only while the system is filled."""
    if passage.sort not in ("both", "one-way") or is_discharge(part.kind, passage):
        return False
    if is_tap(part) and passage.b != OUTSIDE:
        return False
    names = [n for n in (passage.a, passage.b) if n != OUTSIDE and not (filling and n == "vent")]
    dead = [n for n in names if part.kind.ports[n].role == "dead"]
    through = part.kind.name == "wholesome-expansion-vessel"
    return not dead or (through and all(network.pipes_at.get(PortId(part.tag, n)) for n in dead))


def role_of(part: Part, passage: Passage) -> str:
    """What decides whether a passage is open and what drives it: one of the roles of a link."""
    kind = part.kind
    if kind.driver in ("main", "cistern") and passage.b == OUTSIDE:
        return "main"
    if kind.driver == "pump":
        return "pump"
    if kind.name == "heat-interface-unit" and passage.a == "network-flow" and passage.b == "network-return":
        return "unit"
    if _drives(part, passage):
        return "source"
    if kind.name in _FIRES and passage.a in kind.gives:
        return "gravity"
    if part.value("gravity") and passage.a in kind.takes and passage.b in kind.takes:
        return "falling"
    if kind.name == "bypass-valve" and kind.moved_by != "hand":
        return "bypass"
    return "outlet" if is_tap(part) else "valve" if passage.positions else ""


def _drives(part: Part, passage: Passage) -> bool:
    """True for the passage of a source on which the pump inside it works."""
    if not has_own_pump(part) and "brine-pump" not in part.built_in:
        return False
    giving = passage.a in part.kind.gives and passage.b in part.kind.gives
    return (giving and has_own_pump(part)) or (passage.a == "brine-in" and "brine-pump" in part.built_in)


def takes_back(kind: PartKind, a: str, b: str) -> bool:
    """True for the way by which a mixing set takes water back from its load."""
    return kind.name == "mixing-set" and (a, b) == ("load-return", "load-flow")


def resistance_of(kind: PartKind, a: str, b: str, role: str) -> float:
    """The resistance of the passages between two openings of a part, by the role of their link."""
    if role == "bypass" or kind.name == "bypass-valve":
        return BYPASS
    if kind.name == "thermostatic-mixing-valve" and a == "cold":
        return THROTTLED
    if takes_back(kind, a, b):
        return RECIRCULATING
    if OUTSIDE in (a, b):
        return HEAT if role == "outlet" else PLAIN
    if (a in kind.takes and b in kind.takes) or (a in kind.gives and b in kind.gives):
        return HEAT
    return SEPARATING if kind.separates and kind.ports[a].media == "H" else PLAIN
