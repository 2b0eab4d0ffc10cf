"""The operating states drawn, one after the other."""

from schemagen.papers.material import Chapter, Material


def state_sheets(material: Material) -> Chapter | None:
    if not material.state_sheets:
        return None
    return Chapter("state-sheets", "Operating states, drawn", sheets=material.state_sheets)
