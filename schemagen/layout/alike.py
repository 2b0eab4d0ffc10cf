"""Sheets that differ in names only are drawn alike: a key that such sheets share, and the plan of one for another."""

from dataclasses import dataclass, replace

from schemagen.base.geometry import Box
from schemagen.base.text import label_size
from schemagen.layout.canonical import in_canonical_order, nameless
from schemagen.layout.captions import caption_lines
from schemagen.layout.lay_out import standing_in
from schemagen.layout.placement import Label, PlaceBox, Plan
from schemagen.layout.twins import key_of
from schemagen.network.network import Network
from schemagen.network.waters import Waters


@dataclass(frozen=True)
class Likeness:
    """What a network looks like apart from names; its tags, pipes and places in an order that goes with the key."""

    key: tuple
    tags: tuple[str, ...]
    pipes: tuple[int, ...]
    places: tuple[str, ...]


def likeness(network: Network, waters: Waters) -> Likeness:
    """Networks with equal keys are drawn alike: part by part, pipe by pipe, place by place in the orders given."""
    bare = replace(network, parts={tag: nameless(part) for tag, part in network.parts.items()})
    same, section, index = in_canonical_order(bare, waters.section)
    same = replace(same, parts={tag: network.parts[tag] for tag in same.parts})
    tags = tuple(same.parts)
    shape, pipes = key_of(same, section, tags, {}, dict.fromkeys(tags, 0))
    standing = [standing_in(network, tag) for tag in tags]
    places = tuple(dict.fromkeys(place for place in standing if place))
    number = {place: n for n, place in enumerate(places)}
    sizes = tuple(same.pipes[i].size_text for i in pipes)
    key = (shape, tuple(number.get(place, -1) for place in standing), sizes)
    return Likeness(key, tags, tuple(index[i] for i in pipes), places)


def plan_of_twin(plan: Plan, network: Network, own: Likeness, twin: Likeness) -> Plan:
    """The plan of a network whose likeness is `own`, with the names of its twin `network`."""
    tag = dict(zip(own.tags, twin.tags, strict=True))
    pipe = dict(zip(own.pipes, twin.pipes, strict=True))
    place = dict(zip(own.places, twin.places, strict=True))
    parts = {tag[t]: replace(p, tag=tag[t]) for t, p in plan.parts.items()}
    return Plan(
        {t: parts[t] for t in network.parts},
        dict(sorted((pipe[i], route) for i, route in plan.routes.items())),
        tuple(_renamed(label, network, tag) for label in plan.labels if label.subject in tag),
        tuple(PlaceBox(place[p.name], p.box, _named(p.label, place[p.name])) for p in plan.places),
        plan.box,
    )


def _renamed(label: Label, network: Network, tag: dict[str, str]) -> Label:
    new = tag[label.subject]
    return replace(label, subject=new, lines=caption_lines(network.parts[new]))


def _named(label: Box, name: str) -> Box:
    return Box(label.x, label.y, label_size((name,), False)[0], label.h)
