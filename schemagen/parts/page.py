"""The part kinds as plain text: a table of all, and a page for one."""

import textwrap
from collections.abc import Iterable

from schemagen.parts.kind import MEDIA, Attribute, PartKind, Passage, Variant
from schemagen.parts.library import COMMON, Library

_ROLE = {"in": "in", "out": "out", "either": "either way", "dead": "no through flow"}
_NEED = {"must": "must be piped", "may": "may be capped", "mount": "screwed into its host", "signal": "signal"}
_SIDE = {"L": "left", "R": "right", "T": "top", "B": "bottom"}
_SORT = {
    "both": "both ways", "one-way": "one way only", "heat": "heat only, no water", "air-gap": "falls through open air"
}  # fmt: skip
_ARROW = {"both": "↔", "one-way": "→", "heat": "~", "air-gap": "┄→"}
_WIDTH = 100


def kinds_table(library: Library) -> str:
    """Every kind, family by family: name, tag letters, what it is."""
    kinds = [library.kind(name) for name in library.names]
    wide = max(len(k.name) for k in kinds)
    out: list[str] = []
    for family in dict.fromkeys(k.family for k in kinds):
        out += ["", family.upper()] if out else [family.upper()]
        for kind in (k for k in kinds if k.family == family):
            about = textwrap.wrap(kind.about, _WIDTH - wide - 8)
            out.append(f"  {kind.name:<{wide}} {kind.letter:<4} {about[0]}")
            out += [" " * (wide + 8) + line for line in about[1:]]
    out += ["", f"{len(kinds)} kinds. `schemagen kinds KIND` prints one's page; `--sheet FILE.svg` draws them all."]
    return "\n".join(out) + "\n"


def kind_page(kind: PartKind) -> str:
    """One kind: what it is, openings, ways inside it, positions, and every attribute with its unit."""
    out = [f"{kind.name}: {kind.title} (tags {kind.letter}1, {kind.letter}2 …)", ""]
    out += textwrap.wrap(kind.about, _WIDTH)
    out += _traits(kind)
    out += ["", "Openings" if not kind.is_control else "Connection"]
    out += _columns(
        (p.name, _ROLE[p.role] if p.need != "signal" else "", _NEED[p.need], _media(p.media), _SIDE[p.side])
        for p in kind.ports.values()
    )
    if kind.grows:
        out.append(f"  {kind.grows}… repeats: as many as the list uses, up to {kind.most_units}.")
    if kind.passages:
        out += ["", "Ways inside"]
        out += _columns(_way(p) for p in kind.passages)
    if kind.positions:
        out += ["", f"Positions: {', '.join(kind.positions)}"]
        out += [f"  without power: {kind.rest}"] if kind.rest else []
        out += [f"  in normal use: {kind.normal}"] if kind.normal else []
    otherwise = [f"  - {line}" for variant in kind.variants for line in _variant(variant)]
    out += ["", "Otherwise in some parts", *otherwise] if otherwise else []
    own = [a for name, a in kind.attributes.items() if name not in COMMON]
    if own:
        out += ["", "Data of this kind"]
        out += _columns(_attribute(a) for a in own)
    out += ["", "Data of any part"]
    out += _columns(_attribute(a) for a in COMMON.values())
    out += ["", _turning(kind)]
    return "\n".join(out) + "\n"


def _turning(kind: PartKind) -> str:
    turns = ", ".join(f"{turn}°" for turn in kind.symbol.turns if turn)
    mirror = "may be mirrored" if kind.symbol.mirror else "is not mirrored"
    return f"Symbol: {f'may be turned by {turns}' if turns else 'stands upright'}, {mirror}."


def _traits(kind: PartKind) -> list[str]:
    facts = []
    if kind.giver:
        facts.append(f"gives heat ({'stops when told' if kind.giver == 'controlled' else 'cannot be stopped at will'})")
    if kind.taker:
        facts.append("takes heat from its water")
    if kind.store:
        facts.append(f"stores {'hot tap water' if kind.store == 'wholesome' else 'heating water'}")
    if kind.driver:
        facts.append("makes water move")
    if kind.separates:
        facts.append("keeps two pumped circuits from disturbing each other")
    if kind.breaks_pressure:
        facts.append("ends a pressure section")
    if kind.protects:
        facts.append(f"keeps up to fluid category {kind.protects} out of drinking water")
    if kind.still:
        facts.append("needs no flow through it")
    if kind.counts_as:
        facts.append(f"counts as {', '.join(kind.counts_as)}")
    if kind.built_in:
        facts.append(f"has inside: {', '.join(kind.built_in)}")
    return [f"  - {fact}" for fact in facts]


def _media(letters: str) -> str:
    if letters == "S":
        return "no water"
    return " or ".join("that of its neighbours" if x == "X" else MEDIA[x] for x in letters)


def _way(passage: Passage) -> tuple[str, ...]:
    when = f"when {' or '.join(passage.positions)}" if passage.positions else "always"
    return f"{passage.a} {_ARROW[passage.sort]} {passage.b}", _SORT[passage.sort], when


def _variant(variant: Variant) -> list[str]:
    """One sentence for each thing that is otherwise and not plain from the attribute itself."""
    given = " and ".join(f"{name}… is piped" if key == "piped" else f"{key}: {name}" for key, name in variant.when)
    return [f"{given}: {_change(*change)}" for change in variant.changes if change not in variant.when]


def _change(field: str, value: object) -> str:
    if field == "passages":
        return "the way inside is " + "; ".join(" ".join(_way(p)[::2]) for p in value) if value else "no way inside"
    words = ", ".join(value) if isinstance(value, tuple) else {True: "yes", False: "no"}.get(value, value)
    return f"{field.replace('_', ' ')} is {words or 'none'}"


def _attribute(a: Attribute) -> tuple[str, ...]:
    sort = " | ".join(a.choices) if a.choices else f"{a.dimension}, {a.unit}" if a.unit else a.dimension
    return a.name, sort, a.help + (f" (if not given: {a.default})" if a.default else "")


def _columns(rows: Iterable[tuple[str, ...]]) -> list[str]:
    """Rows of words as aligned columns; a last column too long for the line runs on below its own start."""
    rows = list(rows)
    wide = [max(len(row[i]) for row in rows) for i in range(len(rows[0]) - 1)]
    indent = 2 + sum(w + 2 for w in wide)
    out: list[str] = []
    for row in rows:
        head = "  " + "".join(f"{cell:<{w}}  " for cell, w in zip(row[:-1], wide, strict=True))
        lines = textwrap.wrap(row[-1], max(_WIDTH - indent, 40), break_on_hyphens=False)
        out += [head + lines[0], *(" " * indent + line for line in lines[1:])]
    return out
