"""The register: every document of the set with revision, date and status, and to whom it was given."""

from collections.abc import Sequence

from schemagen.papers.material import Chapter, Material, said
from schemagen.papers.paper import Fields, Grid, Heading, Points

TITLE = "Register and receipt"
_ROWS_FOR_LATER = 5


def register(material: Material, papers: Sequence[tuple[str, str]]) -> Chapter:
    """`papers` are numbers and titles of the whole set."""
    sheet = material.dossier.network.sheet
    issue = tuple(said(sheet.get(key)) for key in ("revision", "date", "purpose"))
    rows = tuple((number, title, *issue) for number, title in papers)
    later = (("",) * 5,) * _ROWS_FOR_LATER
    pieces = (
        Grid(("Number", "Document", "Revision", "Date", "Status"), rows, (3, 8, 2, 3, 3)),
        Heading("Issued to"),
        Grid(("Name", "Revision", "Date", "On paper or as a file", "Received, signature"), later, tall=True),
        Heading("Handed over"),
        Points(
            (
                "The system was shown and explained: how it runs, what to look at, which valves to shut.",
                "The makers' instructions, guarantees and registration papers were handed over.",
                "The cautions were read together.",
                "The contacts on the first sheet are filled in.",
            ),
            "box",
        ),
        Fields((
            ("Handed over by", ""), ("Signature, date", ""), ("Received by", ""), ("Signature, date", ""),
        )),
    )  # fmt: skip
    return Chapter("register", TITLE, pieces)
