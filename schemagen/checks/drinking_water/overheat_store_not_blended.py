"""overheat-store-not-blended (error)

What: a store that sun or fire can heat, or the draw-off coil of a thermal store, feeds a hot tap with no mixing valve
    on the way. A warning if a plate exchanger stands between such a store and the tap.
Why: on a sunny day or after a long burn the store can hold 80 or 90 °C.
Cure: one mixing valve at the store outlet.
Source: common practice, no source; standards for solar systems, from memory
Caution: scald

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: vented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, S1.in]
      - [C1.hot-out, O1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: vented-cylinder}
      W1: {kind: cold-water-cistern}
      V1: {kind: thermostatic-mixing-valve, setting: 48 °C}
      O1: {kind: hot-outlet}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, S1.in]
      - [W1.outlet, C1.cold-in]
      - [W1.outlet-2, V1.cold]
      - [C1.hot-out, V1.hot]
      - [V1.mixed, O1.in]
"""

from schemagen.checks.drinking_water._backflow import WHOLESOME
from schemagen.checks.drinking_water._blend import unblended
from schemagen.checks.drinking_water._hot import tap_openings
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_COOL_C = 60.0
"""A store that its maker or its controls keep to this is none that overheats."""


def check(facts):
    fires = {
        facts.reach.wet_number(PortId(giver.tag, name)): giver.tag
        for giver in facts.givers
        if giver.kind.giver == "uncontrolled"
        for name in giver.kind.gives
    }
    taps = tap_openings(facts)
    for part in facts.network.parts.values():
        if "hot-out" in part.kind.ports and (why := _why_hot(facts, part, fires)):
            start = PortId(part.tag, "hot-out")
            fed = [port for port in unblended(facts, [start]) if port in taps]
            if fed:
                yield _fault(facts, part.tag, start, fed, why)
    yield from _through_exchanger(facts, fires, taps)


def _why_hot(facts, part, fires) -> str:
    if part.value("max-temperature") is not None and part.value("max-temperature") <= _COOL_C:
        return ""
    if part.kind.store == "heating":
        return f"{part.tag} can be far hotter than tap water should be"
    heated = [fires[n] for name in part.kind.takes if (n := facts.reach.wet_number(PortId(part.tag, name))) in fires]
    return f"{heated[0]} can overheat {part.tag}" if heated and part.kind.store else ""


def _through_exchanger(facts, fires, taps):
    for plate in facts.parts("plate-heat-exchanger"):
        sides = (("left-top", "left-bottom"), ("right-top", "right-bottom"))
        for hot, cool in (sides, sides[::-1]):
            number = facts.reach.wet_number(PortId(plate.tag, hot[0]))
            if number not in fires or not _holds_a_store(facts, PortId(plate.tag, hot[0])):
                continue
            outlets = [port for n in cool if facts.medium_at(port := PortId(plate.tag, n)) in WHOLESOME]
            fed = [port for port in unblended(facts, outlets) if port in taps]
            if fed:
                why = f"{fires[number]} can overheat the store that warms {plate.tag}"
                yield _fault(facts, plate.tag, outlets[0], fed, why, severity="warning")


def _holds_a_store(facts, port) -> bool:
    return any(facts.network.parts[p.tag].kind.store == "heating" for p in facts.reach.wet(port))


def _fault(facts, tag: str, start, fed, why: str, severity=None) -> Fault:
    pipe = facts.pipe_at(start)
    names = ", ".join(str(tap) for tap in fed[:4]) + (" and more" if len(fed) > 4 else "")
    return Fault(
        f"{why}, and no mixing valve stands between {start} and {names}",
        f"put a thermostatic-mixing-valve into the pipe from {start}",
        parts=(tag, *dict.fromkeys(tap.tag for tap in fed)),
        pipes=[pipe] if pipe else [],
        ports=(start,),
        severity=severity,
    )
