"""The record of each unvented hot water store: its safety devices, its discharge pipe, and what was tried out."""

from collections.abc import Iterator, Mapping
from typing import Any

from schemagen.base.units import show
from schemagen.network.network import Part, PortId
from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece, Points
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.safety import safety_schedule
from schemagen.sizing.figure import number

LAW = (
    "Approved Document G, requirement G3 (England and Wales): two independent safety devices besides the thermostat, "
    "a discharge that can be seen and ends safely, work by a person qualified for it, and notice of the work. "
    "Elsewhere the local code says."
)


def unvented_record(material: Material) -> Chapter | None:
    dossier = material.dossier
    stores = [
        p for p in dossier.network.parts.values() if p.kind.store == "wholesome" and "unvented-store" in p.kind.cautions
    ]
    if not stores:
        return None
    pieces: list[Piece] = [Paragraph(LAW)]
    for store in stores:
        pieces += [Heading(f"{store.tag}, {store.label or store.kind.title}"), *_of(dossier, store)]
    pieces += [Fields((("Name", ""), ("Qualification, number", ""), ("Signature", ""), ("Date", "")))]
    return Chapter("unvented", "Unvented hot water record", tuple(pieces))


def _of(dossier: Dossier, store: Part) -> Iterator[Piece]:
    texts = store.texts
    immersion = [dossier.network.parts[t] for t in dossier.network.mounted_on.get(store.tag, ())]
    power = ", ".join(p.texts.get("power", "") for p in immersion if p.kind.name == "immersion-heater")
    pairs = [
        ("Place", store.place), ("Volume", texts.get("volume", "")), ("Kept at", texts.get("setting", "")),
        ("Working pressure", texts.get("working-pressure", "")), ("Highest pressure", texts.get("max-pressure", "")),
        ("Heat through the coil", texts.get("coil-output", "") or texts.get("coil-rating", "")),
        ("Immersion heater", power), ("Maker and type", ""), ("Serial number", ""), ("Input of the source", ""),
    ]  # fmt: skip
    yield Fields(tuple(pairs))
    rows = [
        (str(tag), str(device), said(setting), said(ends), "")
        for tag, device, _, _, protects, setting, ends, _ in safety_schedule(dossier).rows
        if store.tag in str(protects).replace(",", " ").split()
    ]
    if rows:
        yield Grid(
            ("Tag", "Safety device", "Setting", "Discharges to", "Tried out, date"), tuple(rows), (2, 6, 4, 4, 4)
        )
    yield from _discharge(dossier, store)
    yield Points(
        (
            "Thermostat and cut-outs tried out.",
            "Relief valves lifted by hand; they shut tight again.",
            "Discharge seen at the tundish, and its end seen safe.",
            "Cold feed, vessel and reducer checked under pressure.",
            "Warning label fixed at the store.",
            "User told what to do if the tundish runs.",
        ),
        "box",
    )


def _discharge(dossier: Dossier, store: Part) -> Iterator[Piece]:
    """D1 down to the tundish, D2 from there: as listed and calculated, with blanks for what was built."""
    for tundish in (p for p in dossier.network.parts.values() if p.kind.name == "tundish"):
        if not _takes_from(dossier, tundish, store):
            continue
        rows: list[tuple[str, str, str, str]] = []
        for word, port in (("D1", "in"), ("D2", "out")):
            pipe = next(iter(dossier.network.pipes_at.get(PortId(tundish.tag, port), ())), None)
            size = _figure(dossier, tundish, f"discharge pipe {word}")
            rows.append((f"{word}, size", said(pipe.size_text if pipe else ""), size, ""))
        lower = pipe.values if pipe else {}
        rows += [
            (
                "D2, length",
                _shown(lower, "length", "m"),
                _figure(dossier, tundish, "allowed straight length of D2"),
                "",
            ),
            ("D2, bends", _shown(lower, "bends"), NONE, ""),
            ("D2, vertical drop below the tundish", _shown(lower, "drop", "mm"), NONE, ""),
            ("D2, fall", _fall(lower), NONE, ""),
            ("D2, where it ends, seen by", NONE, NONE, ""),
        ]
        columns = (f"Discharge at {tundish.tag}", "As listed", "Calculated", "As built")
        yield Grid(columns, tuple(rows), (6, 3, 3, 4))


def _takes_from(dossier: Dossier, tundish: Part, store: Part) -> bool:
    """True if the discharge of a relief valve in the store's water runs to this tundish."""
    above = {port.tag for port in dossier.facts.reach.upstream_of_all([PortId(tundish.tag, "in")])}
    water = {port.tag for port in dossier.facts.section(PortId(store.tag, "hot-out")).ports}
    return bool(above & water)


def _figure(dossier: Dossier, part: Part, name: str) -> str:
    return next(
        (s.figure.text for s in dossier.sizes.of(subject=part.tag, name=name) if s.figure.value is not None), NONE
    )


def _shown(values: Mapping[str, Any], key: str, unit: str = "") -> str:
    value = values.get(key)
    return NONE if value is None else show(value, unit) if unit else number(value)


def _fall(values: Mapping[str, Any]) -> str:
    return f"1 in {number(1 / values['fall'])}" if values.get("fall") else NONE
