"""The part kinds as plain text: a table of all, and a page for one."""

import textwrap
from collections.abc import Iterable
from typing import Any

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
        out.append(f"  {kind.grows.replace('{n}', '1')}… repeats: as many as the list uses, up to {kind.most_units}.")
    if kind.passages:
        out += ["", "Ways inside"]
        out += _columns(_way(p) for p in kind.passages)
    if kind.positions:
        out += ["", f"Positions: {', '.join(kind.positions)}"]
        out += [f"  without power: {kind.rest}"] if kind.rest else []
        out += [f"  in normal use: {kind.normal}"] if kind.normal else []
    if otherwise := [line for variant in kind.variants for line in _variant(variant)]:
        out += ["", "Otherwise in some parts"]
        out += [row for line in otherwise for row in textwrap.wrap(f"  - {line}", _WIDTH, subsequent_indent="    ")]
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
        facts.append(_said("giver", kind.giver))
    if kind.taker:
        facts.append(_said("taker", kind.taker))
    if kind.store:
        facts.append(f"stores {'hot tap water' if kind.store == 'wholesome' else 'heating water'}")
    if kind.driver:
        facts.append(_said("driver", kind.driver))
    if kind.separates:
        facts.append("keeps two pumped circuits from disturbing each other")
    if kind.breaks_pressure:
        facts.append("ends a pressure section")
    if kind.protects:
        facts.append(_said("protects", kind.protects))
    if kind.still:
        facts.append("needs no flow through it")
    if kind.counts_as:
        facts.append(_said("counts_as", kind.counts_as))
    if kind.built_in:
        facts.append(_said("built_in", kind.built_in))
    return [f"  - {fact}" for fact in facts]


def _said(field: str, value: Any) -> str:
    """What a trait means, in words; "" for one that follows from another."""
    match field:
        case "giver":
            return f"gives heat ({'stops when told' if value == 'controlled' else 'cannot be stopped at will'})"
        case "taker":
            return "takes heat from its water" if value else "takes no heat from its water"
        case "driver":
            return "makes water move" if value else "does not make water move"
        case "protects":
            return f"keeps up to fluid category {value} out of drinking water"
        case "counts_as":
            return f"counts as {', '.join(value)}"
        case "built_in":
            return f"has inside: {', '.join(value) or 'nothing'}"
        case "moved_by":
            return f"is moved by {value if value == 'hand' else f'a {value}'}"
        case "rest":
            return f"is {value} without power"
        case "normal":
            return f"is {value} in normal use"
        case "passages":
            return "the way inside is " + "; ".join(" ".join(_way(p)[::2]) for p in value)
    return ""


def _media(letters: str) -> str:
    if letters == "S":
        return "no water"
    return " or ".join("that of its neighbours" if x == "X" else MEDIA[x] for x in letters)


def _way(passage: Passage) -> tuple[str, ...]:
    when = f"when {' or '.join(passage.positions)}" if passage.positions else "always"
    return f"{passage.a} {_ARROW[passage.sort]} {passage.b}", _SORT[passage.sort], when


def _variant(variant: Variant) -> list[str]:
    """One sentence for each thing that is otherwise and not plain from the attribute itself."""
    given = " and ".join(
        f"a {name.strip('-')} is piped" if key == "piped" else f"{key}: {name}" for key, name in variant.when
    )
    told = [_said(*change) for change in variant.changes if change not in variant.when]
    return [f"{given}: {words}" for words in told if words]


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
