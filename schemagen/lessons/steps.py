"""The steps in which a system is built up before a class, and what is said at each: our wording of trade practice."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Step:
    """One step: its name, the sections whose pipes it adds, and the sentences that go with it.

    why   pairs (kind, sentence); the first whose kind is in the system is said. The kind "" is in every system.
    look  likewise, of the kinds that the step shows; {tag} is the first part of that kind
    """

    name: str
    title: str
    sections: tuple[str, ...]
    why: tuple[tuple[str, str], ...]
    look: tuple[tuple[str, str], ...]


SOURCE, CONTROLS, SAFETY = "source", "controls", "safety"

STEPS = (
    Step(
        "cold", "Cold water", ("cold",),
        (
            ("indirect-unvented-cylinder", "Mains pressure pushes cold water to the taps and into the cylinder."),
            ("twin-coil-unvented-cylinder", "Mains pressure pushes cold water to the taps and into the cylinder."),
            ("direct-unvented-cylinder", "Mains pressure pushes cold water to the taps and into the cylinder."),
            ("cylinder-and-buffer", "Mains pressure pushes cold water to the taps and into the cylinder."),
            ("cold-water-cistern", "The cistern stores cold water, and its height pushes water to store and taps."),
            ("", "Cold water serves the taps and whatever else needs fresh water."),
        ),
        (
            ("pressure-reducer", "Look for {tag}: it holds the pressure for everything behind it."),
            ("inlet-control-group", "Look for {tag}: filter, pressure control and relief in one body."),
            ("double-check-valve", "Look for {tag}: it keeps other water out of drinking water."),
            ("cold-water-cistern", "Look for {tag}: its water is open to air, and its height gives the pressure."),
            ("check-valve", "Look for {tag}: water passes it one way only."),
            ("", "Follow the arrows from where water comes in to each place where it is used."),
        ),
    ),
    Step(
        "hot", "Hot water", ("hot", "circulation", "tempered"),
        (
            ("wholesome-circulating-pump", "Hot water leaves at the top; the circulation keeps it near the taps."),
            ("", "Hot water goes to the taps, and cold water takes its place."),
        ),
        (
            ("thermostatic-mixing-valve", "Look for {tag}: it adds cold water, so that nobody is scalded."),
            ("wholesome-circulating-pump", "Look for {tag}: it brings hot water back, so that taps run hot at once."),
            ("temperature-and-pressure-relief-valve", "Look for {tag}: it opens before the store can boil."),
            ("heat-interface-unit", "Look for {tag}: it warms water as it runs, and stores none."),
            ("combi-boiler", "Look for {tag}: it warms water as it runs, and stores none."),
            ("", "Follow hot water from where it is made to each tap."),
        ),
    ),
    Step(
        SOURCE, "Heat source and buffer", ("primary-flow", "primary-return"),
        (
            ("buffer-four-pipe", "The buffer holds warm water, so that the source runs longer and starts less."),
            ("buffer-three-pipe", "The buffer holds warm water, so that the source runs longer and starts less."),
            ("buffer-two-pipe", "The buffer holds warm water, so that the source runs longer and starts less."),
            ("cylinder-and-buffer", "The buffer holds warm water, so that the source runs longer and starts less."),
            ("thermal-store", "The store holds heat, so that source and rooms need not work together."),
            ("low-loss-header", "The header lets source and heating pumps run without disturbing each other."),
            ("", "The source makes heat, and the primary pipes carry it to where it is needed."),
        ),
        (
            ("diverter-valve", "Look for {tag}: it sends the heat one way or the other."),
            ("mid-position-valve", "Look for {tag}: it sends the heat one way, the other, or both."),
            ("loading-valve", "Look for {tag}: it keeps cold water from reaching the fire."),
            ("magnetic-filter", "Look for {tag}: it catches dirt before the source."),
            ("", "Follow the flow from the source, and its return back."),
        ),
    ),
    Step(
        "solar", "Solar heat", ("solar-flow", "solar-return"),
        (("", "The collector warms a circuit of its own, and that circuit warms the store."),),
        (
            ("solar-expansion-vessel", "Look for {tag}: it takes up the liquid when the collector boils."),
            ("", "Look where the solar coil lies: at the bottom, where the store is coldest."),
        ),
    ),
    Step(
        "ground", "Heat from the ground", ("brine-flow", "brine-return"),
        (("", "The ground circuit brings heat from outside to the heat pump."),),
        (("", "Look for its own pump, vessel and relief valve: this circuit stands alone."),),
    ),
    Step(
        "pool", "Swimming pool", ("pool-flow", "pool-return"),
        (("", "Pool water is warmed through an exchanger and never mixes with heating water."),),
        (
            ("pool-filter", "Look for {tag}: the water is cleaned before it is warmed."),
            ("", "Follow the pool water round."),
        ),
    ),
    Step(
        "heating", "Heating", ("heating-flow", "heating-return"),
        (("", "Warm water gives its heat to the rooms and comes back cooler."),),
        (
            ("bypass-valve", "Look for {tag}: it opens when all other ways are shut."),
            ("mixing-set", "Look for {tag}: it mixes return into flow for the floor."),
            ("heating-mixing-valve", "Look for {tag}: it mixes return into flow."),
            ("zone-valve", "Look for {tag}: it opens only when its zone calls."),
            ("thermostatic-radiator-valve", "Look for {tag}: it shuts when its room is warm."),
            ("", "Follow one way out from the flow and back to the return."),
        ),
    ),
    Step(
        CONTROLS, "Controls", (),
        (("", "Controls decide when heat is made and where it goes."),),
        (
            ("cylinder-thermostat", "Look for {tag}: ask what it feels, and what it switches."),
            ("room-thermostat", "Look for {tag}: ask what it feels, and what it switches."),
            ("", "For each one, ask what it feels and what it switches."),
        ),
    ),
    Step(
        SAFETY, "Safety, filling and waste", ("discharge", "condensate", "vent", "cold-feed", "filling", "refrigerant"),
        (("", "These parts limit pressure and temperature, and keep drinking water clean."),),
        (
            ("tundish", "Look for {tag}: its open gap shows when a relief valve has opened."),
            ("relief-valve", "Look for {tag}: nothing may shut it off from what it protects."),
            ("open-vent-end", "Look for {tag}: its pipe must never be shut."),
            ("expansion-vessel", "Look for {tag}: it takes up the water that grows as it warms."),
            ("", "Look for what opens, what gives room, and what shuts the heat off."),
        ),
    ),
)  # fmt: skip
"""In teaching order. Every sentence has at most twenty words, and none names a thing by its colour."""

SAFETY_KINDS = (
    "relief-valve", "expansion-relief-valve", "temperature-and-pressure-relief-valve", "inlet-control-group",
    "thermal-discharge-valve", "tundish", "safe-outlet", "collecting-container", "open-vent-end", "expansion-vessel",
    "wholesome-expansion-vessel", "solar-expansion-vessel", "intermediate-vessel", "feed-and-expansion-cistern",
    "thermostatic-mixing-valve", "cut-out-thermostat", "double-check-valve", "disconnecting-preventer",
    "antifreeze-valve", "inline-antifreeze-valve", "heat-leak-radiator", "pressure-gauge", "filling-loop",
    "automatic-fill-unit", "waste-stack",
)  # fmt: skip
"""Kinds that limit pressure or temperature, take up expansion, guard drinking water, or carry away what is let out."""
