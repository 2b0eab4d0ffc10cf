"""Facts of the trade that kinds and network must agree with, each beside the published source that states it."""

import pytest

from schemagen.network.network import PortId
from schemagen.network.reach import Reach
from schemagen.network.waters import find_waters
from schemagen.parts.library import shipped_library
from schemagen.pipeline import Job
from tests.fragments import built, job

FITTINGS = "Water Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 15"


def kind(name: str):
    return shipped_library().kind(name)


@pytest.mark.parametrize(
    ("name", "said", "category", "source"),
    [
        ("check-valve", {}, 2, "table of fluid categories against devices, UK water-regulations body"),
        ("double-check-valve", {}, 3, "table of fluid categories against devices, UK water-regulations body"),
        ("disconnecting-preventer", {"type": "CA"}, 3, "BS EN 1717 (from memory); installation note IRN 360"),
        ("disconnecting-preventer", {"type": "BA"}, 4, "table of fluid categories against devices (RPZ valve)"),
        ("automatic-fill-unit", {"air-gap": "AB"}, 5, "table of fluid categories against devices (type AB air gap)"),
        ("automatic-fill-unit", {"air-gap": "AF"}, 4, "table of fluid categories against devices (type AF air gap)"),
    ],
)
def test_a_backflow_device_keeps_out_the_category_of_the_published_table(name, said, category, source):
    assert kind(name).as_listed(said, ()).protects == category, source


def test_a_mid_position_valve_without_power_lies_open_to_hot_water():
    """Source: a valve supplier's page on three-port valves, seen; common knowledge of the trade."""
    assert kind("mid-position-valve").rest == "hot-water"


def test_the_inlet_group_holds_strainer_reducer_check_and_expansion_relief_in_this_order():
    """Source: unvented controls in a plumbing course textbook: strainer, reducer, check valve, expansion valve."""
    assert kind("inlet-control-group").built_in == ("strainer", "reducer", "check", "expansion-relief")


def test_a_tundish_is_an_air_gap_and_parts_the_waters():
    """Source: Approved Document G (England), 3.50 to 3.55; water fittings guidance G19.3 and G19.4."""
    network = built(
        "parts: relief-valve S1; tundish N1; safe-outlet O1\npipes: S1.outlet - N1.in; N1.out - O1.in"
    ).network
    assert not Reach(network).same_water(PortId("S1", "outlet"), PortId("O1", "in"))


GUARDED = """
parts: heat-only-boiler B1; {valve} V1{data}; tee T1; relief-valve S1; safe-outlet O1; pump P1; radiator R1
pipes: B1.flow - {first}; {second} - T1.a; T1.branch - S1.inlet; S1.outlet - O1.in; T1.b - P1.in; P1.out - R1.a;
    R1.b - B1.return
"""


@pytest.mark.parametrize(
    ("valve", "data", "guarded"),
    [
        ("flexible-hose", "", True),
        ("isolating-valve", "", False),
        ("isolating-valve", " locked: open", True),
    ],
)
def test_nothing_that_can_shut_stands_between_a_boiler_and_its_safety_valve(valve, data, guarded):
    """Source: BS EN 12828 as quoted in a boiler maker's specification: on the flow, no isolating valve; a valve
    secured against closing is accepted in older German rules as a maker cites them."""
    text = GUARDED.format(valve=valve, data=data, first="V1.a", second="V1.b")
    assert _relief_is_at_the_boiler(text) == guarded


def _relief_is_at_the_boiler(text: str) -> bool:
    reach = Reach(built(text).network)
    return any(PortId("S1", "inlet") in reach.fixed(PortId("B1", name)) for name in ("flow", "return"))


def test_a_strainer_may_block_and_so_nothing_vital_lies_behind_it():
    """Source: BS EN 12828 as quoted in makers' sheets on sealed systems: no device that can shut or block the line."""
    text = GUARDED.format(valve="strainer", data="", first="V1.in", second="V1.out")
    assert not _relief_is_at_the_boiler(text)


def test_a_circuit_with_a_feed_cistern_is_open_and_one_with_a_vessel_sealed():
    """Source: open-vented and sealed systems in a plumbing course textbook."""
    text = """
        parts: heat-only-boiler B1; radiator R1; tee T1; {end}
        pipes: B1.flow - R1.a; R1.b - T1.a; T1.b - B1.return; {pipe} - T1.branch
    """
    opened = built(text.format(end="feed-and-expansion-cistern C1", pipe="C1.cold-feed")).network
    sealed = built(text.format(end="expansion-vessel E1", pipe="E1.port")).network
    assert [Reach(n).section(PortId("B1", "flow")).open for n in (opened, sealed)] == [True, False]


def test_a_fire_and_a_collector_cannot_be_switched_off_and_a_boiler_can():
    """Source: EN 16510-2-4 and makers' documents on solid fuel; solar trade manuals (uncontrolled heat)."""
    assert {kind(n).giver for n in ("solid-fuel-stove", "wood-boiler", "solar-collector")} == {"uncontrolled"}
    assert {kind(n).giver for n in ("heat-only-boiler", "air-heat-pump")} == {"controlled"}


def test_a_coil_passes_heat_and_no_water():
    """Source: Water Fittings Regulations, schedule 2, paragraph 1 (primary circuit and secondary system are apart)."""
    network = built("parts: indirect-unvented-cylinder C1\npipes: (any)").network
    assert not Reach(network).same_water(PortId("C1", "coil-in"), PortId("C1", "hot-out"))


def test_a_single_feed_cylinder_parts_its_waters_by_air_only():
    """Source: BS 1566-2 as explained in a building handbook: two air locks part the waters."""
    assert "air-gap" in {passage.sort for passage in kind("single-feed-cylinder").passages}


def test_a_blind_end_carries_no_water_and_a_vessel_pipe_neither():
    """Source: Health and Safety Executive, hot and cold water systems: a dead end is a redundant closed pipe."""
    network = built("""
        parts: system-boiler B1; tee T1; cap X1; tee T2; expansion-vessel E1; radiator R1
        pipes: B1.flow - T1.a; T1.branch - X1.port; T1.b - R1.a; R1.b - T2.a; T2.branch - E1.port; T2.b - B1.return
    """).network
    still = [p.name for p, moves in zip(network.pipes, find_waters(network).carries, strict=True) if not moves]
    assert [name for name in still if "elsewhere" not in name] == ["T1.branch→X1.port", "T2.branch→E1.port"]


def test_a_separator_has_its_pumps_apart():
    """Source: hydraulic separation with low-loss headers and close tees, trade magazine articles."""
    assert all(kind(n).separates for n in ("low-loss-header", "close-tees", "buffer-four-pipe", "thermal-store"))


@pytest.mark.parametrize(("premises", "fires"), [("house", False), ("other", True)])
def test_heating_water_is_category_three_in_a_house_and_four_elsewhere(premises, fires):
    """Source: interpretation B22 of the UK water-regulations body (guidance G15.3, G24.2)."""
    text = f"""
        parts: cold-main M1 premises: {premises}; double-check-valve K1; filling-loop L1; tee T1; system-boiler B1;
            radiator R1
        pipes: M1.out - K1.in; K1.out - L1.supply-end; L1.system-end - T1.branch; B1.flow - R1.a; R1.b - T1.a;
            T1.b - B1.return
    """
    found = Job(job(text), shipped_library()).report
    said = {f.check for f in found.findings} | {f.finding.check for f in found.folded}
    assert ("cross-connection" in said) == fires, FITTINGS
