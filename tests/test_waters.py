"""The waters: medium, section, body, circuits and moving pipes, on small systems and against brute force."""

from pathlib import Path

import networkx as nx
import pytest

from schemagen.network.groups import bridges
from schemagen.network.network import OUT, PortId
from schemagen.network.waters import SECTIONS, find_waters
from schemagen.parts.kind import OUTSIDE
from schemagen.pipeline import read
from tests.fragments import built

DIVERTED = """
parts: system-boiler B1; diverter-valve V1; indirect-unvented-cylinder C1; radiator R1; tee T1; tee T2;
    expansion-vessel E1; bypass-valve BV1; tee T3; tee T4
pipes: B1.flow - T3.a; T3.b - V1.common; V1.a - C1.coil-in; V1.b - R1.a; C1.coil-out - T1.branch; R1.b - T1.a;
    T1.b - T2.a; T2.b - T4.a; T4.b - B1.return; E1.port - T2.branch; T3.branch - BV1.in; BV1.out - T4.branch
"""


def table(text: str, what: str) -> dict[str, object]:
    """What the waters say of each pipe, by its name; pipes off the sheet are left out."""
    network = built(text).network
    values = getattr(find_waters(network), what)
    return {pipe.name: values[pipe.index] for pipe in network.pipes if "elsewhere" not in pipe.name}


def sections(text: str) -> dict[str, object]:
    return table(text, "section")


def test_pipes_to_a_store_are_primary_and_those_to_emitters_heating():
    found = sections(DIVERTED)
    assert found["V1.a→C1.coil-in"] == "primary-flow"
    assert found["V1.b→R1.a"] == "heating-flow"
    assert found["C1.coil-out→T1.branch"] == "primary-return"
    assert found["R1.b→T1.a"] == "heating-return"


def test_what_source_and_store_share_with_emitters_is_primary():
    found = sections(DIVERTED)
    assert found["B1.flow→T3.a"] == found["T3.b→V1.common"] == "primary-flow"
    assert found["T1.b→T2.a"] == found["T4.b→B1.return"] == "primary-return"


def test_a_vessel_belongs_to_the_return_that_it_hangs_on():
    assert sections(DIVERTED)["E1.port→T2.branch"] == "primary-return"


def test_a_bypass_is_flow_up_to_the_return():
    found = sections(DIVERTED)
    assert found["T3.branch→BV1.in"] == found["BV1.out→T4.branch"] == "primary-flow"


def test_beyond_a_separator_all_is_heating():
    found = sections("""
        parts: system-boiler B1; low-loss-header L1; pump P1; radiator R1
        pipes: B1.flow - L1.primary-flow; L1.primary-return - B1.return; L1.secondary-flow - P1.in; P1.out - R1.a;
            R1.b - L1.secondary-return
    """)
    assert list(found.values()) == ["primary-flow", "primary-return", "heating-flow", "heating-flow", "heating-return"]


MIXED = """
parts: system-boiler B1; heating-mixing-valve M1; pump P1; underfloor-loop U1; tee T1
pipes: B1.flow - M1.hot; M1.mixed - P1.in; P1.out - U1.in; U1.out - T1.a; T1.branch - M1.cold; T1.b - B1.return
"""


def test_water_mixed_for_a_load_is_flow_and_the_leg_into_the_valve_is_return():
    assert list(sections(MIXED).values()) == ["heating-flow"] * 3 + ["heating-return"] * 3


def test_water_mixed_for_the_return_of_a_stove_is_return():
    found = sections("""
        parts: wood-boiler B1; tee T1; loading-valve V1; pump P1; thermal-store W1
        pipes: B1.flow - T1.a; T1.b - W1.source-flow; T1.branch - V1.bypass; W1.source-return - V1.cold;
            V1.mixed - P1.in; P1.out - B1.return
    """)
    sides = [section.rpartition("-")[2] for section in found.values()]
    assert sides == ["flow", "flow", "flow", "return", "return", "return"]


BUFFER = "parts: air-heat-pump H1; tee T1; tee T2; buffer-two-pipe U1; pump P1; radiator R1; radiator R2\npipes: {}"


def test_a_two_pipe_buffer_across_flow_and_return_has_a_flow_end_and_a_return_end():
    found = sections(
        BUFFER.format(
            "H1.flow - T1.a; T1.branch - U1.top; T1.b - P1.in; P1.out - R1.a; R1.b - T2.a; U1.bottom - T2.branch;"
            " T2.b - H1.return"
        )
    )
    assert found["T1.branch→U1.top"] == "primary-flow"
    assert found["U1.bottom→T2.branch"] == "primary-return"
    assert found["P1.out→R1.a"] == "heating-flow"


def test_a_two_pipe_buffer_in_line_takes_the_side_it_stands_on():
    back = sections(BUFFER.format("H1.flow - R1.a; R1.b - U1.top; U1.bottom - H1.return"))
    assert list(back.values()) == ["heating-flow", "heating-return", "heating-return"]
    out = sections(BUFFER.format("H1.flow - U1.top; U1.bottom - R1.a; R1.b - H1.return"))
    assert list(out.values()) == ["heating-flow", "heating-flow", "heating-return"]


def test_after_the_first_of_two_emitters_in_series_all_is_return():
    found = sections("""
        parts: system-boiler B1; radiator R1; radiator R2
        pipes: B1.flow - R1.a; R1.b - R2.a; R2.b - B1.return
    """)
    assert [s.rpartition("-")[2] for s in found.values()] == ["flow", "return", "return"]


def test_a_solar_circuit_is_told_from_the_boilers_and_holds_antifreeze():
    text = """
        parts: solar-collector S1; pump P1; twin-coil-unvented-cylinder C1; system-boiler B1
        pipes: S1.out - C1.lower-coil-in; C1.lower-coil-out - P1.in; P1.out - S1.in; B1.flow - C1.upper-coil-in;
            C1.upper-coil-out - B1.return
    """
    assert list(sections(text).values()) == [
        *("solar-flow", "solar-return", "solar-return"), "primary-flow", "primary-return"
    ]  # fmt: skip
    assert list(table(text, "medium").values()) == ["antifreeze-mix"] * 3 + ["heating-water"] * 2
    drained = text.replace("S1.out - C1.lower", "S1.out - D1.in; D1.out - C1.lower").replace(
        "parts:", "parts: drain-back-vessel D1;"
    )
    assert set(table(drained, "medium").values()) == {"heating-water"}


def test_a_ground_loop_gives_to_its_heat_pump():
    found = sections("""
        parts: ground-loop G1; ground-heat-pump H1; strainer F1; radiator R1
        pipes: G1.out - F1.in; F1.out - H1.brine-in; H1.brine-out - G1.in; H1.flow - R1.a; R1.b - H1.return
    """)
    assert list(found.values()) == ["brine-flow", "brine-flow", "brine-return", "heating-flow", "heating-return"]


def test_both_sides_of_a_plate_exchanger_have_flow_and_return():
    found = sections("""
        parts: heat-only-boiler B1; pump P1; plate-heat-exchanger X1; pump P2; swimming-pool W1
        pipes: B1.flow - P1.in; P1.out - X1.left-top; X1.left-bottom - B1.return; X1.right-top - W1.in;
            W1.out - P2.in; P2.out - X1.right-bottom
    """)
    assert list(found.values()) == [
        *("primary-flow", "primary-flow", "primary-return"), *("pool-flow", "pool-return", "pool-return")
    ]  # fmt: skip


COLD = """
parts: cold-main M1; isolating-valve V1; tee T1; cold-outlet O1; tee T2; double-check-valve K1; filling-loop L1;
    tee T3; system-boiler B1; radiator R1; indirect-unvented-cylinder C1; relief-valve S1; tundish N1; safe-outlet D1;
    thermostatic-mixing-valve X1; tee T4; hot-outlet O2; tee T5; wholesome-circulating-pump P1; check-valve K2; tee T6;
    tee T7; hot-outlet O3; pressure-gauge G1; tee T8
pipes: M1.out - V1.a; V1.b - T1.a; T1.branch - O1.in; T1.b - T2.a; T2.branch - K1.in; K1.out - L1.supply-end;
    L1.system-end - T3.branch; B1.flow - T8.a; T8.branch - G1.port; T8.b - R1.a; R1.b - T3.a; T3.b - T7.a;
    T7.branch - S1.inlet; T7.b - B1.return; S1.outlet - N1.in; N1.out - D1.in; T2.b - T4.a; T4.b - C1.cold-in;
    T4.branch - X1.cold; C1.hot-out - T5.a; T5.branch - T6.a; T6.branch - O3.in; T6.b - P1.in; P1.out - K2.in;
    K2.out - C1.circulation-return; T5.b - X1.hot; X1.mixed - O2.in
"""


def test_tap_water_is_told_by_temperature_and_its_return_from_the_rest():
    found = sections(COLD)
    assert found["M1.out→V1.a"] == found["T4.branch→X1.cold"] == "cold"
    assert found["C1.hot-out→T5.a"] == found["T6.branch→O3.in"] == found["T5.b→X1.hot"] == "hot"
    assert found["X1.mixed→O2.in"] == "tempered"
    assert [n for n, s in found.items() if s == "circulation"] == [
        *("T6.b→P1.in", "P1.out→K2.in", "K2.out→C1.circulation-return")
    ]  # fmt: skip


def test_filling_runs_from_the_branch_off_the_cold_water_to_the_branch_into_the_heating():
    assert [n for n, s in sections(COLD).items() if s == "filling"] == [
        *("T2.branch→K1.in", "K1.out→L1.supply-end", "L1.system-end→T3.branch")
    ]  # fmt: skip


def test_heating_and_drinking_water_are_two_bodies_even_with_a_filling_loop_between():
    body = table(COLD, "body")
    assert body["M1.out→V1.a"] == body["T5.b→X1.hot"] != body["B1.flow→T8.a"]
    assert body["L1.system-end→T3.branch"] == body["R1.b→T3.a"]


def test_water_never_moves_to_gauges_and_relief_valves_but_in_their_discharge_and_when_filling():
    carries = table(COLD, "carries")
    still = [name for name, moves in carries.items() if not moves]
    assert still == ["T8.branch→G1.port", "T7.branch→S1.inlet"]


def test_an_open_vent_and_its_cold_feed_have_sections_of_their_own_and_are_still():
    text = """
        parts: heat-only-boiler B1; tee T1; open-vent-end A1; tee T2; feed-and-expansion-cistern C1; pump P1;
            radiator R1
        pipes: B1.flow - T1.a; T1.branch - A1.port; T1.b - T2.a; C1.cold-feed - T2.branch; T2.b - P1.in;
            P1.out - R1.a; R1.b - B1.return
    """
    assert sections(text)["T1.branch→A1.port"] == "vent"
    assert sections(text)["C1.cold-feed→T2.branch"] == "cold-feed"
    carries = table(text, "carries")
    assert [n for n, moves in carries.items() if not moves] == ["T1.branch→A1.port", "C1.cold-feed→T2.branch"]


def test_a_stated_medium_holds():
    text = "parts: flexible-hose A1; flexible-hose A2\npipes: A1.b - A2.a"
    network = built(text).network
    assert set(find_waters(network).medium) == {""}
    assert find_waters(network).section[0] in SECTIONS


def test_where_waters_are_joined_by_mistake_each_keeps_its_name_up_to_the_joint():
    medium = table(
        """
        parts: cold-main M1; isolating-valve V1; tee T1; system-boiler B1; radiator R1
        pipes: M1.out - V1.a; V1.b - T1.branch; B1.flow - R1.a; R1.b - T1.a; T1.b - B1.return
    """,
        "medium",
    )
    assert medium["M1.out→V1.a"] == medium["V1.b→T1.branch"] == "cold"
    assert medium["R1.b→T1.a"] == medium["T1.b→B1.return"] == "heating-water"


def test_circuits_are_closed_walks_along_pipes_from_a_giver():
    network = built(DIVERTED).network
    pairs = {(p.start.tag, p.end.tag) for p in network.pipes}
    circuits = find_waters(network).circuits
    assert [("C1" in loop, "R1" in loop) for loop in circuits] == [(True, False), (False, True)]
    for loop in circuits:
        assert loop[0] == "B1"
        assert all(step in pairs for step in zip(loop, (*loop[1:], loop[0]), strict=True))


# moving pipes against networkx


@pytest.mark.parametrize("text", [DIVERTED, MIXED, COLD], ids=["diverted", "mixed", "cold"])
def test_a_pipe_is_still_exactly_if_cutting_it_parts_the_water(text):
    """Oracle: without the pipe its ends have no way to each other, the outside of the system counted as one place."""
    network = built(text).network
    waters = find_waters(network)
    graph = nx.MultiGraph()
    graph.add_node(OUT)
    for part in network.parts.values():
        for p in part.kind.passages:
            ends = [OUT if n == OUTSIDE else PortId(part.tag, n) for n in (p.a, p.b)]
            dead = any(n != OUTSIDE and part.kind.ports[n].role == "dead" for n in (p.a, p.b))
            if p.sort != "heat" and not dead:
                graph.add_edge(*ends)
    for pipe in network.pipes:
        graph.add_edge(pipe.start, pipe.end, key=f"pipe {pipe.index}")
    for pipe in network.pipes:
        if waters.section[pipe.index] in ("discharge", "condensate", "filling"):
            assert waters.carries[pipe.index]
            continue
        graph.remove_edge(pipe.start, pipe.end, key=f"pipe {pipe.index}")
        assert waters.carries[pipe.index] == nx.has_path(graph, pipe.start, pipe.end), pipe.name
        graph.add_edge(pipe.start, pipe.end, key=f"pipe {pipe.index}")


def test_bridges_agree_with_networkx_on_a_large_plain_graph():
    graph = nx.gnm_random_graph(400, 430, seed=7)
    edges = list(graph.edges)
    assert {e for e, b in zip(edges, bridges(400, edges), strict=True) if b} == set(nx.bridges(graph))


# every example

EXAMPLES = sorted((Path(__file__).parent.parent / "examples").glob("[0-9]*"))


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda path: path.stem)
def test_in_every_example_each_pipe_has_medium_section_and_body(example):
    network = read(example).network
    waters = find_waters(network)
    assert len(waters.medium) == len(waters.section) == len(waters.body) == len(waters.carries) == len(network.pipes)
    assert set(waters.section) <= set(SECTIONS)
    assert all(waters.medium)
