"""Contents and contacts: what the set holds, whom to call, and where to find what must be found in a hurry."""

from collections.abc import Sequence

from schemagen.papers.findings_paper import TITLE as FINDINGS
from schemagen.papers.material import Chapter, Material
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import listed

TITLE = "Contents and contacts"


def contents(material: Material, papers: Sequence[tuple[str, str]]) -> Chapter:
    """`papers` are numbers and titles of the whole set."""
    dossier = material.dossier
    pieces: tuple[Piece, ...] = (
        Grid(("Number", "Document", "Revision"), tuple((n, t, _revision(dossier)) for n, t in papers), (3, 9, 2)),
        *_warned(material, papers),
        Heading("Who to call"),
        Fields(_contacts(dossier)),
        Heading("Where to find it"),
        Paragraph("Fill this in on site, and show it to the people who live or work here."),
        Fields(_places(dossier)),
    )
    return Chapter("contents", TITLE, pieces)


def _warned(material: Material, papers: Sequence[tuple[str, str]]) -> tuple[Piece, ...]:
    """A caution if the checks have found errors that nobody has accepted."""
    errors = [f for f in material.dossier.report.findings if f.severity == "error" and f.accepted is None]
    if not errors:
        return ()
    where = next((number for number, title in papers if title == FINDINGS), "")
    count = "an open error" if len(errors) == 1 else f"{len(errors)} open errors"
    text = f"The checks found {count} (see {where}). Mend them before the system is used or handed over."
    return (Paragraph(text, "caution"),)


def _revision(dossier: Dossier) -> str:
    return dossier.network.sheet.get("revision", "") or "–"


def _contacts(dossier: Dossier) -> tuple[tuple[str, str], ...]:
    names = ["Installer", "Telephone", "Out of hours", "Service contract", "Water, emergency", "Electricity, emergency"]
    names += ["Gas or fuel, emergency", "Chimney sweep or gas engineer"] if burns(dossier) else []
    return tuple((name, "") for name in names)


def burns(dossier: Dossier) -> bool:
    """True with an appliance that burns gas, oil or solid fuel."""
    return any({"fuel-appliance", "solid-fuel"} & set(p.kind.cautions) for p in dossier.network.parts.values())


def _places(dossier: Dossier) -> tuple[tuple[str, str], ...]:
    parts = dossier.network.parts
    house = next((s for s in dossier.shut_offs if s.sort == "house"), None)
    stops = [parts[t] for t in house.to_shut] if house else []
    known = listed(", ".join(filter(None, (p.tag, p.label, p.place))) for p in stops) if stops else ""
    pairs = [("Valve for the whole house", known)] if known else []
    pairs += [("It is in", "")] if stops and not stops[0].place else []
    pairs += [("Water meter", ""), ("Main switch", ""), ("Switch of the heating", "")]
    pairs += [("Fuel or gas valve", "")] if burns(dossier) else []
    pairs += [("Spare keys and tools", "")] if len(pairs) % 2 else []
    return tuple(pairs)
