"""Mistakes put into correct lists: each kind can be made, is found where it sits, and touches nothing else."""

from functools import cache
from pathlib import Path

import pytest

from schemagen.checks.check import check
from schemagen.checks.facts import Facts
from schemagen.checks.folding import tags_of
from schemagen.faults.all_faults import all_faults
from schemagen.faults.fault_kind import with_fault
from schemagen.network.build import build
from schemagen.network.waters import find_waters
from schemagen.parts.library import shipped_library
from schemagen.pipeline import read
from tests.fragments import job
from tests.sound_systems import sound_job

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("0[1-8]_*"))
KINDS = all_faults()


def facts_of(job) -> Facts:
    built = build(job, shipped_library())
    return Facts(job, shipped_library(), built.network, find_waters(built.network), built.findings)


@cache
def examples() -> tuple[Facts, ...]:
    return tuple(facts_of(read(path).list) for path in EXAMPLES)


@cache
def places(kind) -> list:
    """The first two places of each example where a mistake can be made."""
    return [(facts, edit) for facts in examples() for edit in list(kind.places(facts))[:2]]


def said_of(network) -> tuple:
    return [(p.tag, p.kind.name, dict(p.values)) for p in network.parts.values()], [
        (p.start, p.end, p.size, dict(p.values)) for p in network.pipes
    ]


def by_slug(kind) -> str:
    return kind.slug


def test_there_are_at_least_forty_kinds_of_every_category_and_difficulty():
    assert len(KINDS) >= 40
    assert len({kind.slug for kind in KINDS}) == len(KINDS)
    assert {kind.category for kind in KINDS} == {"topology", "safety", "data", "control"}
    assert {kind.difficulty for kind in KINDS} == {1, 2, 3}


@pytest.mark.parametrize("kind", KINDS, ids=by_slug)
def test_a_kind_of_mistake_can_be_made_in_some_example_and_changes_it(kind):
    assert places(kind)
    for facts, edit in places(kind):
        changed = edit.network.fluids != facts.network.fluids or edit.job is not None
        assert changed or said_of(edit.network) != said_of(facts.network), edit.told
        assert edit.at
        assert edit.told.endswith(".")


@pytest.mark.parametrize("kind", KINDS, ids=by_slug)
def test_a_mistake_is_found_at_its_place(kind):
    missed = []
    for facts, edit in places(kind):
        findings = check(with_fault(facts, edit)).findings
        if not any(tags_of(finding) & set(edit.at) for finding in findings[:2]):
            missed.append((edit.told, [f.message for f in findings[:2]]))
    assert not missed


def test_a_pipe_left_out_is_one_finding_that_names_its_two_ends():
    facts = examples()[2]
    kind = next(k for k in KINDS if k.slug == "pipe-left-out")
    for edit in list(kind.places(facts))[::7]:
        findings = check(with_fault(facts, edit)).findings
        assert [set(edit.at) & tags_of(f) for f in findings] == [set(edit.at)], edit.told


def test_a_mistake_leaves_the_correct_network_as_it_was():
    facts = examples()[0]
    before = said_of(facts.network)
    for kind in KINDS:
        list(kind.places(facts))
    assert said_of(facts.network) == before
    assert check(facts).findings == ()


def test_the_places_come_in_the_same_order_every_time():
    for kind in KINDS:
        assert [e.told for e in kind.places(examples()[2])] == [e.told for e in kind.places(examples()[2])]


@pytest.mark.parametrize("seed", range(12))
def test_a_seeded_correct_system_has_no_finding(seed):
    assert [(f.check, f.message) for f in check(facts_of(sound_job(seed))).findings] == []


def test_parts_and_pipes_of_a_changed_network_still_fit_each_other():
    for facts in examples():
        for kind in KINDS:
            for edit in list(kind.places(facts))[:3]:
                network = edit.network
                assert [p.index for p in network.pipes] == list(range(len(network.pipes)))
                for pipe in network.pipes:
                    for end in (pipe.start, pipe.end):
                        assert end.port in network.parts[end.tag].kind.ports, (kind.slug, edit.told, end)


def test_a_misspelt_kind_is_one_finding_and_what_is_wrong_beside_it_stands():
    facts = examples()[2]
    kind = next(k for k in KINDS if k.slug == "kind-misspelt")
    for edit in kind.places(facts):
        assert [(f.check, f.parts[:1]) for f in check(with_fault(facts, edit)).findings] == [("unknown-word", edit.at)]
    text = (
        "parts: system-boilerx B1 built-in: pump, vessel, relief, gauge, control; tee T1; zone-valve ZV1; "
        "radiator R1\npipes: B1.flow - T1.a; T1.b - ZV1.in; ZV1.out - R1.a; R1.b - B1.return"
    )
    told = [(f.check, f.parts) for f in check(facts_of(job(text))).findings]
    assert told[0] == ("unknown-word", ("B1",))
    assert ("valve-no-controller", ("ZV1",)) in told and "part-never-flows" not in dict(told)
