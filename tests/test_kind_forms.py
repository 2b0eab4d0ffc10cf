"""A kind takes the form that its attributes and its piped openings give it."""

import pytest

from schemagen.parts.kind import OUTSIDE, PartKind
from schemagen.parts.library import Library, SymbolError

LIBRARY = Library()


def joined(kind: PartKind, a: str, b: str) -> bool:
    """True if water can pass from a to b inside the part in some position."""
    return any(
        p.sort != "heat" and ((p.a, p.b) == (a, b) or (p.sort == "both" and (p.b, p.a) == (a, b)))
        for p in kind.passages
    )


def test_an_indirect_heat_interface_unit_keeps_network_water_out_of_the_radiators_and_a_direct_one_does_not():
    unit = LIBRARY.kind("heat-interface-unit")
    indirect, direct = (unit.as_listed({"type": word}, ()) for word in ("indirect", "direct"))
    assert not joined(indirect, "network-flow", "flow")
    assert joined(direct, "network-flow", "flow") and joined(direct, "return", "network-return")
    assert indirect.built_in == ("pump",) and direct.built_in == ()


def test_a_manifold_warms_the_floor_itself_until_loops_are_piped_to_it():
    manifold = LIBRARY.kind("underfloor-manifold")
    assert manifold.taker and joined(manifold.as_listed({}, ["flow-in", "return-out"]), "flow-in", "return-out")
    piped = manifold.as_listed({}, ["flow-in", "return-out", "loop-2-flow", "loop-2-return"])
    assert not piped.taker and not joined(piped, "flow-in", "return-out")
    assert joined(piped, "flow-in", "loop-2-flow") and joined(piped, "loop-2-return", "return-out")


def test_a_heat_pump_without_its_pump_lets_water_pass_both_ways_and_drives_nothing():
    for name in ("air-heat-pump", "ground-heat-pump"):
        kind = LIBRARY.kind(name)
        without = kind.as_listed({"pump": "no"}, ())
        assert not joined(kind, "flow", "return") and joined(without, "flow", "return")
        assert kind.driver == "built-in" and without.driver == "" and "pump" not in without.built_in


@pytest.mark.parametrize(
    ("said", "inside"),
    [
        ({}, ("pump", "brine-pump")),
        ({"pump": "no"}, ("brine-pump",)),
        ({"brine-pump": "no"}, ("pump",)),
        ({"pump": "no", "brine-pump": "no"}, ()),
    ],
)
def test_a_ground_source_heat_pump_has_the_pumps_inside_that_the_list_leaves_it(said, inside):
    assert LIBRARY.kind("ground-heat-pump").as_listed(said, ()).built_in == inside


def test_a_wood_boiler_counts_as_controlled_only_if_the_list_says_so():
    boiler = LIBRARY.kind("wood-boiler")
    assert boiler.as_listed({"control": "uncontrolled"}, ()).giver == "uncontrolled"
    assert boiler.as_listed({"control": "controlled"}, ()).giver == "controlled"


def test_a_manifold_grows_by_one_pair_of_openings_a_loop_and_its_openings_stay_on_the_outline():
    one, seven = (LIBRARY.kind("underfloor-manifold", n) for n in (1, 7))
    assert len(seven.ports) - len(one.ports) == 12
    assert seven.symbol.w - one.symbol.w == 6 * 40
    xs = sorted(p.at.x for p in seven.ports.values() if p.name.startswith("loop-"))
    assert all(b - a == 20 for a, b in zip(xs, xs[1:], strict=False)) and xs[-1] < seven.symbol.w


def test_more_loops_than_a_manifold_can_have_are_refused():
    with pytest.raises(SymbolError, match="at most 12"):
        LIBRARY.kind("underfloor-manifold", 13)


def test_water_of_the_two_vessels_in_one_casing_never_meets():
    kind = LIBRARY.kind("cylinder-and-buffer")
    waters: list[set[str]] = [{name} for name in kind.ports]
    for passage in kind.passages:
        if passage.sort != "heat":
            touched = [w for w in waters if {passage.a, passage.b} & w]
            waters = [w for w in waters if w not in touched] + [set().union(*touched)]
    assert OUTSIDE not in set().union(*waters)
    store, coil, buffer = (next(w for w in waters if name in w) for name in ("cold-in", "coil-in", "buffer-top"))
    assert {"hot-out", "relief-tapping", "circulation-return"} <= store
    assert coil == {"coil-in", "coil-out"}
    assert {"primary-flow", "primary-return", "secondary-flow", "secondary-return", "buffer-bottom"} <= buffer
    assert len(waters) == 3


def test_an_unknown_trait_in_a_kinds_file_is_refused_with_its_name(tmp_path):
    (tmp_path / "odd.svg").write_text(
        '<svg xmlns="http://www.w3.org/2000/svg" viewBox="0 0 20 20">'
        '<circle class="port" id="port" cx="10" cy="0" r="1"/></svg>'
    )
    (tmp_path / "odd.toml").write_text(
        'title = "odd"\nletter = "ODD"\nabout = "Odd."\n[symbol]\nshape = "stub"\n[ports]\n'
        'port = { role = "dead", media = "X" }\n[traits]\nseperates = true\n'
    )
    with pytest.raises(SymbolError, match="seperates"):
        Library(tmp_path).kind("odd")
