"""The network from the list: tags, ports, runs, what is made on the way, and what becomes a finding."""

import itertools
import random

import networkx as nx
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, PartLine, Row
from schemagen.network.build import build
from schemagen.network.groups import Groups, bridges
from schemagen.network.network import PortId
from schemagen.network.reach import Reach
from schemagen.network.words import NearTags, near, tag_key, word
from schemagen.parts.library import shipped_library
from tests.fragments import built
from tests.systems import system

HERE = Place("list", 1)


def job(parts: dict[str, str], *connections, **tables) -> JobList:
    """A list from "TAG": "kind key=value; key=value" and lists of stops; a dict at the end holds the fields."""
    lines = []
    for tag, said in parts.items():
        kind, _, fields = said.partition(" ")
        lines.append(PartLine(tag, kind, entries(dict(f.split("=") for f in fields.split("; ") if f)), HERE))
    conns = []
    for stops in connections:
        fields = stops[-1] if isinstance(stops[-1], dict) else {}
        conns.append(ConnectionLine(tuple(s for s in stops if isinstance(s, str)), entries(fields), HERE))
    return JobList("list", None, (), tuple(lines), tuple(conns), **tables)


def entries(fields: dict[str, str]) -> tuple[Entry, ...]:
    return tuple(Entry(k.strip(), v, HERE) for k, v in fields.items())


def make(parts: dict[str, str], *connections, **tables):
    return build(job(parts, *connections, **tables), shipped_library())


def names(network) -> list[str]:
    return [pipe.name for pipe in network.pipes]


def said(result) -> list[str]:
    return [finding.check for finding in result.findings]


# words


@pytest.mark.parametrize(
    ("a", "b"), [("HP1", "hp1"), ("V-101", "v 101"), ("V-101", "V101"), ("Bad 2", "bad_2"), ("R 1-1", "R1-1")]
)
def test_case_blanks_hyphens_and_underscores_do_not_part_tags(a, b):
    assert tag_key(a) == tag_key(b)


@pytest.mark.parametrize(("a", "b"), [("R1-1", "R11"), ("R 1 1", "R11"), ("P1", "P2"), ("A-B", "AB")])
def test_separators_between_digits_or_letters_keep_tags_apart(a, b):
    assert tag_key(a) != tag_key(b)


def test_a_word_is_read_with_any_blanks_and_dashes():
    assert word(" Air Heat–Pump ") == word("air_heat_pump") == "air-heat-pump"


def test_near_words_are_offered_and_far_ones_are_not():
    assert near("radiater", ["radiator", "pump"]) == "radiator"
    assert near("xyz", ["radiator", "pump"]) == ""


@given(st.text("ABC123", min_size=3, max_size=6), st.integers(0, 5), st.sampled_from("XYZ"))
def test_a_tag_with_one_letter_changed_added_or_lost_is_near(tag, at, letter):
    at %= len(tag)
    for slip in (tag[:at] + letter + tag[at + 1 :], tag[:at] + letter + tag[at:], tag[:at] + tag[at + 1 :]):
        if len(tag_key(slip)) >= 3 and len(tag_key(tag)) >= 3:
            assert NearTags([tag]).near(slip) == tag


# runs


def test_a_run_enters_by_the_inlet_and_leaves_by_the_outlet():
    result = make({"B1": "heat-only-boiler", "P1": "pump", "R1": "radiator"}, ["B1.flow", "P1", "R1", "B1.return"])
    assert names(result.network) == ["B1.flow→P1.in", "P1.out→R1.a", "R1.b→B1.return"]
    assert not result.findings


def test_a_boiler_may_stand_in_the_middle_of_a_run():
    result = make({"B1": "heat-only-boiler", "R1": "radiator"}, ["R1.b", "B1", "R1.a"])
    assert names(result.network) == ["R1.b→B1.return", "B1.flow→R1.a"]


def test_a_relief_valve_in_a_run_is_entered_by_its_inlet():
    result = make({"T1": "tee", "S1": "relief-valve", "O1": "safe-outlet"}, ["T1", "S1", "O1"])
    assert names(result.network) == ["T1.a→S1.inlet", "S1.outlet→O1.in"]


def test_openings_of_a_tee_are_taken_as_they_come_but_not_those_named_elsewhere():
    result = make(
        {"T1": "tee", "V1": "isolating-valve", "V2": "isolating-valve", "V3": "isolating-valve"},
        ["V1", "T1", "V2"],
        ["T1.b", "V3"],
    )
    assert names(result.network) == ["V1.b→T1.a", "T1.branch→V2.a", "T1.b→V3.a"]


def test_a_fourth_pipe_at_a_tee_is_a_port_used_twice():
    parts = {"T1": "tee"} | {f"V{n}": "isolating-valve" for n in range(4)}
    result = make(parts, *(["T1", f"V{n}"] for n in range(4)))
    assert said(result) == ["port-used-twice"]
    assert len(result.network.pipes) == 4


def test_a_header_grows_to_the_openings_in_use():
    parts = {"H1": "header"} | {f"V{n}": "isolating-valve" for n in range(6)}
    result = make(parts, *(["H1", f"V{n}"] for n in range(6)))
    assert list(result.network.parts["H1"].kind.ports) == ["end", *(f"branch-{n}" for n in range(1, 6))]
    assert not result.findings


def test_a_manifold_grows_to_the_highest_loop_that_is_named():
    result = make(
        {"M1": "underfloor-manifold", "L5": "underfloor-loop"},
        ["M1.loop-5-flow", "L5", "M1.loop-5-return"],
    )
    assert result.network.parts["M1"].kind.units == 5
    assert not result.findings


def test_a_loop_beyond_the_largest_manifold_is_an_unknown_end():
    result = make({"M1": "underfloor-manifold", "L1": "underfloor-loop"}, ["M1.loop-99-flow", "L1.in"])
    assert said(result) == ["unknown-end"]


def test_the_second_visit_of_a_valve_with_like_openings_takes_the_free_one():
    result = make({"V1": "isolating-valve", "A": "pump", "B": "pump"}, ["V1.a", "A.in"], ["B.out", "V1"])
    assert names(result.network) == ["V1.a→A.in", "B.out→V1.b"]


def test_a_named_opening_in_mid_run_is_entered_and_the_other_left():
    result = make({"V1": "isolating-valve", "A": "pump", "B": "pump"}, ["A.out", "V1.b", "B.in"])
    assert names(result.network) == ["A.out→V1.b", "V1.a→B.in"]


def test_a_run_cannot_go_on_through_a_part_with_several_ways():
    result = make({"D1": "diverter-valve", "A": "pump", "B": "pump"}, ["A.out", "D1.common", "B.in"])
    assert said(result) == ["unknown-end"]
    assert names(result.network) == ["A.out→D1.common"]


def test_a_part_with_several_openings_has_to_be_named_with_one():
    (finding,) = make({"C1": "vented-cylinder", "A": "pump"}, ["A.out", "C1"]).findings
    assert finding.check == "unknown-end"
    assert "C1.coil-in" in finding.cure
    assert finding.ports == ("A.out",)


def test_the_length_of_a_run_is_shared_out_among_its_pipes():
    pipes = make({"P1": "pump", "P2": "pump", "V1": "isolating-valve"}, ["P1.out", "V1", "P2.in", {"length": "6 m"}])
    assert [pipe.values["length"] for pipe in pipes.network.pipes] == [3, 3]


@pytest.mark.parametrize(("typed", "metres", "printed"), [("28", 0.028, "28 mm"), ("3/4 in", 0.01905, "3/4 in")])
def test_a_pipe_size_is_in_millimetres_unless_it_says_otherwise(typed, metres, printed):
    (pipe,) = make({"P1": "pump", "P2": "pump"}, ["P1.out", "P2.in", {"size": typed}]).network.pipes
    assert pipe.size == pytest.approx(metres)
    assert pipe.size_text == printed


# what is made on the way


def test_a_kind_on_a_run_makes_a_part_with_a_tag_that_is_free():
    kind = shipped_library().kind("isolating-valve")
    result = make({f"{kind.letter}1": "pump", "P2": "pump"}, [f"{kind.letter}1.out", "Isolating Valve", "P2.in"])
    made = [part for part in result.network.parts.values() if part.made]
    assert [(part.tag, part.kind.name) for part in made] == [(f"{kind.letter}2", "isolating-valve")]


def test_a_made_part_stands_in_the_place_of_both_its_neighbours():
    result = make({"P1": "pump place=Attic", "P2": "pump place=Attic"}, ["P1.out", "flexible-hose", "P2.in"])
    assert [part.place for part in result.network.parts.values() if part.made] == ["Attic"]


def test_parts_hung_at_an_opening_stand_on_tees_the_first_nearest_to_it():
    parts = {"P1": "pump", "P2": "pump", "G1": "pressure-gauge at=P1.out", "G2": "air-vent at=P1.out"}
    network = make(parts, ["P1.out", "P2.in"]).network
    assert tees_from(network, PortId("P1", "out")) == ["G1", "G2"]


def test_parts_hung_at_the_far_end_stand_the_first_nearest_to_that_end():
    parts = {"P1": "pump", "P2": "pump", "G1": "pressure-gauge at=P2.in", "G2": "air-vent at=P2.in"}
    network = make(parts, ["P1.out", "P2.in"]).network
    assert tees_from(network, PortId("P1", "out")) == ["G2", "G1"]


def tees_from(network, port: PortId) -> list[str]:
    """What hangs on the made tees, walking along the run from a port."""
    found = []
    while True:
        far = network.far_end(network.pipes_at[port][0], port)
        if not network.parts[far.tag].made:
            return found
        branch = PortId(far.tag, "branch")
        found.append(network.far_end(network.pipes_at[branch][0], branch).tag)
        port = PortId(far.tag, "b" if far.port == "a" else "a")


def test_a_part_hung_at_an_opening_without_a_pipe_is_joined_to_it():
    result = make({"U1": "low-loss-header", "V1": "air-vent at=U1.vent"})
    assert names(result.network) == ["U1.vent→V1.port"]


def test_hanging_on_a_hung_part_works_in_either_order():
    parts = {"P1": "pump", "P2": "pump", "G2": "pressure-gauge at=V1.a", "V1": "drain-cock at=P1.out"}
    result = make(parts, ["P1.out", "P2.in"])
    assert said(result) == ["unknown-end"], "a drain cock has no opening a"
    parts["G2"] = "pressure-gauge at=V1.port"
    result = make(parts, ["P1.out", "P2.in"])
    assert not result.findings
    assert len(result.network.pipes) == 5


def test_a_part_with_more_than_one_opening_cannot_hang():
    assert said(make({"P1": "pump", "R1": "radiator at=P1.out"})) == ["unknown-end"]


def test_the_length_stays_with_the_long_piece_when_something_hangs_at_an_end():
    parts = {"P1": "pump", "P2": "pump", "G1": "pressure-gauge at=P1.out"}
    pipes = make(parts, ["P1.out", "P2.in", {"length": "4 m"}]).network.pipes
    assert [pipe.values.get("length") for pipe in pipes] == [None, 4, None]


# what is wrong becomes a finding


def test_every_fault_of_a_list_is_found_at_once_and_the_sound_rest_is_built():
    result = make(
        {"B1": "system-boiler output=12 kg", "b-1": "pump", "R1": "radiater", "P1": "pump speeed=3"},
        ["B1.flow", "P1.in"],
        ["P1.out", "R1.a"],
        ["P1.outt", "B1.return"],
        ["P9", "B1.flow"],
    )
    assert sorted(said(result)) == sorted(
        ["duplicate-tag", "unknown-word", "value-suspect", "unknown-word", "unknown-end", "unknown-end"]
    )
    assert names(result.network) == ["B1.flow→P1.in"]


def test_a_pipe_to_a_part_of_unknown_kind_is_told_once_with_its_other_end():
    (finding,) = make({"R1": "radiater", "P1": "pump"}, ["P1.out", "R1.a"]).findings
    assert finding.cure == "write kind: radiator"
    assert finding.ports == ("P1.out",)


def test_a_near_miss_is_named_and_never_taken():
    result = make({"Boiler": "system-boiler", "R1": "radiator"}, ["Boilr.flow", "R1.a"], ["R1.b", "Boiler.retrun"])
    assert [("Boiler" in f.message + f.cure) for f in result.findings] == [True, True]
    assert not result.network.pipes


@pytest.mark.parametrize(
    ("fields", "check"),
    [
        ("output=12 litres", "value-suspect"),
        ("output=nan", "value-suspect"),
        ("overrun=perhaps", "unknown-word"),
        ("fuel=cola", "unknown-word"),
        ("colour=red", "unknown-word"),
        ("capped=[nothing]", "unknown-end"),
        ("at=Q1.flow", "unknown-end"),
    ],
)
def test_a_wrong_value_names_its_field_and_what_to_write(fields, check):
    findings = make({"B1": f"system-boiler {fields}"}).findings
    assert [f.check for f in findings] == [check]
    assert findings[0].cure and findings[0].place == HERE


def test_a_pipe_listed_twice_and_a_pipe_back_to_itself_are_told_and_dropped():
    result = make({"P1": "pump", "P2": "pump"}, ["P1.out", "P2.in"], ["P2.in", "P1.out"], ["P2.out", "P2.out"])
    assert said(result) == ["port-used-twice", "port-used-twice"]
    assert names(result.network) == ["P1.out→P2.in"]


def test_controls_that_name_no_part_break_the_control_list():
    assert said(make({"RT1": "room-thermostat switches=P1, P7", "P1": "pump"})) == ["control-list-broken"]


def test_two_words_for_what_a_control_acts_on_mean_the_same():
    network = make({"RT1": "room-thermostat acts-on=p1; switches=Z1", "P1": "pump", "Z1": "zone-valve"}).network
    assert network.parts["RT1"].value("switches") == ("Z1", "P1")
    assert network.switched_by["P1"] == ("RT1",)


def test_a_state_asks_only_for_positions_that_there_are():
    rows = tuple(Row("s", entries(fields), HERE) for fields in ({"D1": "open"}, {"positions": "d1: a, P1: on"}))
    result = make({"D1": "diverter-valve", "P1": "pump"}, states=rows)
    assert said(result) == ["control-list-broken"]
    assert result.network.named_states[1].positions == {"D1": "a", "P1": "on"}


def test_a_kind_takes_the_form_that_its_fields_give_it():
    network = make({"K1": "disconnecting-preventer type=BA", "K2": "disconnecting-preventer"}).network
    assert [network.parts[tag].kind.protects for tag in ("K1", "K2")] == [4, 3]


def test_capped_yes_means_every_opening_that_may_be_capped():
    part = make({"B1": "system-boiler capped=yes"}).network.parts["B1"]
    assert part.capped == ("relief-outlet", "condensate")


TAGS = ["B1", "P1", "T1", "R1", "D1", "H1", "X9", "radiator", "tee"]
STOPS = st.sampled_from(
    [t + e for t in TAGS for e in ("", ".flow", ".a", ".b", ".in", ".out", ".nowhere", ".end", ".common")]
)


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.lists(STOPS, min_size=1, max_size=5), max_size=8),
    st.sampled_from(TAGS + ["P1.out", "B1.flow", "G1", ""]),
)
def test_building_never_fails_and_every_pipe_ends_at_openings_that_there_are(runs, at):
    parts = {"B1": "system-boiler", "P1": "pump", "T1": "tee", "R1": "radiator", "D1": "diverter-valve", "H1": "header"}
    result = make(parts | {"G1": f"pressure-gauge at={at}"}, *runs)
    for pipe in result.network.pipes:
        for end in (pipe.start, pipe.end):
            assert end.port in result.network.parts[end.tag].kind.ports
    twice = [port for port, pipes in result.network.pipes_at.items() if len(pipes) > 1]
    assert bool(twice) <= ("port-used-twice" in said(result))
    assert all(finding.message and finding.cure for finding in result.findings)


# groups and bridges against networkx


def random_graph(seed: int) -> tuple[int, list[tuple[int, int]]]:
    dice = random.Random(seed)
    nodes = dice.randint(2, 14)
    edges = [(dice.randrange(nodes), dice.randrange(nodes)) for _ in range(dice.randint(0, 2 * nodes))]
    return nodes, edges


@pytest.mark.parametrize("seed", range(60))
def test_groups_are_the_connected_components(seed):
    nodes, edges = random_graph(seed)
    groups = Groups(range(nodes))
    for a, b in edges:
        groups.join(a, b)
    graph = nx.Graph(edges)
    graph.add_nodes_from(range(nodes))
    assert {frozenset(g) for g in groups.numbered()[1]} == {frozenset(c) for c in nx.connected_components(graph)}


@pytest.mark.parametrize("seed", range(60))
def test_bridges_are_the_links_whose_removal_parts_their_ends(seed):
    nodes, edges = random_graph(seed)
    for e, (found, (a, b)) in enumerate(zip(bridges(nodes, edges), edges, strict=True)):
        rest = nx.MultiGraph(edges[:e] + edges[e + 1 :])
        rest.add_nodes_from(range(nodes))
        assert found == (not nx.has_path(rest, a, b))


# reach against brute force


RING = """
parts: heat-only-boiler B1; tee T1; tee T2; pump P1; pump P2; check-valve K1; check-valve K2; radiator R1;
    relief-valve S1; safe-outlet O1; zone-valve Z1; strainer F1
pipes: B1.flow - T1.a; T1.b - P1.in; T1.branch - P2.in; P1.out - K1.in; P2.out - K2.in; K1.out - T2.a;
    K2.out - T2.branch; T2.b - Z1.in; Z1.out - R1.a; R1.b - F1.in; F1.out - B1.return; O1.in - S1.outlet
"""


def simple_ways(network, start: PortId, allowed) -> set[PortId]:
    """Brute force: every port at the end of a simple path of allowed steps, found by walking all of them."""
    found: set[PortId] = set()

    def walk(port, seen):
        found.add(port)
        steps = [network.far_end(p, port) for p in network.pipes_at.get(port, ())]
        for passage in network.parts[port.tag].kind.passages:
            for a, b, forward in ((passage.a, passage.b, True), (passage.b, passage.a, False)):
                if a == port.port and b != "outside" and allowed(port.tag, passage, forward):
                    steps.append(PortId(port.tag, b))
        for other in steps:
            if other not in seen:
                walk(other, seen | {other})

    walk(start, {start})
    return found


def is_relief(network, tag):
    return network.parts[tag].kind.name == "relief-valve"


def test_wet_reach_ignores_direction_and_stops_at_relief_valves_and_heat_links():
    network = built(RING).network
    reach = Reach(network)

    def allowed(tag, passage, forward):
        return passage.sort in ("both", "one-way") and not is_relief(network, tag)

    for port in (PortId("B1", "flow"), PortId("R1", "a"), PortId("S1", "inlet"), PortId("O1", "in")):
        assert reach.wet(port) == simple_ways(network, port, allowed)


@pytest.mark.parametrize("start", ["B1.flow", "B1.return", "R1.a", "P1.out", "K1.in"])
def test_downstream_goes_through_one_way_parts_and_pumps_only_forwards(start):
    network = built(RING).network
    tag, port = start.split(".")

    def allowed(at, passage, forward):
        if at == "B1" or is_relief(network, at) or passage.sort not in ("both", "one-way"):
            return False
        pump = network.parts[at].kind.driver == "pump"
        return (
            forward
            and not (pump and passage.positions == ("off",))
            or not forward
            and passage.sort == "both"
            and not pump
        )

    expected = simple_ways(network, PortId(tag, port), allowed)
    assert Reach(network).downstream(PortId(tag, port), without=("B1",)) == expected


def test_in_a_state_a_shut_valve_ends_the_reach():
    network = built(RING).network
    reach = Reach(network)
    shut = reach.in_state(PortId("Z1", "out"), {"Z1": "shut"})
    assert PortId("Z1", "in") in shut, "the other way round the ring is open"
    assert reach.downstream(PortId("T2", "b"), {"Z1": "shut"}, without=("T2",)) == {
        PortId("T2", "b"),
        PortId("Z1", "in"),
    }


def test_fixed_reach_stops_at_valves_pumps_filters_and_takers_unless_told():
    reach = Reach(built(RING).network)
    body = reach.fixed(PortId("B1", "flow")) | reach.fixed(PortId("B1", "return"))
    assert {"B1", "T1"} <= {p.tag for p in body}
    assert PortId("P1", "in") in body and PortId("P1", "out") not in body
    assert PortId("F1", "out") in body and PortId("F1", "in") not in body
    past_pumps = reach.fixed(PortId("B1", "flow"), pumps=True) | reach.fixed(PortId("B1", "return"), pumps=True)
    assert PortId("P1", "out") in past_pumps
    assert PortId("R1", "a") not in reach.fixed(PortId("R1", "b"))
    assert PortId("R1", "a") in reach.fixed(PortId("R1", "b"), takers=True)


def test_a_hand_valve_locked_open_is_fixed_and_a_plain_one_is_not():
    text = "parts: isolating-valve V1{}; pump P1; pump P2\npipes: P1.out - V1.a; V1.b - P2.in"
    for lock, passed in (("", False), (" locked: open", True)):
        reach = Reach(built(text.format(lock)).network)
        assert (PortId("P2", "in") in reach.fixed(PortId("P1", "out"))) == passed


def test_the_chain_holds_exactly_the_parts_without_which_there_is_no_way():
    network = built(RING).network
    reach = Reach(network)
    start, end = PortId("B1", "flow"), PortId("B1", "return")
    chain = reach.chain(start, end)
    needed = set()
    for tag in network.parts:
        if tag != "B1" and end not in reach.downstream(start, without=("B1", tag)):
            needed.add(tag)
    through_body = {"B1"}
    assert set(chain) <= needed | through_body
    assert reach.chain(PortId("T2", "b"), PortId("F1", "in")) == ("T2", "Z1", "R1", "F1")
    assert reach.chain(PortId("O1", "in"), PortId("B1", "flow")) == ()


def test_a_shortest_way_is_a_way_and_is_as_short_as_networkx_finds():
    network = built(RING).network
    reach = Reach(network)
    flow = nx.DiGraph()
    for port in network.ports():
        ways = [w.to for w in reach.ways[port] if w.forward and w.positions != ("off",)] if port.tag != "B1" else []
        flow.add_edges_from((port, other) for other in (*reach.piped_to[port], *ways))
    for a, b in itertools.permutations(
        [PortId("B1", "flow"), PortId("R1", "a"), PortId("Z1", "in"), PortId("F1", "out")], 2
    ):
        path = reach.path(a, b, without=("B1",))
        assert bool(path) == nx.has_path(flow, a, b)
        if path:
            assert len(path) == nx.shortest_path_length(flow, a, b) + 1
            assert all(flow.has_edge(x, y) for x, y in itertools.pairwise(path))


COLD = """
parts: cold-main M1; tee T1; cold-outlet O1; double-check-valve K1; filling-loop L1; tee T2;
    system-boiler B1; radiator R1; feed-and-expansion-cistern C1; heat-only-boiler B2; tee T3; radiator R2;
    open-vent-end A1; tee T4
pipes: M1.out - T1.a; T1.branch - O1.in; T1.b - K1.in; K1.out - L1.supply-end; L1.system-end - T2.branch;
    B1.flow - R1.a; R1.b - T2.a; T2.b - B1.return; B2.flow - T4.a; T4.branch - A1.port; T4.b - R2.a;
    R2.b - T3.a; C1.cold-feed - T3.branch; T3.b - B2.return
"""


def test_pressure_sections_end_where_the_pressure_is_broken():
    reach = Reach(built(COLD).network)
    main, sealed, vented = (reach.section(PortId(*p)) for p in (("M1", "out"), ("B1", "flow"), ("B2", "flow")))
    assert len({main.number, sealed.number, vented.number}) == 3
    assert main.supply and not main.open
    assert not sealed.open and not sealed.supply
    assert vented.open
    assert "K1" in main.tags and "L1" in sealed.tags
    assert reach.same_water(PortId("M1", "out"), PortId("B1", "flow")), "through the filling loop they share water"


@pytest.mark.parametrize("seed", range(4))
def test_upstream_is_downstream_seen_from_the_other_end(seed):
    network, _ = system(seed, 12)
    reach = Reach(network)
    positions = {tag: part.kind.rest for tag, part in network.parts.items() if part.kind.rest}
    ports = list(network.ports())
    for end in ports[:: max(1, len(ports) // 12)]:
        expected = {port for port in ports if end in reach.downstream(port, positions)}
        assert reach.upstream_of_all([end], positions) == expected
