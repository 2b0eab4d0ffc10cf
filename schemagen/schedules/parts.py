"""The parts schedule: every part but tees, with its place and data."""

from schemagen.network.network import Part
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import kind_words
from schemagen.schedules.schedule import Schedule, texts

_ELSEWHERE = ("label", "place", "size", "at", "capped")
"""Keys with a column of their own, and keys that say how the part is drawn or piped."""


def parts_schedule(dossier: Dossier) -> Schedule:
    """One row a part, in the order of the list."""
    columns = texts("tag", "kind", "label", "place", "size", "data", "on the drawing", "made by the program")
    rows = tuple(
        (
            part.tag,
            kind_words(part),
            part.label,
            part.place,
            part.texts.get("size", ""),
            data_of(part),
            dossier.zones.get(part.tag, ""),
            "yes" if part.made else "",
        )
        for part in dossier.listed_parts
    )
    return Schedule("parts", "Parts schedule", columns, rows)


def data_of(part: Part) -> str:
    """What the list says of a part beside its name and place: "output 8 kW; min flow 14 L/min"."""
    given = ((key.replace("-", " "), text) for key, text in part.texts.items() if key not in _ELSEWHERE and text)
    return "; ".join(f"{key} {text}" for key, text in given)
