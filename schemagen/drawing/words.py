"""Sentences that describe a drawing, its parts and its pipes to those who hear or search it."""

from collections.abc import Iterable

from schemagen.checks.check import Report
from schemagen.drawing.style import SectionStyle, Style
from schemagen.network.network import Network, Part, Pipe, PortId
from schemagen.network.waters import Waters

LONGEST = 1500
"""Most characters of a drawing's description; what does not fit belongs in a text of its own."""


def drawing_title(network: Network) -> str:
    return network.sheet.get("title") or "Piping schematic"


def drawing_desc(network: Network, waters: Waters, report: Report, style: Style) -> str:
    """Counts, one sentence per circuit, then the findings; at most LONGEST characters, cut at a sentence."""
    own = sum(not part.leads_on for part in network.parts.values())
    sections = [style.sections[s].name for s in style.sections if s in waters.section]
    sentences = [
        f"Piping schematic with {counted(own, 'part')} and {counted(len(network.pipes), 'pipe')}.",
        f"Sections: {listed(sections)}." if sections else "",
        *(f"Circuit: {', '.join(circuit)}, and back to {circuit[0]}." for circuit in waters.circuits if circuit),
        *(f"Finding {n}, {f.severity}: {f.message}" for n, f in enumerate(report.findings, 1)),
    ]
    out = ""
    for sentence in filter(None, sentences):
        longer = f"{out} {sentence}".strip()
        if len(longer) > LONGEST:
            break
        out = longer
    return out


def state_desc(account: str, desc: str) -> str:
    """The account of a state before the description of the drawing, as long as both fit."""
    both = f"{account} {desc}"
    return both if len(both) <= LONGEST else account[:LONGEST]


def part_title(part: Part) -> str:
    return ", ".join(filter(None, (part.tag, part.kind.title, part.label)))


def part_desc(part: Part, network: Network) -> str:
    """What it is, where it stands, and what each of its openings is joined to."""
    joints = []
    for name in part.kind.ports:
        port = PortId(part.tag, name)
        joints += [f"{name} to {network.far_end(pipe.listed, port)}" for pipe in network.pipes_at.get(port, ())]
    place = f" in {part.place}" if part.place else ""
    return f"{part.kind.title[:1].upper()}{part.kind.title[1:]}{place}" + (f": {', '.join(joints)}." if joints else ".")


def pipe_title(pipe: Pipe, section: SectionStyle) -> str:
    """For example "Cold water, 22 mm, from SV1.b to PR1.in"."""
    name = section.name[:1].upper() + section.name[1:]
    return ", ".join(filter(None, (name, pipe.size_text, f"from {pipe.listed.start} to {pipe.listed.end}")))


def pipe_desc(medium: str, carries: bool) -> str:
    known = medium.replace("-", " ") or "not known"
    return f"Medium: {known}. Water {'moves' if carries else 'never moves'} in it."


def state_pipe_desc(medium: str, moves: str) -> str:
    known = medium.replace("-", " ") or "not known"
    said = {"forward": "moves as listed", "backward": "moves against the listed direction", "still": "stands still"}
    return f"Medium: {known}. In this state water {said[moves]}."


def counted(n: int, word: str) -> str:
    return f"{n} {word}{'' if n == 1 else 's'}"


def listed(words: Iterable[str]) -> str:
    *head, last = words
    return f"{', '.join(head)} and {last}" if head else last
