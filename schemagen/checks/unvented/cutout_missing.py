"""cutout-missing (error)

What: a heat input of an unvented store (coil or immersion heater) is not ended by a cut-out on that store: the heater
    itself, a motor valve on the way to the coil, an electric source, or the pump where sun, fire or an exchanger heats.
Why: the thermostat is the first guard, the cut-out that is reset by hand the second, the relief valve the third. The
    middle one may not be skipped.
Cure: fit the maker's cut-out and wire it to that input.
Source: Approved Document G (England), requirement G3(3), seen in quotations; overheat thermostat that works the motor
    valve of the primary: a plumbing course textbook, seen; solar input: a trade association's note of 2007, seen
Caution: unvented-store

Wrong:
    parts:
      B1: {kind: system-boiler}
      Z1: {kind: zone-valve}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return]}
      CT1: {kind: cylinder-thermostat, on: C1, switches: [Z1, B1]}
    connections:
      - [B1.flow, Z1, C1.coil-in]
      - [C1.coil-out, B1.return]

Right:
    parts:
      B1: {kind: system-boiler}
      Z1: {kind: zone-valve}
      C1: {kind: indirect-unvented-cylinder, capped: [circulation-return]}
      CT1: {kind: cylinder-thermostat, on: C1, switches: [Z1, B1]}
      CO1: {kind: cut-out-thermostat, on: C1, setting: 85 °C, switches: [Z1]}
    connections:
      - [B1.flow, Z1, C1.coil-in]
      - [C1.coil-out, B1.return]
"""

from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._heat import Heat
from schemagen.checks.unvented._stores import unvented_stores


def check(facts):
    heat = facts.once(Heat)
    for coil in heat.coils:
        if "cut-out" not in coil.store.built_in:
            yield from _coil(facts, heat, coil)
    for store in unvented_stores(facts):
        for tag in facts.network.mounted_on.get(store.tag, ()):
            heater = facts.network.parts[tag]
            guarded = "cut-out" in (*heater.built_in, *store.built_in) or tag in heat.acts_on(store.tag)
            if heater.kind.name == "immersion-heater" and not guarded:
                yield Fault(
                    f"no cut-out on {store.tag} stops the immersion heater {tag}",
                    f"list a cut-out-thermostat with `on: {store.tag}` and `switches: [{tag}]`",
                    parts=(store.tag, tag),
                )


def _coil(facts, heat, coil):
    mine = heat.acts_on(coil.store.tag)
    if coil.into in heat.when_shut:
        if not heat.is_shut_behind(coil):
            yield _fault(facts, heat, coil)
        return
    held_by = heat.held_by(coil)
    if set(held_by) - set(mine):
        yield _fault(facts, heat, coil)
    elif not held_by and facts.goes_on_elsewhere(coil.into):
        yield Unknown((coil.store.tag,), f"what heats {coil.into}")


def _fault(facts, heat, coil) -> Fault:
    store = coil.store.tag
    fitted = heat.cut_outs(store)
    what = f"{' and '.join(fitted)} on {store} does not end" if fitted else f"no cut-out on {store} ends"
    return Fault(
        f"{what} the heat into {coil.into}",
        f"list a cut-out-thermostat with `on: {store}` that switches a motor valve on the way to {coil.into}, such as "
        "a zone-valve that springs shut",
        parts=(store, *fitted),
        pipes=[facts.pipe_at(coil.into)],
        ports=(coil.into,),
    )
