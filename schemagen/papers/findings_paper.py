"""Findings and their acceptance: what the checks raised, and who lives with which point and why."""

from schemagen.base.finding import Finding, NotAssessed
from schemagen.papers.material import NONE, Chapter, Material
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece, Points
from schemagen.schedules.naming import capital
from schemagen.sheets.cautions import ACCEPTED
from schemagen.sheets.findings_text import closing_line

TITLE = "Findings and their acceptance"


def findings_paper(material: Material) -> Chapter:
    report = material.dossier.report
    numbered = list(enumerate(report.findings, 1))
    open_ = [(n, f) for n, f in numbered if f.accepted is None]
    accepted = [(n, f) for n, f in numbered if f.accepted is not None]
    pieces: list[Piece] = [Paragraph(f"The checks say: {closing_line(report)}.")]
    if open_:
        columns = ("No.", "Severity", "Where", "What is wrong", "Cure and source", "Decision", "By, date")
        rows = tuple((str(n), f.severity, _where(f), _sentence(f.message), _cure(f), "", "") for n, f in open_)
        pieces += [
            Heading("Open"),
            Paragraph("Each point is mended, or somebody answers for leaving it as it is."),
            Grid(columns, rows, (1.5, 2.6, 4, 8, 9, 5, 4)),
        ]
    if accepted:
        rows = tuple((str(n), f.severity, _where(f), _sentence(f.message), f.accepted or "") for n, f in accepted)
        grid = Grid(("No.", "Severity", "Where", "What was raised", "Accepted because"), rows, (1.5, 2.6, 4, 8, 9))
        pieces += [Heading("Accepted"), Paragraph(ACCEPTED), grid]
    if report.not_assessed:
        said = tuple(_not_assessed(n) for n in report.not_assessed)
        pieces += [Heading("Not assessed, for want of data"), Points(said)]
    pieces += [Heading("Acceptance"), Fields((("Checked by", ""), ("Date", ""), ("Accepted by", ""), ("Date", "")))]
    return Chapter("findings", TITLE, tuple(pieces), landscape=True)


def _not_assessed(n: NotAssessed) -> str:
    needs = n.needs.replace("`", "")
    return f"{n.check} at {', '.join(n.parts) or 'the list'}: needs {needs}."


def _where(f: Finding) -> str:
    return ", ".join(f.parts or dict.fromkeys(end for pair in f.pipes for end in pair)) or NONE


def _cure(f: Finding) -> str:
    return f"{_sentence(f.cure)}\nSource: {f.source}" if f.source else _sentence(f.cure)


def _sentence(text: str) -> str:
    """With a capital first letter and a full stop, and without the marks round words of the list."""
    plain = text.replace("`", "").rstrip(".")
    first = plain.partition(" ")[0]
    return f"{capital(plain) if first.islower() else plain}."
