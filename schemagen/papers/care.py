"""The care plan: what is looked after, how often and by whom, for the parts that are there; and a log to write in."""

from collections.abc import Callable, Iterator
from dataclasses import dataclass

from schemagen.network.network import Part
from schemagen.papers.material import Chapter, Material
from schemagen.papers.paper import Grid, Heading, NewPage, Paragraph
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import listed
from schemagen.schedules.valve_graph import is_safety

USER, COMPETENT, QUALIFIED, LICENSED = "user", "competent person", "person qualified for unvented", "licensed person"
PRACTICE = "–"
HSE = "HSE, hot and cold water systems"
BS7593 = "BS 7593:2019, by trade summaries"
VISITS = 10
_MOST_TAGS = 8


@dataclass(frozen=True, slots=True)
class Care:
    """One job: `of` says for which parts."""

    what: str
    often: str
    who: str
    source: str
    of: Callable[[Part], bool]


def _named(*kinds: str) -> Callable[[Part], bool]:
    return lambda part: part.kind.name in kinds


def _cautioned(trigger: str) -> Callable[[Part], bool]:
    return lambda part: trigger in part.kind.cautions


def _wholesome(part: Part) -> bool:
    return part.kind.store == "wholesome"


CARE: tuple[Care, ...] = (
    Care(
        "Read the pressure. If it falls again and again, call for help",
        "monthly",
        USER,
        PRACTICE,
        _named("pressure-gauge"),
    ),
    Care("Look for water. If it runs or drips, do as the cautions say", "monthly", USER, PRACTICE, _named("tundish")),
    Care(
        "Use every outlet; after an absence let it run until hot and cold come",
        "weekly",
        USER,
        HSE,
        lambda p: p.kind.family == "ends" and p.kind.moved_by == "hand",
    ),
    Care(
        "Keep the air free, clear leaves and snow, see that its drain runs",
        "monthly",
        USER,
        PRACTICE,
        _named("air-heat-pump", "split-outdoor-unit"),
    ),
    Care(
        "Set the clock, look at times and temperatures",
        "twice a year",
        USER,
        PRACTICE,
        _named("programmer", "room-thermostat"),
    ),
    Care(
        "Let out air",
        "yearly, and if it gurgles",
        USER,
        PRACTICE,
        lambda p: p.kind.name in ("radiator", "towel-rail", "heat-leak-radiator"),
    ),
    Care("Service as the maker says", "yearly", LICENSED, PRACTICE, _cautioned("fuel-appliance")),
    Care(
        "Service as the maker says",
        "yearly",
        COMPETENT,
        PRACTICE,
        lambda p: "heat-pump" in p.kind.cautions and bool(p.kind.gives),
    ),
    Care(
        "Sweep flue and chimney, check door seals and air supply",
        "at least yearly",
        "sweep",
        PRACTICE,
        _cautioned("solid-fuel"),
    ),
    Care(
        "Try the carbon monoxide alarm",
        "monthly",
        USER,
        PRACTICE,
        lambda p: {"solid-fuel", "fuel-appliance"} & set(p.kind.cautions) and bool(p.kind.gives),
    ),
    Care(
        "Service the store and its safety devices",
        "yearly",
        QUALIFIED,
        PRACTICE,
        lambda p: _wholesome(p) and "unvented-store" in p.kind.cautions,
    ),
    Care(
        "Check the temperature stored and at the furthest tap",
        "yearly; other premises as the risk assessment says",
        COMPETENT,
        HSE,
        _wholesome,
    ),
    Care(
        "Lift by hand; see that it shuts and that its discharge is clear",
        "yearly",
        COMPETENT,
        PRACTICE,
        lambda p: is_safety(p) and "lifted" in p.kind.positions,
    ),
    Care(
        "Check the charge pressure, with the water side at no pressure",
        "yearly",
        COMPETENT,
        PRACTICE,
        lambda p: p.kind.name.endswith("expansion-vessel"),
    ),
    Care(
        "Check the inhibitor and that the water is clean",
        "yearly",
        COMPETENT,
        BS7593,
        lambda p: bool(p.kind.gives) and p.kind.name not in ("solar-collector", "ground-loop"),
    ),
    Care(
        "Dose the inhibitor anew, or have the water tested in full",
        "every 5 years",
        COMPETENT,
        BS7593,
        lambda p: bool(p.kind.gives) and p.kind.name not in ("solar-collector", "ground-loop"),
    ),
    Care("Clean", "yearly", COMPETENT, PRACTICE, lambda p: "filter" in p.kind.counts_as),
    Care(
        "Check frost protection and pH of the fluid",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("solar-collector", "ground-loop"),
    ),
    Care(
        "See that it is clear and does not drip, before winter",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("antifreeze-valve", "inline-antifreeze-valve"),
    ),
    Care(
        "Check the outlet temperature; shut the cold and see the hot shut",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("thermostatic-mixing-valve"),
    ),
    Care(
        "Check that nothing can flow back",
        "yearly",
        COMPETENT,
        PRACTICE,
        lambda p: "backflow" in p.kind.cautions and p.kind.name != "filling-loop",
    ),
    Care(
        "Check lid, float, overflow and insulation",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("cold-water-cistern", "feed-and-expansion-cistern"),
    ),
    Care(
        "Turn shut and open again, so that it moves when it has to",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("isolating-valve"),
    ),
    Care(
        "Try by heating past its setting, or as the maker says",
        "yearly",
        COMPETENT,
        PRACTICE,
        _named("cut-out-thermostat"),
    ),
)
"""In the order of the plan. Intervals are a start: makers' instructions and the risk assessment come first."""


def care_plan(material: Material) -> Chapter:
    rows = tuple(_rows(material.dossier))
    pieces = (
        Paragraph("Makers' instructions and, where there is one, the risk assessment come first."),
        Paragraph("Where no source is named, the interval is common practice.", "remark"),
        Grid(("What", "Parts", "How often", "By whom", "Source"), rows, (8, 5, 3.5, 3, 3)),
        NewPage(),
        Heading("Log"),
        Grid(("Date", "What was done", "Readings", "By, signature"), (("",) * 4,) * VISITS, (2, 7, 5, 4), tall=True),
    )
    return Chapter("care-plan", "Care plan and log", pieces)


def _rows(dossier: Dossier) -> Iterator[tuple[str, ...]]:
    for care in CARE:
        tags = [part.tag for part in dossier.network.parts.values() if care.of(part)]
        if tags:
            more = f" and {len(tags) - _MOST_TAGS} more" if len(tags) > _MOST_TAGS + 1 else ""
            named = ", ".join(tags[:_MOST_TAGS]) + more if more else listed(tags)
            often, source = (care.often, care.source) if care.source != BS7593 else _treatment(dossier, care)
            yield care.what, named, often, care.who, source


def _treatment(dossier: Dossier, care: Care) -> tuple[str, str]:
    """How often the water of the heating is looked after: BS 7593 is for single homes."""
    return (care.often, BS7593) if dossier.facts.premises == "house" else ("as the treatment plan says", "BSRIA BG 50")
