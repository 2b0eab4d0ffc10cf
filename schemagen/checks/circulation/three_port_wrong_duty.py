"""three-port-wrong-duty (error)

What: a diverting valve gets two waters in, a mixing valve sends two out,
    or the outlets of a diverting or mid-position valve lead to the wrong duty.
Why: a three-port valve works only the way it was built;
    with no power the usual mid-position valve lies open to hot water, so that the wrong branch gets heat.
Cure: re-pipe to the letters on the body, and see the rest position;
    `duty: collecting` or `duty: diverting` says that it is meant.
Source: mid-position valve without power: open to hot water (trade text, seen); otherwise common practice

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      V1: {kind: diverter-valve, rest: a}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [T1.branch, R2.a]
      - [R1.b, V1.a]
      - [R2.b, V1.b]
      - [V1.common, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      T1: {kind: tee}
      V1: {kind: diverter-valve, rest: a, duty: collecting}
      R1: {kind: radiator}
      R2: {kind: radiator}
    connections:
      - [B1.flow, T1.a]
      - [T1.b, R1.a]
      - [T1.branch, R2.a]
      - [R1.b, V1.a]
      - [R2.b, V1.b]
      - [V1.common, B1.return]
"""

from schemagen.checks.circulation._ways import bodies, hot_side
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "arrow-against-flow", "no-path-back", "part-never-flows", "diverter-outlet-no-return", "source-on-without-flow",
)  # fmt: skip


def check(facts):
    for valve in facts.parts("diverter-valve"):
        if valve.value("duty") != "collecting" and _listed_in(facts, valve.tag, ("common", "a", "b")) == 2:
            yield _fault(
                valve.tag,
                "is a diverting valve, but two waters run into it",
                "write `duty: collecting` if it stands on the return",
            )
        elif _fed_at_outlet(facts, valve):
            yield _fault(valve.tag, "is fed at an outlet", f"bring the flow to {valve.tag}.common")
        yield from _duties(facts, valve)
    for valve in facts.parts("heating-mixing-valve"):
        if valve.value("duty") != "diverting" and _listed_in(facts, valve.tag, ("hot", "mixed", "cold")) == 1:
            yield _fault(
                valve.tag, "is a mixing valve, but sends water two ways", "write `duty: diverting` if that is meant"
            )
    for valve in facts.parts("mid-position-valve"):
        if not all(facts.is_piped(PortId(valve.tag, n)) for n in ("common", "heating", "hot-water")):
            continue
        if facts.goes_on_elsewhere(PortId(valve.tag, "common")):
            continue
        if PortId(valve.tag, "common") not in hot_side(facts, valve.tag):
            yield _fault(
                valve.tag,
                "has its common opening away from the source",
                f"bring the flow to {valve.tag}.common",
                "warning",
            )
        elif not _heats_store(facts, valve.tag, "hot-water") or _heats_store(facts, valve.tag, "heating"):
            yield _fault(
                valve.tag,
                "has its two outlets exchanged",
                f"bring the store's coil to {valve.tag}.hot-water",
                "warning",
            )


def _listed_in(facts, tag: str, names) -> int:
    ports = [PortId(tag, name) for name in names]
    if not all(facts.is_piped(port) for port in ports):
        return -1
    return sum(facts.pipe_at(port).end == port for port in ports)


def _fed_at_outlet(facts, valve) -> bool:
    """True if the one pipe whose water is listed to run into a diverting valve does not run into its common opening."""
    once = valve.value("duty") != "collecting" and _listed_in(facts, valve.tag, ("common", "a", "b")) == 1
    return once and facts.pipe_at(PortId(valve.tag, "common")).start == PortId(valve.tag, "common")


def _duties(facts, valve):
    serves = valve.value("serves") or {}
    for name, duty in dict(serves).items():
        outlet = PortId(valve.tag, name)
        if outlet.port not in valve.kind.ports or not facts.is_piped(outlet) or valve.value("duty") == "collecting":
            continue
        hot_water = _heats_store(facts, valve.tag, name)
        if (duty == "hot-water") != hot_water:
            leads = "a store" if hot_water else "heating"
            yield _fault(
                valve.tag,
                f"is said to serve {duty} at {name}, but that outlet leads to {leads}",
                "exchange the two outlets, or correct `serves:`",
                "warning",
            )


def _heats_store(facts, tag: str, name: str) -> bool:
    """True if the first taker behind an outlet is the coil of a store of drinking water."""
    stop = bodies(facts) | {part.tag for part in facts.takers} | {tag}
    reached = facts.reach.downstream(PortId(tag, name), without=stop)
    stores = [p for p in facts.takers if p.kind.store == "wholesome"]
    return any(PortId(p.tag, n) in reached for p in stores for n in p.kind.takes)


def _fault(tag: str, what: str, cure: str, severity=None) -> Fault:
    return Fault(f"{tag} {what}", cure, parts=(tag,), severity=severity)
