"""What the layout promises, on seeded systems of many sizes."""

from dataclasses import replace
from itertools import pairwise
from pathlib import Path

import pytest
from plan_audit import crossings_of
from systems import job, system

from schemagen.layout.canonical import canonical
from schemagen.layout.contract import contract
from schemagen.layout.ladders import laddered
from schemagen.layout.lay_out import lay_out
from schemagen.network.build import build
from schemagen.network.waters import find_waters
from schemagen.parts.library import shipped_library
from schemagen.pipeline import read
from schemagen.routing.route import route

EXAMPLES = sorted(p for p in (Path(__file__).parent.parent / "examples").iterdir() if p.name[:2].isdigit())
SEEDS = [(seed, size) for size in (8, 20, 45, 90) for seed in range(8)]


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_contraction_puts_every_part_in_exactly_one_block(seed, size):
    network, waters = system(seed, size)
    blocks = contract(network, canonical(network, waters.section))
    tags = [tag for block in blocks for tag in block.tags]
    assert sorted(tags) == sorted(network.parts)


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_every_shape_of_a_block_holds_the_same_parts_and_openings(seed, size):
    network, waters = system(seed, size)
    for block in contract(network, canonical(network, waters.section)):
        for shape in block.shapes:
            assert sorted(p.tag for p in shape.parts) == sorted(block.tags)
            assert set(shape.open) == set(block.ends)


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_a_sketch_has_every_part_and_every_pipe_from_port_to_port(seed, size):
    network, waters = system(seed, size)
    sketch = lay_out(network, waters)
    at = {part.tag: part for part in sketch.parts}
    assert sorted(at) == sorted(network.parts)
    for pipe in network.pipes:
        points = sketch.routes[pipe.index]
        assert points[0] == at[pipe.start.tag].ports[pipe.start.port].at
        assert points[-1] == at[pipe.end.tag].ports[pipe.end.port].at


@pytest.mark.parametrize(("seed", "size"), SEEDS)
def test_ladders_keep_every_part_and_every_open_end_in_exactly_one_block(seed, size):
    network, waters = system(seed, size)
    before = contract(network, canonical(network, waters.section))
    after = laddered(network, before)
    assert sorted(t for b in after for t in b.tags) == sorted(network.parts)
    inner = {i for b in after for s in b.shapes for i in s.routes}
    ends = [e for b in after for e in b.ends]
    assert len(ends) == len(set(ends))
    assert {e for b in before for e in b.ends if e.pipe not in inner} == set(ends)


@pytest.mark.parametrize("seed", range(8))
def test_the_emitters_of_a_ladder_stand_in_one_column_and_its_pipes_do_not_cross(seed):
    network, waters = system(seed, 45)
    blocks = laddered(network, contract(network, canonical(network, waters.section)))
    for block in blocks:
        parts = block.shapes[0].parts if block.shapes else ()
        emitters = [p for p in parts if network.parts[p.tag].kind.family == "emitters"]
        if len(emitters) > 1:
            assert len({p.box.x for p in emitters}) == 1
            assert crossings_of(network, dict(block.shapes[0].routes)) == []


@pytest.mark.parametrize("seed", range(6))
def test_the_order_of_parts_and_connections_in_the_list_moves_nothing(seed):
    plain = job(seed, 30)
    shuffled = replace(plain, parts=plain.parts[::-1], connections=plain.connections[::-1])
    assert boxes(plain) == boxes(shuffled)


@pytest.mark.parametrize("seed", range(6))
def test_other_tags_of_the_same_length_move_nothing(seed):
    plain = job(seed, 30)
    new = {p.tag: f"{chr(155 - ord(p.tag[0]))}{p.tag[1:]}" for p in plain.parts}

    def stop(text):
        tag, dot, port = text.partition(".")
        return new[tag] + dot + port

    def entry(e):
        words = ", ".join(new.get(w, w) for w in e.text.split(", ")) if e.key in ("on", "switches", "at") else e.text
        return replace(e, text=words)

    renamed = replace(
        plain,
        parts=tuple(replace(p, tag=new[p.tag], entries=tuple(map(entry, p.entries))) for p in plain.parts),
        connections=tuple(replace(c, stops=tuple(map(stop, c.stops))) for c in plain.connections),
    )
    before = boxes(plain)
    assert boxes(renamed) == {new[tag]: box for tag, box in before.items()}


def boxes(listed):
    network = build(listed, shipped_library()).network
    return {p.tag: p.box for p in lay_out(network, find_waters(network)).parts}


@pytest.fixture(scope="module", params=EXAMPLES, ids=lambda p: p.stem)
def drawn(request):
    listed = read(request.param)
    return listed, route(lay_out(listed.network, listed.waters), listed.network, listed.waters)


def test_what_drains_falls_all_the_way(drawn):
    listed, plan = drawn
    for pipe in listed.network.pipes:
        if listed.waters.section[pipe.index] in ("discharge", "condensate"):
            assert all(a.y <= b.y for a, b in pairwise(plan.routes[pipe.index].points)), pipe.name


def test_an_open_vent_ends_above_the_cistern_that_it_opens_over(drawn):
    listed, plan = drawn
    for part in listed.network.parts.values():
        if part.kind.name == "open-vent-end":
            assert plan.parts[part.tag].box.bottom <= plan.parts[part.texts["over"]].box.y


def test_cisterns_and_collectors_stand_above_sources_and_stores(drawn):
    listed, plan = drawn
    parts = listed.network.parts.values()
    high = ("cold-water-cistern", "feed-and-expansion-cistern", "solar-collector")
    not_low = (*high, "immersion-heater")
    below = [p for p in parts if p.kind.family in ("sources", "stores") and p.kind.name not in not_low]
    for part in parts:
        if part.kind.name in high:
            assert all(plan.parts[part.tag].box.bottom <= plan.parts[p.tag].box.y for p in below)
