"""Cautions that belong on a sheet: each only where a part, or an accepted finding, calls for it."""

from schemagen.checks.check import Report
from schemagen.network.network import Network

CAUTIONS: dict[str, str] = {
    "unvented-store": (
        "Stored hot water under mains pressure: only people qualified for unvented hot water may work on it. "
        "Never block, cap, lengthen or close off a relief valve or its discharge pipe."
    ),
    "tundish": (
        "If water runs or drips at the tundish, switch off the heat to the store, leave the cold supply on, "
        "keep clear of the pipe end and call a competent person."
    ),
    "hot-outlet": (
        "Hot water can scald in seconds. Test it with your hand in the stream before bathing, most of all for "
        "children, older or disabled people. Do not alter the setting of a mixing valve."
    ),
    "stored-water": (
        "Warm, still water can grow legionella. Keep stored hot water at 60 °C or as your risk assessment "
        "says, use every outlet at least weekly, and flush outlets after an absence."
    ),
    "sealed-heating": (
        "Heating water is held under pressure and hot. Let it cool before opening anything. Fill only to the "
        "pressure marked, then take the filling loop off."
    ),
    "open-vented": "The open vent and the feed pipe must stay open to air. Never fit a valve in them.",
    "solid-fuel": (
        "A fire goes on giving heat when the power is off. Never shut the valves to the heat-leak radiator. "
        "If the water boils: close the air supply, open no fittings, leave the room and call for help."
    ),
    "solar": (
        "A collector in the sun can reach steam temperature even when its pump is off. Cover it or wait for "
        "night before any work."
    ),
    "fuel-appliance": (
        "The fuel side is for licensed persons only. If you smell gas or fuel: touch no switches, open windows, close "
        "the valve at the meter or tank, go outside and call the emergency number."
    ),
    "heat-pump": (
        "The refrigerant circuit is sealed and may hold flammable gas; only certified people may open it. "
        "Keep the airways and the drain of the outdoor unit clear."
    ),
    "antifreeze": (
        "This circuit holds antifreeze. Do not top it up with plain water, do not drain it to the sewer or "
        "the ground, and do not mix products."
    ),
    "electric": (
        "Switch off and lock off at the isolator before removing any cover. Electrical work by a qualified person only."
    ),
    "backflow": "Heating water must never get back to drinking water. Leave check valves and air gaps as they are.",
}
"""By trigger, in the order in which they are printed. Our own wording of common trade cautions; 60 °C stored and weekly
use follow the HSE's guidance on hot and cold water systems."""

ACCEPTED = (
    "Points listed as accepted were raised by the checks and accepted for the reason given. "
    "The program has not cleared them."
)

CLOSING = (
    "Local codes, the makers' instructions and the judgement of a licensed or competent person come first. "
    "This sheet does not replace them."
)
"""Printed wherever a caution is."""


def cautions_for(network: Network, report: Report) -> tuple[str, ...]:
    """The texts that apply, the closing line last; empty if nothing calls for one."""
    triggers = {t for part in network.parts.values() for t in part.kind.cautions}
    texts = [text for trigger, text in CAUTIONS.items() if trigger in triggers]
    if any(f.accepted is not None for f in report.findings):
        texts.append(ACCEPTED)
    return (*texts, CLOSING) if texts else ()
