"""Cautions: those that this system calls for, and no others."""

from schemagen.papers.material import Chapter, Material
from schemagen.papers.paper import Paragraph
from schemagen.sheets.cautions import cautions_for


def cautions_paper(material: Material) -> Chapter | None:
    texts = cautions_for(material.dossier.network, material.dossier.report)
    if not texts:
        return None
    *warnings, closing = texts
    lead = Paragraph("Read these before anyone works on the system. Hang them beside the plant.")
    pieces = (lead, *(Paragraph(text, "caution") for text in warnings), Paragraph(closing))
    return Chapter("cautions", "Cautions", pieces)
