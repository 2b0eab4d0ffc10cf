"""The words of the page as HTML: sheet data, findings, states, the drawing in words, keys and cautions."""

from collections.abc import Iterator, Sequence

from schemagen.base.finding import Finding
from schemagen.drawing.drawing import Drawing, PartItem, PipeItem
from schemagen.drawing.marks import mark_radius, mark_shapes
from schemagen.drawing.shape import line
from schemagen.drawing.style import Pen, SectionStyle, Style
from schemagen.drawing.words import counted
from schemagen.output.as_svg import FONTS, escaped, shape_svg
from schemagen.output.page.data import fact_name, is_shown
from schemagen.output.page.html import rows, tag, words
from schemagen.output.page.picture import symbol
from schemagen.sheets.section_words import PURPOSE
from schemagen.sheets.sheet import Sheet

_DATA = (
    ("Number", "number"), ("Revision", "revision"), ("Date of issue", "date"), ("Client", "client"), ("Site", "site"),
    ("Firm", "firm"), ("Drawn", "drawn"), ("Checked", "checked"), ("Approved", "approved"), ("Purpose", "purpose"),
)  # fmt: skip


def sheet_data(sheet: Sheet) -> str:
    """The title block's fields that are filled in."""
    given = [(name, sheet.words.data[key]) for name, key in _DATA if sheet.words.data.get(key, "").strip()]
    return tag("dl", *(entry(*pair) for pair in (*given, ("Scale", "not to scale"))), class_="sheet-data")


def entry(name: str, text: str) -> str:
    """A name and what it is, for a dl."""
    return tag("div", words("dt", name), words("dd", text))


# findings


def findings(sheet: Sheet) -> str:
    items = [_finding(n, f, is_shown(f, sheet.drawing)) for n, f in enumerate(sheet.words.findings, 1)]
    closing = sheet.words.checked
    said = words("p", f"{closing[:1].upper()}{closing[1:]}.", class_="closing") if closing else ""
    return rows("ol", items, class_="findings") + said


def finding_buttons(sheet: Sheet) -> str:
    """Each finding in one line that leads to its place."""
    return "".join(
        tag(
            "button",
            _mark(number, finding),
            words("span", _weight(finding), class_="severity"),
            words("span", finding.message),
            type="button", data_finding=str(number), class_=f"found {finding.severity}",
        )
        for number, finding in enumerate(sheet.words.findings, 1)
    )  # fmt: skip


def _finding(number: int, finding: Finding, shown: bool) -> str:
    head = tag(
        "h3", _mark(number, finding), " ", words("span", _weight(finding), class_="severity"), " ",
        escaped(finding.message),
    )  # fmt: skip
    more = {
        "Cure": finding.cure,
        "Accepted because": finding.accepted or "",
        "Caution": finding.caution,
        "In the states": ", ".join(finding.states),
        "Source": finding.source,
        "Check": finding.check,
    }
    told = [entry(name, text) for name, text in more.items() if text]
    show = ""
    if shown:
        show = words("button", f"Show finding {number} on the drawing", type="button", data_finding=str(number))
    return tag(
        "article", head, tag("dl", *told), tag("p", show, class_="needs-script") if show else "",
        id=f"finding-{number}", tabindex="-1", class_=f"finding-entry {finding.severity}",
    )  # fmt: skip


def _weight(finding: Finding) -> str:
    return finding.severity + (", accepted" if finding.accepted is not None else "")


def _mark(number: int, finding: Finding) -> str:
    """The mark as it stands on the drawing."""
    size = 2.9 * mark_radius(number)
    shapes = (shape_svg(shape) for shape in mark_shapes(finding, number, size / 2, size / 2))
    view = f"0 0 {size:g} {size:g}"
    return tag("svg", *shapes, class_="mark", viewBox=view, font_family=FONTS, role="img", aria_label=str(number))


# states


def states(drawings: Sequence[Drawing]) -> str:
    return "".join(
        tag(
            "article",
            words("h3", drawing.state),
            tag("p", escaped(drawing.account), " ", words("span", _moving(drawing), class_="quiet")),
            words("button", f"Show on the drawing: {drawing.state}", type="button", data_state=str(n),
                  class_="needs-script"),
        )
        for n, drawing in enumerate(drawings)
    )  # fmt: skip


def _moving(drawing: Drawing) -> str:
    moving = sum(pipe.moves != "still" for pipe in drawing.pipes)
    return f"Water moves in {moving} of {counted(len(drawing.pipes), 'pipe')}."


def state_switches(drawings: Sequence[Drawing]) -> str:
    choices = [("plain", "As listed", "0"), *((str(n), d.state, str(n + 1)) for n, d in enumerate(drawings))]
    return "".join(_state_switch(value, name, key) for value, name, key in choices)


def _state_switch(value: str, name: str, key: str) -> str:
    chosen = {"checked": "checked"} if value == "plain" else {}
    box = tag("input", type="radio", name="state", value=value, **chosen)
    return tag("label", box, words("span", name), words("kbd", key, aria_hidden="true") if len(key) == 1 else "")


# sections


def section_switches(drawing: Drawing, style: Style) -> str:
    return "".join(_section_switch(style.sections[s]) for s in drawing.sections)


def _section_switch(section: SectionStyle) -> str:
    box = tag("input", type="checkbox", name="section", value=section.section, checked="checked")
    name = section.name[:1].upper() + section.name[1:]
    return tag("label", box, sample(section.pen), words("b", section.code), words("span", name))


def sample(pen: Pen) -> str:
    """A piece of a section's line."""
    shape = shape_svg(line(((0, 1), (26, 1)), pen))
    return tag("svg", shape, class_="sample", viewBox="0 0 26 2", aria_hidden="true")


def section_key(drawing: Drawing, style: Style) -> str:
    return rows(
        "ul",
        (
            sample(style.sections[s].pen)
            + words("b", style.sections[s].code)
            + " "
            + tag("span", words("strong", _capital(style.sections[s].name)), ": ", escaped(PURPOSE[s]))
            for s in drawing.sections
        ),
        class_="key",
    )


def symbol_key(drawing: Drawing, style: Style) -> str:
    """Each kind on the drawing once."""
    first: dict[str, PartItem] = {}
    for part in sorted(drawing.parts, key=lambda part: (part.turn, part.mirror)):
        if part.kind != "tee":
            first.setdefault(part.kind, part)
    in_order = sorted(first.values(), key=lambda part: part.name)
    return rows("ul", (symbol(p, style) + words("span", _capital(p.name)) for p in in_order), class_="key symbols")


def reading_rules(has_states: bool) -> str:
    """How arrows, pens and fills are to be read."""
    rules = [
        "Diagram, not to scale. Arrows show the way the water is meant to move; sizes and settings are as listed.",
        "A dot joins pipes. A half circle hops over a pipe that is only crossed.",
    ]
    if has_states:
        rules.append(
            "In a state: water moves in the pipes with arrows and stands still in the thin grey ones. Black valves are "
            "shut, hollow ones open. Filled pumps run, hollow ones with a bar stand. Black sources give heat. Figures "
            "beside a line are temperature and flow in that state, where they are known."
        )
    return "".join(words("p", rule) for rule in rules)


# the drawing in words


def twin(drawing: Drawing, style: Style) -> str:
    """Circuits with their parts in flow order and their settings, then the other parts, then all pipes."""
    parts = {part.tag: part for part in drawing.parts}
    place = {part.tag: f"#part-{i}" for i, part in enumerate(drawing.parts)}
    in_circuits = {tag for circuit in drawing.circuits for tag in circuit}
    return "".join(
        (
            words("p", f"{counted(len(drawing.parts), 'part')}, {counted(len(drawing.pipes), 'pipe')}."),
            *_circuits(drawing, parts, place),
            *_other_parts(drawing, style, in_circuits, place),
            words("h3", "Pipes"),
            *_pipe_lists(drawing, style),
        )
    )


def _circuits(drawing: Drawing, parts, place) -> Iterator[str]:
    """Each circuit; the settings of a part stand where it comes first."""
    said: set[str] = set()
    for number, circuit in enumerate(drawing.circuits, 1):
        on_way = [parts[t] for t in circuit if t in parts and parts[t].kind != "tee"]
        if on_way:
            yield words("h3", f"Circuit {number}: from {on_way[0].tag} and back")
            yield rows("ol", [_told(part, place, part.tag not in said) for part in on_way], class_="twin")
            said |= {part.tag for part in on_way}


def _other_parts(drawing: Drawing, style: Style, told: set[str], place) -> Iterator[str]:
    for section in (*drawing.sections, ""):
        here = [p for p in drawing.parts if p.section == section and p.tag not in told and p.kind != "tee"]
        if here:
            name = style.sections[section].name if section else "without pipes: controls and sensors"
            yield words("h3", f"Other parts, {name}")
            yield rows("ol", (_told(part, place) for part in here), class_="twin")
    tees = [part.tag for part in drawing.parts if part.kind == "tee"]
    if tees:
        yield words("h3", "Tees, where pipes join")
        yield words("p", ", ".join(tees))


def _told(part: PartItem, place, with_facts: bool = True) -> str:
    link = words("a", part.tag, href=place[part.tag])
    facts = part.facts if with_facts else ()
    return f"{link}, {escaped(part.name)}" + rows("ul", (escaped(f"{fact_name(k)}: {text}") for k, text in facts))


def _pipe_lists(drawing: Drawing, style: Style) -> Iterator[str]:
    place = {id(pipe): f"#pipe-{i}" for i, pipe in enumerate(drawing.pipes)}
    for section in drawing.sections:
        here = [pipe for pipe in drawing.pipes if pipe.section == section]
        if here:
            yield words("h4", _capital(style.sections[section].name))
            yield rows("ul", (_pipe(pipe, place[id(pipe)]) for pipe in here), class_="pipes")


def _pipe(pipe: PipeItem, href: str) -> str:
    said = words("a", f"{pipe.start} to {pipe.end}", href=href)
    return said + (escaped(f", {pipe.size}") if pipe.size else "")


def cautions(sheet: Sheet) -> str:
    *texts, closing = sheet.words.cautions or ("",)
    if not closing:
        return ""
    return rows("ul", (escaped(text) for text in texts), class_="cautions") + words("p", closing, class_="closing")


def _capital(text: str) -> str:
    return text[:1].upper() + text[1:]
