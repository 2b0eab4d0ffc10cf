"""The commissioning record: design values filled in, readings left blank, and only for what is there."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass

from schemagen.checks.heated_circuits import heated_circuits
from schemagen.network.network import Part, PortId
from schemagen.operation.account import account_of, stands
from schemagen.papers.material import NONE, Chapter, Material, said
from schemagen.papers.paper import Fields, Grid, Heading, Paragraph, Piece, Points
from schemagen.papers.settings import given, settings_of
from schemagen.schedules.dossier import Dossier
from schemagen.schedules.naming import about, capital, kind_words

COLUMNS = ("What", "Design", "From", "Measured", "Unit", "Within?", "Note")
WIDTHS = (8, 3, 2, 4, 2.6, 2.6, 5)
TICK = "tick"

HYGIENE = "50 °C after 1 minute: HSE, hot and cold water systems"
RETURN = "50 °C: HSG274 Part 2, from memory"
_LICENSED = "by a licensed person only"
_FUEL = ("system-boiler", "heat-only-boiler", "combi-boiler")


@dataclass(frozen=True, slots=True)
class Row:
    """One reading. `origin` is "given", "calc" or "" for none; `sets` are the settings (tag, key) that it records."""

    what: str
    unit: str
    design: str = ""
    origin: str = ""
    note: str = ""
    sets: tuple[tuple[str, str], ...] = ()

    @property
    def cells(self) -> tuple[str, ...]:
        within = NONE if self.unit == TICK or not self.design else ""
        return self.what, said(self.design), said(self.origin), "", self.unit, within, self.note


@dataclass(frozen=True, slots=True)
class Block:
    heading: str
    rows: tuple[Row, ...]


def commissioning_record(material: Material) -> Chapter:
    """Tables of readings, block by block; emitters and states have tables of their own."""
    dossier = material.dossier
    pieces: list[Piece] = [
        Paragraph("Given: from the list. Calc: worked out (settings and sizes). Measure each; judge it by its design."),
        Heading("Site"),
        Fields(_site(dossier)),
        Heading("Before start"),
        Points(
            (
                "Cleaned, flushed, filled and vented.", "Strainers and filters cleaned.",
                "Every valve stands in its normal position (valve chart).", "Pressure test passed (water side record).",
                "Electrical tests made and recorded.", "Discharge pipes seen from end to end.",
            ),
            "box",
        ),
    ]  # fmt: skip
    for block in blocks(dossier):
        pieces += [Heading(block.heading, 2), Grid(COLUMNS, tuple(row.cells for row in block.rows), WIDTHS)]
    pieces += [*_emitters(dossier), *_states(dossier), *_handover()]
    return Chapter("commissioning", "Commissioning record", tuple(pieces), landscape=True)


def _site(dossier: Dossier) -> tuple[tuple[str, str], ...]:
    sheet = dossier.network.sheet
    return (
        ("System", sheet.get("title", "")), ("Address", sheet.get("site", "")), ("Client", sheet.get("client", "")),
        ("Installer", sheet.get("firm", "")), ("Registration number", ""), ("Installed on", ""),
        ("Commissioned by", ""), ("Commissioned on", ""),
    )  # fmt: skip


def blocks(dossier: Dossier) -> tuple[Block, ...]:
    """Every block of readings that this system calls for; the last one holds settings that stand in no other."""
    found: list[Block] = []
    done: set[tuple[str, str]] = set()
    for heading, rows in (
        *_per_part(dossier, _is_source, _source, "{}"),
        *_sealed(dossier),
        *_per_part(dossier, lambda p: p.kind.driver == "pump", _pump, "Pump {}"),
        *_per_part(dossier, lambda p: p.kind.separates, _separator, "{}"),
        *_per_part(dossier, lambda p: p.kind.store == "wholesome", _store, "Store {}"),
        ("Hot-water circulation", list(_circulation(dossier))),
        ("Blending to the taps", [r for p in _of(dossier, "thermostatic-mixing-valve") for r in _mixer(p)]),
        ("Taps", list(_taps(dossier))),
        (
            "Controls and cut-outs",
            [r for p in dossier.network.parts.values() if p.kind.is_control for r in _control(p)],
        ),
    ):
        fresh = tuple(row for row in rows if not row.sets or not done.issuperset(row.sets))
        done.update(pair for row in fresh for pair in row.sets)
        found += [Block(heading, fresh)] if fresh else []
    rest = [
        Row(f"{p.tag}, {p.kind.title}: {s.words}", s.unit, s.value, "given", sets=((s.tag, s.key),))
        for p in dossier.network.parts.values()
        for s in settings_of(p)
        if (s.tag, s.key) not in done
    ]
    return (*found, *([Block("Other settings", tuple(rest))] if rest else []))


def _per_part(dossier: Dossier, wanted, rows, heading: str) -> Iterator[tuple[str, list[Row]]]:
    for part in dossier.network.parts.values():
        if wanted(part):
            yield heading.format(f"{part.tag}, {about(part)}"), list(rows(dossier, part))


def _of(dossier: Dossier, *kinds: str) -> Iterator[Part]:
    return (p for p in dossier.network.parts.values() if p.kind.name in kinds)


def _settings(part: Part, keys: Iterable[str] = ()) -> Iterator[Row]:
    """A row for each setting that the list gives; with `keys`, for those alone."""
    for s in settings_of(part):
        if not keys or s.key in keys:
            yield Row(f"{part.tag}: {s.words}", s.unit, s.value, "given", sets=((s.tag, s.key),))


def _given(part: Part, key: str, what: str, note: str = "") -> Iterator[Row]:
    if part.texts.get(key):
        value, unit = given(part, key)
        yield Row(what, unit, value, "given", note)


def _calc(dossier: Dossier, what: str, subject: str, *names: str, states: bool = True) -> Iterator[Row]:
    """A row for each different value of the first of these figures that there is."""
    for name in names:
        told: dict[str, Row] = {}
        for s in dossier.sizes.of(subject=subject, name=name):
            if s.figure.value is not None:
                value, unit = s.figure.reading
                in_state = f", {s.state}" if s.state and states else ""
                told.setdefault(value, Row(f"{what}{in_state}", unit, value, "calc"))
        if told:
            yield from told.values()
            return


# sources


def _is_source(part: Part) -> bool:
    return bool(part.kind.giver) and part.kind.name != "ground-loop"


def _source(dossier: Dossier, part: Part) -> Iterator[Row]:
    kind, tag = part.kind, part.tag
    if kind.name == "immersion-heater":
        yield from _given(part, "power", "Power")
        yield from _settings(part)
        yield Row("Thermostat and cut-out tried", TICK)
        return
    yield from _given(part, "output", "Output")
    yield from _settings(part)
    outlet = next((n for n in kind.gives if kind.ports[n].role == "out"), "")
    inlet = next((n for n in kind.gives if kind.ports[n].role == "in"), "")
    for word, port in (("Flow temperature", outlet), ("Return temperature", inlet)):
        found = list(_calc(dossier, word, f"{tag}.{port}", "temperature"))
        yield from found or [Row(word, "°C")]
    yield from list(_calc(dossier, "Temperature difference", tag, "temperature difference")) or [
        Row("Temperature difference", "K")
    ]
    flows = _calc(dossier, "Flow rate", tag, "pump duty, flow", "flow that carries the heat", "least source flow")
    yield from list(flows) or [Row("Flow rate", "L/min")]
    if kind.giver == "controlled":
        yield from _given(part, "min-flow", "Flow with all zones shut, at least")
    if kind.name in _FUEL:
        yield Row("Fuel rate", "m³/h or kg/h", note=_LICENSED)
        yield Row("Carbon monoxide in the flue gas", "ppm", note=_LICENSED)
        yield Row("Carbon dioxide in the flue gas", "%", note=_LICENSED)
    if "heat-pump" in kind.cautions and kind.name != "split-outdoor-unit":
        yield Row("Source side, in", "°C")
        yield Row("Source side, out", "°C")
        yield Row("Electrical input", "kW")
        yield from [Row("Defrost seen", TICK)] if kind.name == "air-heat-pump" else []
    if kind.name == "solar-collector":
        yield Row("Flow when the pump runs", "L/min")
        yield Row("Fluid protects down to", "°C")
    if kind.name in ("solid-fuel-stove", "wood-boiler"):
        yield Row("Draught, hot", "Pa", note="by a competent person")
        yield Row("Heat leak gets hot with the power off", TICK)


def _sealed(dossier: Dossier) -> Iterator[tuple[str, list[Row]]]:
    """Each sealed circuit with its vessels, relief valves, gauges and filling points."""
    parts = dossier.network.parts
    for circuit in heated_circuits(dossier.facts):
        if not circuit.sealed:
            continue
        rows: list[Row] = []
        for tag in _tags(circuit.vessels):
            rows += _vessel(dossier, parts[tag])
        for tag in _tags(circuit.reliefs):
            rows += list(_settings(parts[tag], ("setting", "relief-setting"))) or [
                Row(f"{tag}: relief valve opens at", "bar")
            ]
        gauges = _tags(circuit.gauges)
        rows += [Row(f"{' and '.join(gauges[:2]) or 'Gauge'} reads, cold", "bar"), Row("The same, hot", "bar")]
        loops = (tag for tag in _tags(circuit.fills) if parts[tag].kind.name == "filling-loop")
        rows += [Row(f"{tag} taken off", TICK) for tag in loops]
        yield f"Sealed circuit of {' and '.join(circuit.tags[:2])}", rows


def _tags(ports: Iterable[PortId]) -> list[str]:
    return list(dict.fromkeys(port.tag for port in ports))


def _vessel(dossier: Dossier, part: Part) -> Iterator[Row]:
    volume = "volume" if "volume" in part.kind.attributes and "vessel" not in part.built_in else "vessel-volume"
    yield from _given(part, volume, f"{part.tag}: volume")
    yield from _settings(part, ("pre-charge",))
    yield from _calc(dossier, f"{part.tag}: fill pressure, cold, at least", part.tag, "least fill pressure")
    yield from _calc(dossier, f"{part.tag}: pressure, hot", part.tag, "hot pressure")


def _pump(dossier: Dossier, part: Part) -> Iterator[Row]:
    yield from _settings(part)
    yield from list(_calc(dossier, "Flow", part.tag, "pump duty, flow")) or [Row("Flow", "L/min")]
    yield from list(_calc(dossier, "Pressure", part.tag, "pump duty, pressure")) or [Row("Pressure", "kPa")]
    yield Row("Setting as left, curve or step", "mark")
    yield Row("Pumps the right way", TICK)


def _separator(dossier: Dossier, part: Part) -> Iterator[Row]:
    yield from _settings(part)
    for name, spec in part.kind.ports.items():
        if spec.role != "dead" and spec.media == "H" and dossier.network.pipes_at.get((part.tag, name)):
            yield Row(f"{capital(name.replace('-', ' '))}, at full load", "°C")
    yield Row("More flow on the primary side", TICK)


def _store(dossier: Dossier, part: Part) -> Iterator[Row]:
    yield from _settings(part)
    yield Row("Pressure at the inlet, still", "bar")
    yield Row("Pressure at the inlet, two taps open", "bar")
    for tag in dossier.network.mounted_on.get(part.tag, ()):
        mounted = dossier.network.parts[tag]
        if mounted.kind.name in ("cylinder-thermostat", "store-thermostat"):
            yield from _settings(mounted)
    reheat = _calc(dossier, "Reheat time", part.tag, "reheat time by coil", "reheat time, constant power")
    yield from list(reheat) or [Row("Reheat time", "min")]
    yield Row("Heated from", "°C")
    yield Row(
        "Temperature at the store's outlet", "°C", part.texts.get("setting", "").removesuffix("°C").strip(), "given"
    )
    water = dossier.facts.section(PortId(part.tag, "hot-out")).tags
    for device in (p for p in dossier.network.parts.values() if p.tag in water):
        if device.kind.name in ("temperature-and-pressure-relief-valve", "expansion-relief-valve"):
            yield from _settings(device)
            yield Row(f"{device.tag} lifted by hand, shuts tight", TICK)
        elif device.kind.name == "wholesome-expansion-vessel":
            yield from _settings(device)


def _circulation(dossier: Dossier) -> Iterator[Row]:
    if "circulation" in dossier.waters.section:
        yield Row("Return at the store", "°C", "50", "given", RETURN)
        yield Row("Loops balanced", TICK)
        yield Row("Times set", "h")


def _mixer(part: Part) -> Iterator[Row]:
    sets = ((part.tag, "setting"),) if part.texts.get("setting") else ()
    yield Row(f"{part.tag}: outlet temperature", "°C", *_at(part), sets=sets)
    yield Row(f"{part.tag}: shuts when the cold is shut off", TICK)


def _at(part: Part) -> tuple[str, ...]:
    return (given(part, "setting")[0], "given") if part.texts.get("setting") else ("", "")


def _taps(dossier: Dossier) -> Iterator[Row]:
    hot = {p.end.tag for p in dossier.network.pipes if dossier.waters.section[p.index] == "hot"}
    for part in dossier.network.parts.values():
        if part.kind.family == "ends" and part.kind.moved_by == "hand":
            if part.tag in hot:
                yield Row(f"{part.tag}, {about(part)}: hot after 1 minute", "°C", "50", "given", HYGIENE)
            elif "hot-in" in part.kind.ports or part.kind.ports.get("in") and part.kind.name != "cold-outlet":
                yield Row(f"{part.tag}, {about(part)}: blended or hot after 1 minute", "°C")
            else:
                yield Row(
                    f"{part.tag}, {about(part)}: cold after 2 minutes",
                    "°C",
                    "20",
                    "given",
                    "below 20 °C: HSE, as above",
                )


def _control(part: Part) -> Iterator[Row]:
    settings = list(_settings(part))
    yield from settings
    if part.kind.name == "programmer":
        yield Row(f"{part.tag}, {about(part)}: times set", TICK)
    elif part.kind.name == "cut-out-thermostat":
        yield Row(f"{part.tag}: tried, cuts off and stays off", TICK)
    elif not settings:
        yield Row(f"{part.tag}, {about(part)}: proved", TICK)


# tables of their own


def _emitters(dossier: Dossier) -> Iterator[Piece]:
    emitters = [p for p in dossier.network.parts.values() if p.kind.family == "emitters" and p.kind.takes]
    if not emitters:
        return
    rows = []
    for part in emitters:
        flow = next(_calc(dossier, "", part.tag, "flow that carries the heat"), None)
        output = f"{part.texts['output']}" if part.texts.get("output") else NONE
        room = str(part.texts.get("room", "")) or part.place
        rows.append(
            (
                f"{part.tag}, {kind_words(part)}",
                said(room),
                output,
                f"{flow.design} {flow.unit}" if flow else NONE,
                *("",) * 4,
            )
        )
    columns = (
        "Emitter",
        "Room",
        "Output",
        "Design flow",
        "Lockshield, turns open",
        "Flow, °C",
        "Return, °C",
        "Room, °C",
    )
    yield Heading("Emitters", 2)
    yield Grid(columns, tuple(rows), (6, 4, 3, 3, 4, 3, 3, 3))


def _states(dossier: Dossier) -> Iterator[Piece]:
    """One row a state: what was called for, and what was seen to move and to run."""
    parts = dossier.network.parts
    rest = stands(dossier.operation, next(dossier.operation.of_sort("no-calls")))
    rows = []
    for state in dossier.operation.states:
        if state.sort in ("tap-open", "filling"):
            continue
        now = stands(dossier.operation, state)
        moved = [
            f"{t} {w.replace('-', ' ')}"
            for t, w in now.items()
            if w != rest.get(t) and parts[t].kind.moved_by == "motor"
        ]
        running = [t for t in parts if t in (*state.pumps_on, *state.sources_on)]
        rows.append(
            (account_of(dossier.operation, state).title, ", ".join(moved) or NONE, ", ".join(running) or NONE, "", "")
        )
    if rows:
        yield Heading("Controls, state by state", 2)
        yield Grid(("Call for", "Valves move to", "Runs", "Seen", "Note"), tuple(rows), (5, 6, 5, 2, 6))


def _handover() -> Sequence[Piece]:
    return (
        Heading("Handover"),
        Points(
            (
                "Readings agree with the design, or the difference is explained above.",
                "Settings as left are written into settings and sizes.",
                "The system was explained to the user.", "The papers of this set were handed over.",
            ),
            "box",
        ),
        Fields((("Commissioned by", ""), ("Signature, date", ""), ("Received by", ""), ("Signature, date", ""))),
    )  # fmt: skip
