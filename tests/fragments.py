"""Short lists for tests, one line each of parts, pipes, open (openings) and state:

    parts: kind TAG key: value; …
    pipes: A.p - B.q 22 mm; …
    open: A.p, …
    state: name = TAG word, …

A fragment is partial: an opening that it does not mention is taken as finished elsewhere. Openings that must be piped,
and outlets for waste, then lead to an off-sheet connector, others are capped; openings on the `open:` line stay open.
"""

import re
import textwrap

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, PartLine, Row
from schemagen.network.build import Built, build
from schemagen.parts.library import shipped_library

_FIELD = re.compile(r"(?:^|\s)(?:(on|acts-on|senses)\s+|([a-z][a-z-]*):\s*)")
_SIZE = re.compile(r"^(\S+)\s+-\s+(\S+)(?:\s+(.+))?$")


def job(text: str, finished: bool = True) -> JobList:
    """The list that a fragment stands for. `finished` False leaves every opening as the fragment leaves it."""
    lines = fields_of(text)
    parts = tuple(_part(item) for item in _items(lines["parts"]))
    pipes = tuple(_pipe(item) for item in _items(lines.get("pipes", "")) if item != "(any)")
    states = (_state(lines["state"]),) if "state" in lines else ()
    if finished:
        parts, pipes = _finished(parts, pipes, {p.strip() for p in lines.get("open", "").split(",")})
    return JobList("fragment", None, (), parts, pipes, states)


def built(text: str, finished: bool = True) -> Built:
    return build(job(text, finished), shipped_library())


def fields_of(text: str) -> dict[str, str]:
    """The lines of a fragment by their word; an indented line goes on with the one above."""
    joined = re.sub(r"\n[ \t]+", " ", textwrap.dedent(text).strip())
    pairs = (line.partition(":") for line in joined.splitlines() if line.strip())
    return {key.strip(): rest.strip() for key, _, rest in pairs}


def _items(text: str) -> list[str]:
    return [item.strip() for item in text.split(";") if item.strip()]


def _part(item: str) -> PartLine:
    kind, tag, *rest = item.split(None, 2)
    return PartLine(tag, kind, _fields(rest[0]) if rest else (), Place("fragment"))


def _fields(text: str) -> tuple[Entry, ...]:
    found = list(_FIELD.finditer(text))
    ends = [m.start() for m in found[1:]] + [len(text)]
    return tuple(
        Entry(m[1] or m[2], text[m.end() : end].strip(), Place("fragment")) for m, end in zip(found, ends, strict=True)
    )


def _pipe(item: str) -> ConnectionLine:
    start, end, size = _SIZE.match(item).groups()
    entries = (Entry("size", size, Place("fragment")),) if size else ()
    return ConnectionLine((start, end), entries, Place("fragment"))


def _state(text: str) -> Row:
    name, _, said = text.partition("=")
    pairs = [item.split() for item in said.split(",")]
    return Row(name.strip(), tuple(Entry(tag, word, Place("fragment")) for tag, word in pairs), Place("fragment"))


def _finished(parts, pipes, left_open):
    library = shipped_library()
    used = {stop for pipe in pipes for stop in pipe.stops}
    more_parts, more_pipes, closed = [], [], []
    seen: set[str] = set()
    for part in parts:
        if part.kind not in library or part.tag in seen:
            closed.append(part)
            continue
        seen.add(part.tag)
        unused = [p for p in library.kind(part.kind).ports.values() if f"{part.tag}.{p.name}" not in used | left_open]
        wastes = [p for p in unused if p.need == "may" and p.role == "out" and set(p.media) <= set("DK")]
        capped = [p.name for p in unused if p.need == "may" and p not in wastes]
        for port in [*(p for p in unused if p.need == "must"), *wastes]:
            tag = f"elsewhere {part.tag} {port.name}"
            more_parts.append(PartLine(tag, "off-sheet-connector", (), Place("fragment")))
            ends = (f"{tag}.to", f"{part.tag}.{port.name}")
            more_pipes.append(ConnectionLine(ends[::-1] if port.role == "out" else ends, (), Place("fragment")))
        entries = part.entries + ((Entry("capped", ", ".join(capped), Place("fragment")),) if capped else ())
        closed.append(PartLine(part.tag, part.kind, entries, part.place))
    return tuple(closed + more_parts), tuple(pipes) + tuple(more_pipes)
