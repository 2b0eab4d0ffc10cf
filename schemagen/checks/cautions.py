"""The usual cautions by trigger, which a check's page names; they defer to local codes and licensed practice."""

CAUTIONS: dict[str, str] = {
    "pressure": "Hot water under pressure can burst or scald: safety devices are chosen, fitted and tested by a "
    "competent person to the local code and the makers' instructions.",
    "scald": "Water above about 50 °C scalds within seconds: limit it at the outlet as the local code asks.",
    "unvented-store": "Unvented hot-water storage is installed and serviced only by a person qualified for it, to the "
    "local code.",
    "legionella": "Stored and still water can breed legionella: temperatures and flushing follow the local health "
    "guidance.",
    "drinking-water": "Work on drinking water follows the local water regulations; backflow protection is checked by a "
    "competent person.",
    "solid-fuel": "A fire cannot be switched off: solid-fuel work is done by a competent person to the local code.",
    "electric": "Electrical work is isolated first and done by a qualified person to the local wiring rules.",
    "gas": "Work on gas appliances is done only by licensed persons.",
    "refrigerant": "Work on refrigerant circuits is done only by licensed persons.",
    "antifreeze": "Antifreeze harms drinking water and is collected, not drained; follow the maker's safety sheet.",
}
"""Source: common practice; wording our own."""
