"""The schematic: how to read it, the tick that it is as installed, and its sheets."""

from schemagen.papers.material import Chapter, Material
from schemagen.papers.paper import Fields, Paragraph, Points

HOW_TO_READ = (
    "Each part carries its tag; the same tag stands in all papers of this set and on the part itself.",
    "Each pipe carries the code letters of its section; the key beside the drawing names them and shows their lines.",
    "Arrows show the way the water is meant to move. A dot is a joint; a half circle is a crossing without a joint.",
    "It is a diagram: not to scale, and not where the pipes run in the building.",
)


def schematic(material: Material) -> Chapter:
    count = len(material.sheets)
    pieces = (
        Paragraph(f"The drawing follows on {'one sheet' if count == 1 else f'{count} sheets'}."),
        Points(HOW_TO_READ),
        Paragraph("Before it is handed over:"),
        Points(
            (
                "The system is installed as drawn.",
                "What was changed on site is marked on the drawing, with initials and date.",
                "The list of the drawing has been changed to match, and the drawing made again.",
            ),
            "box",
        ),
        Fields((("As installed, initials", ""), ("Date", ""))),
    )
    return Chapter("schematic", "Schematic", pieces, material.sheets)
