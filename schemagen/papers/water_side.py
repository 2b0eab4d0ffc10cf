"""The water side record: content, treatment, tests and flushing, with blanks for what is done and measured on site."""

from collections.abc import Iterator

from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece
from schemagen.schedules.dossier import Dossier
from schemagen.sizing.figure import number

SOURCES = (
    "Sources: cleaning, flushing and inhibitor after BS 7593:2019 (its scope: domestic heating); pressure test at 1.5 "
    "times the highest operating pressure and disinfection of drinking water after water-fittings guidance and BS 8558 "
    "(from memory). The local code and the makers' instructions come first."
)
_ANTIFREEZE = ("antifreeze-mix", "ground-brine")
_DRINKING = ("cold", "hot")


def water_side(material: Material) -> Chapter | None:
    dossier = material.dossier
    pieces: list[Piece] = []
    for name, medium in _bodies(dossier):
        pieces += [
            Heading(f"{_WORDS.get(medium, medium.replace('-', ' ').capitalize())} at {name}"),
            *_heating(dossier, name, medium),
        ]
    if any(m in _DRINKING for m in dossier.waters.medium):
        pieces += _drinking()
    if not pieces:
        return None
    return Chapter("water-side", "Water side record", (*pieces, Paragraph(SOURCES, "remark")))


_WORDS = {
    "heating-water": "Heating water",
    "antifreeze-mix": "Antifreeze",
    "ground-brine": "Brine",
    "pool-water": "Pool water",
}


def _bodies(dossier: Dossier) -> Iterator[tuple[str, str]]:
    """Bodies of water that are filled and treated: the first source or store of each, and its medium."""
    network = dossier.network
    seen: set[int] = set()
    for tag, part in network.parts.items():
        if part.kind.gives or part.kind.store == "heating":
            for name in (*part.kind.gives, *part.kind.ports):
                pipe = next(
                    iter(pipe for port, pipes in network.pipes_at.items() if port == (tag, name) for pipe in pipes),
                    None,
                )
                medium = dossier.waters.medium[pipe.index] if pipe else ""
                if pipe and medium in _WORDS and dossier.waters.body[pipe.index] not in seen:
                    seen.add(dossier.waters.body[pipe.index])
                    yield tag, medium


def _heating(dossier: Dossier, tag: str, medium: str) -> Iterator[Piece]:
    fluid = dossier.network.fluids.get(medium) or dossier.network.fluids.get(
        "solar-fluid" if medium in _ANTIFREEZE else medium, {}
    )
    content = _figure(dossier, tag, ("system content", "system content, estimated"))
    dose = _figure(dossier, tag, ("dose",))
    yield Fields(
        (
            ("Content (calc)", content or ""),
            ("Content, measured when filling", ""),
            ("Cleaned with, date", ""),
            ("Flushed until, date", ""),
            ("Filled with, hardness", ""),
            ("Filled by", ""),
        )
    )
    rows = [
        ("Inhibitor, product", _ASKED.get(fluid.get("inhibitor"), NONE), "", "name"),
        ("Inhibitor, dose", said(dose.rpartition(" ")[0]), "", dose.rpartition(" ")[2] or "L"),
        ("Inhibitor, strength", NONE, "", "as its maker says"),
        ("pH", NONE, "", "pH"),
    ]
    percent = fluid.get("antifreeze")
    frost = isinstance(percent, float) and percent > 0 or medium in _ANTIFREEZE
    if frost:
        share = number(percent * 100) if isinstance(percent, float) else NONE
        rows += [("Antifreeze, product", NONE, "", "name"), ("Antifreeze, strength", share, "", "%")]
        rows += [("Frost protection down to", NONE, "", "°C")]
    rows += [("Pressure test, pressure", NONE, "", "bar"), ("Pressure test, time held", NONE, "", "min")]
    rows += [("Pressure test, loss", NONE, "", "bar")]
    yield Grid(("What", "Design", "Measured or used", "Unit"), tuple(rows), (5, 3, 5, 3))


_ASKED = {True: "asked for", False: "none"}


def _figure(dossier: Dossier, tag: str, names: tuple[str, ...]) -> str:
    """The first of these figures of the body that is named by a tag."""
    for name in names:
        for s in dossier.sizes.of(name=name):
            if s.subject.endswith(f" {tag}") and s.figure.value is not None:
                return s.figure.text
    return ""


def _drinking() -> list[Piece]:
    rows = (
        ("Pressure test, pressure", "", "bar"),
        ("Pressure test, time held", "", "min"),
        ("Pressure test, loss", "", "bar"),
        ("Flushed until clear, volume", "", "L"),
        ("Disinfected with, product", "", "name"),
        ("Disinfectant at the start", "", "mg/L"),
        ("Disinfectant at the end of the contact time", "", "mg/L"),
        ("Contact time", "", "min"),
        ("Disinfectant after the last flush", "", "mg/L"),
        ("Samples taken at, by", "", "name"),
        ("Result of the samples, date", "", "date"),
    )
    return [Heading("Cold and hot drinking water"), Grid(("What", "Measured or used", "Unit"), rows, (6, 7, 2))]
