"""What the layout promises, on seeded systems of many sizes."""

import pytest
from systems import system

from schemagen.layout.canonical import canonical
from schemagen.layout.contract import contract
from schemagen.layout.lay_out import lay_out

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
