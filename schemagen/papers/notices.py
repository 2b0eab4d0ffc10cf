"""Notices still to be given: which, to whom, by when. The program lists them; people give them."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from schemagen.network.network import Part
from schemagen.papers.material import Chapter, Material
from schemagen.papers.paper import Grid, Paragraph
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import listed

ENGLAND = ("england-and-wales", "england")
WALES = ("england-and-wales", "wales")
MEMORY = "from memory; read the rule in force"


@dataclass(frozen=True, slots=True)
class Notice:
    """A notice and the parts that call for it. `regions` empty: where no rule of the catalogue is for the region."""

    what: str
    whom: str
    when: str
    source: str
    of: Callable[[Part], bool]
    regions: tuple[str, ...] = ()


def _heats(part: Part) -> bool:
    return bool(part.kind.gives)


def _unvented(part: Part) -> bool:
    return part.kind.store == "wholesome" and "unvented-store" in part.kind.cautions


def _has(trigger: str) -> Callable[[Part], bool]:
    return lambda part: trigger in part.kind.cautions and (_heats(part) or part.kind.name == "split-outdoor-unit")


_RULES: tuple[Notice, ...] = (
    Notice(
        "Operating and maintenance information",
        "the owner",
        "no later than five days after completion",
        "Building Regulations 2010, regulation 40, as explained by an approved inspector",
        _heats,
        ENGLAND,
    ),
    Notice(
        "Notice of commissioning",
        "building control, or the installer's registration scheme",
        "with completion; within 30 days if self-certified (from memory)",
        "Building Regulations 2010, regulation 44",
        _heats,
        ENGLAND,
    ),
    Notice(
        "Unvented hot water store",
        "building control, unless the installer certifies it",
        "before work starts",
        f"Building Regulations 2010, requirement G3; when: {MEMORY}",
        _unvented,
        (*ENGLAND, *WALES),
    ),
    Notice(
        "Gas or oil appliance",
        "the registration scheme of the licensed installer",
        "within 30 days",
        MEMORY,
        _has("fuel-appliance"),
        (*ENGLAND, *WALES),
    ),
    Notice(
        "Solid-fuel appliance",
        "building control, unless the installer certifies it; ask about smoke control",
        "before work starts",
        MEMORY,
        _has("solid-fuel"),
        (*ENGLAND, *WALES),
    ),
    Notice(
        "Heat pump on the electricity supply",
        "the electricity network operator",
        "before connecting, or as it asks",
        MEMORY,
        _has("heat-pump"),
        (*ENGLAND, *WALES),
    ),
    Notice(
        "Backflow device, or other fittings that the water rules name",
        "the water supplier",
        "before work starts",
        f"Water Supply (Water Fittings) Regulations 1999, regulation 5; {MEMORY}",
        lambda p: p.kind.name == "disconnecting-preventer",
        (*ENGLAND, *WALES),
    ),
)

_BY_TYPE: tuple[Notice, ...] = (
    Notice("Heating installation", "the building authority", "as the local code says", "local code", _heats),
    Notice("Pressurised hot water store", "the building authority", "as the local code says", "local code", _unvented),
    Notice(
        "Gas or oil appliance",
        "the gas or fuel authority",
        "as the local code says",
        "local code",
        _has("fuel-appliance"),
    ),
    Notice(
        "Solid-fuel appliance",
        "the building authority, the chimney sweep",
        "as the local code says",
        "local code",
        _has("solid-fuel"),
    ),
    Notice(
        "Heat pump on the electricity supply",
        "the electricity network operator",
        "as it asks",
        "local code",
        _has("heat-pump"),
    ),
    Notice(
        "Joint of heating and drinking water",
        "the water supplier",
        "as it asks",
        "local code",
        lambda p: "backflow" in p.kind.cautions,
    ),
)
"""For regions of which the catalogue has no rule: who is usually told of what. Common practice, no source."""


def notices(material: Material) -> Chapter | None:
    """For the region that the sheet names (`region:`), England and Wales if it names none."""
    dossier = material.dossier
    rows = tuple(_rows(dossier))
    if not rows:
        return None
    region = dossier.facts.region.replace("-", " ").title().replace(" And ", " and ")
    known = any(dossier.facts.region in rule.regions for rule in _RULES)
    lead = f"For {region}." if known else f"For {region} no rules are on file: these are the notices that are usual."
    pieces = (
        Paragraph(f"{lead} This list may lack some. Ask the authorities; the program gives no notice."),
        Grid(("Notice of", "Because of", "To whom", "By when", "Source", "Given on, by"), rows, (4, 2.5, 4, 4, 5, 3)),
    )
    return Chapter("notices", "Notices to be given", pieces, landscape=True)


def _rows(dossier: Dossier) -> Iterator[tuple[str, ...]]:
    region = dossier.facts.region
    rules = [rule for rule in _RULES if region in rule.regions] or _BY_TYPE
    for rule in rules:
        tags = [part.tag for part in dossier.network.parts.values() if rule.of(part)]
        if tags:
            because = listed(tags) if len(tags) < 5 else f"{', '.join(tags[:3])} and {len(tags) - 3} more"
            yield rule.what, because, rule.whom, rule.when, rule.source, ""
