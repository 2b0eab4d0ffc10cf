"""valve-before-expansion-relief (error)

What: something that can close or clog stands between an unvented store and its expansion relief valve or its vessel. A
    hand valve with `locked: open` before the vessel is allowed.
Why: one turn of a handle would leave the cylinder sealed and still heating.
Cure: every stop valve goes upstream of the check valve.
Source: common practice, no source; BS EN 12897, from memory
Caution: unvented-store

Wrong:
    parts:
      M1: {kind: cold-main}
      G1: {kind: inlet-control-group, capped: [balanced-cold-out]}
      V1: {kind: isolating-valve}
      E1: {kind: wholesome-expansion-vessel, volume: 18 L}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, G1.main-in]
      - [G1.cylinder-out, V1, C1.cold-in]
      - [G1.vessel, E1.port]
      - [C1.hot-out, O1.in]

Right:
    parts:
      M1: {kind: cold-main}
      V1: {kind: isolating-valve}
      G1: {kind: inlet-control-group, capped: [balanced-cold-out]}
      V2: {kind: isolating-valve, locked: open}
      E1: {kind: wholesome-expansion-vessel, volume: 18 L}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      O1: {kind: hot-outlet}
    connections:
      - [M1.out, V1, G1.main-in]
      - [G1.cylinder-out, C1.cold-in]
      - [G1.vessel, V2, E1.port]
      - [C1.hot-out, O1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.unvented._stores import at, behind_check, cold_in, expansion_reliefs, unvented_stores, vessels

_DEVICES = (("expansion relief valve", expansion_reliefs, False), ("expansion vessel", vessels, True))


def check(facts):
    stores = unvented_stores(facts)
    for title, found, with_stores in _DEVICES:
        numbers = behind_check(facts, stores=with_stores)
        devices = at(numbers, found(facts))
        for store in stores:
            inlet = cold_in(store)
            mine = devices.get(numbers[inlet], [])
            if mine and not set(mine) & facts.reach.fixed(inlet):
                yield _fault(facts, store, mine[0], title)


def _fault(facts, store, device, title: str) -> Fault:
    way = facts.reach.path(device, cold_in(store)) or facts.reach.path(cold_in(store), device)
    between = [tag for tag in dict.fromkeys(p.tag for p in way) if tag not in (device.tag, store.tag)]
    blame = [tag for tag in between if not _is_fixed(facts, tag)]
    by = " and ".join(blame) or "what stands between"
    return Fault(
        f"{by} can shut {store.tag} off from its {title} {device.tag}",
        f"move {by} upstream of the check valve" + ("" if title.endswith("valve") else ", or write `locked: open`"),
        parts=(store.tag, device.tag, *blame),
        ports=(device,),
    )


def _is_fixed(facts, tag: str) -> bool:
    part = facts.network.parts[tag]
    ports = facts.wet_ports(part)
    return all(other in facts.reach.fixed(ports[0]) for other in ports[1:])
