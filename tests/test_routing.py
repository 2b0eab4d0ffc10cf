"""What a finished plan promises: none of the faults that a drawing must never have."""

from dataclasses import replace

import pytest
from plan_audit import audit, crossings_of
from systems import system

from schemagen.base.geometry import Point
from schemagen.layout.lay_out import lay_out
from schemagen.layout.placement import Plan, Route
from schemagen.routing.route import route

SEEDS = [(seed, size) for size in (6, 12, 40, 80, 120) for seed in range(10)]

COLUMNS = [(449, 109), (59, 126)]
"""Systems in which a tee can come to stand in one column with another when a column in between has moved away."""


def plan_of(seed: int, size: int) -> tuple:
    network, waters = system(seed, size)
    return network, route(lay_out(network, waters), network, waters)


@pytest.mark.parametrize(("seed", "size"), SEEDS + COLUMNS)
def test_a_plan_has_no_fault(seed, size):
    network, plan = plan_of(seed, size)
    assert audit(network, plan).faults == ()


@pytest.mark.parametrize(("seed", "size"), SEEDS[::3])
def test_each_crossing_is_hopped_over_by_exactly_one_pipe(seed, size):
    network, plan = plan_of(seed, size)
    crossings = crossings_of(network, {i: r.points for i, r in plan.routes.items()})
    hops = sorted(h for r in plan.routes.values() for h in r.hops)
    assert hops == sorted(at for _, _, at in crossings)


def _with_route(plan: Plan, index: int, points) -> Plan:
    return replace(plan, routes={**plan.routes, index: Route(tuple(Point(*p) for p in points))})


def test_the_audit_sees_a_pipe_off_its_port_and_a_diagonal():
    network, plan = plan_of(1, 12)
    index, old = next(iter(plan.routes.items()))
    moved = _with_route(plan, index, [(p.x + 3, p.y + 1 + n) for n, p in enumerate(old.points)])
    assert {"pipe off its port", "diagonal"} <= {what for what, _ in audit(network, moved).faults}


def test_the_audit_sees_a_part_on_a_part_and_a_text_on_a_text():
    network, plan = plan_of(1, 12)
    a, b = list(plan.parts.values())[:2]
    laid = replace(plan, parts={**plan.parts, a.tag: replace(a, box=b.box)})
    assert "part on part" in {what for what, _ in audit(network, laid).faults}
    double = replace(plan, labels=(*plan.labels, replace(plan.labels[0], subject="x")))
    assert "text on text" in {what for what, _ in audit(network, double).faults}


def test_the_audit_sees_two_pipes_on_one_line_and_a_pipe_through_a_part():
    network, plan = plan_of(1, 40)
    tags = [{pipe.start.tag, pipe.end.tag} for pipe in network.pipes]
    (i, a), (j, _) = [(i, r) for i, r in plan.routes.items() if not tags[i] & tags[0]][:2]
    doubled = _with_route(plan, 0, a.points)
    assert "pipes on one line" in {what for what, _ in audit(network, doubled).faults}
    box = next(p.box for t, p in plan.parts.items() if t not in (network.pipes[0].start.tag, network.pipes[0].end.tag))
    through = _with_route(plan, 0, [(box.x - 30, box.centre.y), (box.right + 30, box.centre.y)])
    assert "pipe through a part" in {what for what, _ in audit(network, through).faults}
