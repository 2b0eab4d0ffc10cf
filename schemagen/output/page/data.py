"""What the page knows of the drawing besides its picture, as one JSON document. Parts and pipes go by their places."""

import json
from collections.abc import Sequence
from typing import Any

from schemagen.base.finding import Finding
from schemagen.drawing.drawing import Drawing
from schemagen.drawing.style import Style
from schemagen.output.page.order import tag_of
from schemagen.sheets.section_words import PURPOSE
from schemagen.sheets.sheet import Sheet

_ESCAPES = {"<": "\\u003c", ">": "\\u003e", "&": "\\u0026", "\u2028": "\\u2028", "\u2029": "\\u2029"}
_MOVES = {"forward": "f", "backward": "b", "still": "."}


def page_data(plain: Sheet, states: Sequence[Drawing]) -> str:
    """The document, written so that it can stand in a script element."""
    drawing, style = plain.drawing, plain.onto.style
    places = _Places(drawing)
    document = {
        "first": places.parts([tag for circuit in drawing.circuits for tag in circuit[:1]])[:1],
        "parts": _parts(drawing, places, plain.words.findings),
        "pipes": _pipes(drawing, places, style),
        "sections": [_section(section, style) for section in drawing.sections],
        "states": [_state(state, places) for state in states],
        "findings": [_finding(n, f, places) for n, f in enumerate(plain.words.findings, 1)],
    }
    text = json.dumps(document, ensure_ascii=False, separators=(",", ":"))
    for sign, escape in _ESCAPES.items():
        text = text.replace(sign, escape)
    return "".join(f"\\u{ord(c):04x}" if 0xD800 <= ord(c) < 0xE000 else c for c in text)


class _Places:
    """Places of parts by tag and of pipes by their ends."""

    def __init__(self, drawing: Drawing) -> None:
        self.part = {part.tag: i for i, part in enumerate(drawing.parts)}
        self.pipe = {frozenset((pipe.start, pipe.end)): i for i, pipe in enumerate(drawing.pipes)}

    def parts(self, tags: Sequence[str]) -> list[int]:
        return [self.part[tag] for tag in dict.fromkeys(tags) if tag in self.part]

    def of(self, finding: Finding) -> tuple[list[int], list[int]]:
        """Parts and pipes of which it speaks, as far as they are drawn; the part of an opening if it names no other."""
        pipes = [self.pipe[key] for key in map(frozenset, finding.pipes) if key in self.pipe]
        return self.parts((*(tag_of(port) for port in finding.ports), *finding.parts)), list(dict.fromkeys(pipes))


def _parts(drawing: Drawing, places: _Places, findings: Sequence[Finding]) -> list[dict[str, Any]]:
    said: dict[int, list[int]] = {}
    for number, finding in enumerate(findings, 1):
        for i in places.of(finding)[0]:
            said.setdefault(i, []).append(number)
    return [
        {
            "tag": part.tag,
            "name": part.name,
            "title": part.title,
            "facts": [[fact_name(key), text] for key, text in part.facts],
            "near": places.parts(part.near),
            "findings": said.get(i, []),
        }
        for i, part in enumerate(drawing.parts)
    ]


def _pipes(drawing: Drawing, places: _Places, style: Style) -> list[dict[str, Any]]:
    arrows = {arrow.pipe for arrow in drawing.arrows}
    return [
        {
            "name": pipe.name,
            "from": pipe.start,
            "to": pipe.end,
            "parts": [places.part.get(tag_of(pipe.start), -1), places.part.get(tag_of(pipe.end), -1)],
            "section": pipe.section,
            "sectionName": style.sections[pipe.section].name,
            "size": pipe.size,
            "medium": pipe.medium.replace("-", " "),
            "title": pipe.title,
            "carries": pipe.name in arrows,
        }
        for pipe in drawing.pipes
    ]


def _section(section: str, style: Style) -> dict[str, str]:
    return {"section": section, "name": style.sections[section].name, "purpose": PURPOSE[section]}


def _state(state: Drawing, places: _Places) -> dict[str, Any]:
    return {
        "name": state.state,
        "account": state.account,
        "moves": "".join(_MOVES[pipe.moves] for pipe in state.pipes),
        "positions": [[places.part[part.tag], part.position] for part in state.parts if part.position],
    }


def _finding(number: int, finding: Finding, places: _Places) -> dict[str, Any]:
    parts, pipes = places.of(finding)
    said = f"Finding {number}, {finding.severity}: {finding.message}. Cure: {finding.cure}."
    return {"number": number, "said": said, "parts": parts, "pipes": pipes}


def fact_name(key: str) -> str:
    """An attribute's name as it is read: "flow-temperature" becomes "Flow temperature"."""
    plain = key.replace("-", " ")
    return plain[:1].upper() + plain[1:]


def is_shown(finding: Finding, drawing: Drawing) -> bool:
    """True if something of which a finding speaks is drawn."""
    return any(_Places(drawing).of(finding))
