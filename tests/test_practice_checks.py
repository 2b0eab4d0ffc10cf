"""Service, controls and data: what each check says of small lists, beyond the lists on its page."""

from dataclasses import replace

import pytest

from schemagen.base.place import Place
from schemagen.joblist.joblist import Entry
from schemagen.parts.library import shipped_library
from schemagen.pipeline import Job
from tests.fragments import job

RADIATOR = "parts: system-boiler B1; radiator R1; {}\npipes: B1.flow - R1.a; R1.b - B1.return"


def findings(text: str, check: str):
    report = Job(job(text), shipped_library()).report
    every = [*report.findings, *(f.finding for f in report.folded)]
    return [f for f in every if f.check == check]


def severities(text: str, check: str) -> list[str]:
    return [f.severity for f in findings(text, check)]


def zone(control: str, valves: str = "") -> str:
    return f"parts: system-boiler B1; zone-valve Z1; radiator R1; {control}{valves}\n" \
        "pipes: B1.flow - Z1.in; Z1.out - R1.a; R1.b - B1.return"  # fmt: skip


# controls


def test_a_zone_valve_on_a_time_switch_has_no_thermostat():
    assert severities(zone("programmer Y1 acts-on: Z1"), "zone-no-thermostat") == ["warning"]


@pytest.mark.parametrize(
    "control",
    [
        "room-thermostat X1 acts-on: Z1",
        "temperature-sensor X1 acts-on: K1; controller K1 acts-on: Z1",
        "room-thermostat X1 acts-on: B1; programmer Y1 acts-on: Z1",
        "outdoor-sensor X1 acts-on: B1; programmer Y1 acts-on: Z1",
    ],
)
def test_a_zone_is_told_that_it_is_warm_by_any_route(control):
    assert findings(zone(control), "zone-no-thermostat") == []


def test_the_thermostat_of_another_zone_does_not_speak_for_a_zone():
    text = (
        "parts: system-boiler B1; tee T1; tee T2; zone-valve Z1; zone-valve Z2; radiator R1; radiator R2; "
        "room-thermostat X1 acts-on: Z1, B1; programmer Y1 acts-on: Z2\n"
        "pipes: B1.flow - T1.a; T1.b - Z1.in; T1.branch - Z2.in; Z1.out - R1.a; Z2.out - R2.a; R1.b - T2.a; "
        "R2.b - T2.branch; T2.b - B1.return"
    )
    assert [f.parts for f in findings(text, "zone-no-thermostat")] == [("Z2",)]


def test_a_motor_valve_without_a_wire_is_an_error_and_a_pump_a_warning():
    text = (
        "parts: system-boiler B1 built-in: pump, control; zone-valve Z1; pump P1; radiator R1\n"
        "pipes: B1.flow - Z1.in; Z1.out - P1.in; P1.out - R1.a; R1.b - B1.return"
    )
    assert [(f.parts, f.severity) for f in findings(text, "valve-no-controller")] == [
        (("Z1",), "error"),
        (("P1",), "warning"),
    ]


def test_a_self_acting_mixing_valve_needs_no_controller():
    text = (
        "parts: heating-mixing-valve M1 type: thermostatic; pump P1; tee T1\n"
        "pipes: M1.mixed - P1.in; T1.branch - M1.cold"
    )
    assert [f.parts for f in findings(text, "valve-no-controller")] == [("P1",)]


def test_a_thermostat_that_opens_a_valve_and_starts_nothing_is_told():
    text = (
        "parts: system-boiler B1; tee T1; tee T2; zone-valve Z1; zone-valve Z2; radiator R1; vented-cylinder C1; "
        "room-thermostat X1 acts-on: Z1; cylinder-thermostat X2 on C1 acts-on: Z2, B1\n"
        "pipes: B1.flow - T1.a; T1.b - Z1.in; T1.branch - Z2.in; Z1.out - R1.a; Z2.out - C1.coil-in; R1.b - T2.a; "
        "C1.coil-out - T2.branch; T2.b - B1.return"
    )
    assert [f.parts for f in findings(text, "valve-no-controller")] == [("X1", "Z1")]
    assert findings(text.replace("acts-on: Z1;", "acts-on: Z1, B1;"), "valve-no-controller") == []


def test_a_boiler_on_a_timer_is_an_error_in_the_united_kingdom_and_a_warning_elsewhere():
    here = job(RADIATOR.format("programmer Y1 acts-on: B1"))
    lists = [here, replace(here, sheet=(Entry("region", "Austria", Place("test")),))]
    said = [[f.severity for f in Job(one, shipped_library()).findings if f.check == "no-interlock"] for one in lists]
    assert said == [["error"], ["warning"]]


def test_a_controller_whose_sensors_are_not_listed_cannot_be_judged():
    report = Job(job(RADIATOR.format("controller K1 acts-on: B1")), shipped_library()).report
    assert [n.parts for n in report.not_assessed if n.check == "no-interlock"] == [("B1",)]
    assert [f for f in report.findings if f.check == "no-interlock"] == []


def test_the_sensor_of_a_header_is_a_call():
    text = (
        "parts: system-boiler B1; low-loss-header H1; pump P1; radiator R1; temperature-sensor X1 on H1 acts-on: B1\n"
        "pipes: B1.flow - H1.primary-flow; H1.primary-return - B1.return; H1.secondary-flow - P1.in; P1.out - R1.a; "
        "R1.b - H1.secondary-return"
    )
    assert findings(text, "no-interlock") == []


def cylinder(control: str) -> str:
    return f"parts: system-boiler B1; zone-valve Z1; vented-cylinder C1; vented-cylinder C2; {control}\n" \
        "pipes: B1.flow - Z1.in; Z1.out - C1.coil-in; C1.coil-out - B1.return"  # fmt: skip


@pytest.mark.parametrize("acts", ["Z1", "B1", "K1; controller K1 acts-on: Z1"])
def test_a_thermostat_that_ends_the_heat_by_any_route_is_enough(acts):
    assert findings(cylinder(f"cylinder-thermostat X1 on C1 acts-on: {acts}"), "store-no-thermostat") == []


def test_a_thermostat_on_another_store_ends_nothing():
    text = cylinder("cylinder-thermostat X1 on C2 acts-on: Z1")
    assert [f.parts for f in findings(text, "store-no-thermostat")] == [("C1",)]
    assert severities(text, "sensor-misplaced") == ["warning"]


def test_a_cut_out_on_another_store_is_an_error():
    text = cylinder("cylinder-thermostat X1 on C1 acts-on: Z1; cut-out-thermostat X2 on C2 acts-on: Z1")
    assert severities(text, "sensor-misplaced") == ["error"]


def test_a_buffer_asks_for_no_thermostat():
    text = "parts: system-boiler B1; buffer-two-pipe U1\npipes: B1.flow - U1.top; U1.bottom - B1.return"
    assert findings(text, "store-no-thermostat") == []


def test_a_store_thermostat_belongs_on_a_store():
    assert severities(cylinder("cylinder-thermostat X1 on B1 acts-on: Z1"), "sensor-misplaced") == ["warning"]


def test_a_solar_controller_needs_a_sensor_at_the_collector_and_one_at_the_store():
    text = (
        "parts: solar-collector S1; pump P1; vented-cylinder C1; controller K1 acts-on: P1; "
        "temperature-sensor X1 on S1 acts-on: K1; {}\n"
        "pipes: S1.out - C1.coil-in; C1.coil-out - P1.in; P1.out - S1.in"
    )
    assert severities(text.format(""), "sensor-misplaced") == ["warning"]
    assert findings(text.format("temperature-sensor X2 on C1 acts-on: K1"), "sensor-misplaced") == []


def floor(boiler: str, limit: str) -> str:
    return f"parts: {boiler} B1; heating-mixing-valve M1; pump P1; underfloor-loop U1; tee T1; {limit}\n" \
        "pipes: B1.flow - M1.hot; M1.mixed - P1.in; P1.out - U1.in; U1.out - T1.a; T1.branch - M1.cold; " \
        "T1.b - B1.return"  # fmt: skip


def test_a_mixing_valve_without_a_limit_thermostat_leaves_the_floor_in_danger():
    assert severities(floor("system-boiler", ""), "floor-too-hot") == ["error"]


def test_a_limit_thermostat_between_valve_and_floor_guards_it():
    assert findings(floor("system-boiler", "pipe-thermostat X1 on U1.in acts-on: P1"), "floor-too-hot") == []


def test_a_limit_thermostat_that_stops_nothing_guards_nothing():
    text = floor("system-boiler", "radiator R9; pump P9; pipe-thermostat X1 on U1.in acts-on: P9")
    assert severities(text, "floor-too-hot") == ["error"]


def test_a_floor_off_a_source_that_is_never_hot_is_advised_to_have_a_limit():
    text = "parts: air-heat-pump H1 max-flow: 50 °C; underfloor-loop U1\npipes: H1.flow - U1.in; U1.out - H1.return"
    assert severities(text, "floor-too-hot") == ["advice"]


# service


def test_a_gravity_circuit_and_a_heat_leak_are_not_to_be_throttled():
    text = (
        "parts: solid-fuel-stove S1; tee T1; tee T2; heat-leak-radiator L1; vented-cylinder C1 gravity: yes\n"
        "pipes: S1.flow - T1.a; T1.b - L1.a; T1.branch - C1.coil-in; L1.b - T2.a; C1.coil-out - T2.branch; "
        "T2.b - S1.return"
    )
    assert findings(text, "branches-unbalanced") == []


def test_a_check_valve_listed_against_its_arrow_is_an_error():
    text = (
        "parts: system-boiler B1; check-valve K1; radiator R1\n"
        "pipes: B1.flow - R1.a; R1.b - K1.out; K1.in - B1.return"
    )
    assert severities(text, "arrow-against-flow") == ["error"]


@pytest.mark.parametrize(("before", "found"), [("", ["warning"]), ("isolating-valve", [])])
def test_the_cold_main_begins_with_a_stop_valve(before, found):
    pipes = "M1.out - V1.a; V1.b - T1.a" if before else "M1.out - T1.a"
    valve = f"; {before} V1; drain-cock D1" if before else ""
    text = f"parts: cold-main M1; tee T1; tee T2; cold-outlet O1{valve}\npipes: {pipes}; T1.b - O1.in; " + (
        "T1.branch - D1.port" if before else "T1.branch - T2.a"
    )
    assert severities(text, "supply-no-service-valves") == found


def test_a_cistern_needs_a_valve_before_its_float_valve():
    text = "parts: cold-main M1; isolating-valve V1; tee T1; cold-outlet O1; cold-water-cistern C1\n" \
        "pipes: M1.out - V1.a; V1.b - T1.a; T1.b - O1.in; T1.branch - C1.supply"  # fmt: skip
    assert ("C1",) in [f.parts for f in findings(text, "supply-no-service-valves")]


def test_water_that_can_go_round_a_meter_is_told_and_a_bypass_beyond_it_is_not():
    text = (
        "parts: heat-only-boiler B1; tee T1; tee T2; heat-meter Q1 measures: B1; radiator R1; radiator R2\n"
        "pipes: B1.flow - T1.a; T1.b - R1.a; T1.branch - R2.a; {}"
    )
    beside = "R1.b - Q1.in; Q1.out - T2.a; R2.b - T2.branch; T2.b - B1.return"
    common = "R1.b - T2.a; R2.b - T2.branch; T2.b - Q1.in; Q1.out - B1.return"
    assert severities(text.format(beside), "meter-misses-flow") == ["warning"]
    assert findings(text.format(common), "meter-misses-flow") == []


# data


@pytest.mark.parametrize(("size", "found"), [("12 mm", ["warning"]), ("15 mm", []), ("1/2 in", [])])
def test_the_pipe_of_a_vessel_is_15_mm_or_more(size, found):
    text = f"parts: expansion-vessel E1; tee T1\npipes: T1.branch - E1.port {size}"
    assert severities(text, "size-drops-in-main") == found


def test_a_thin_piece_with_a_note_is_meant():
    text = "parts: pump P1 size: 28 mm; radiator R1\npipes: P1.out - R1.a 22 mm"
    assert severities(text, "size-drops-in-main") == ["warning"]


# idle pumps


_SHARED = """
parts: heat-only-boiler B1; tee T1; tee T2; pump P1; pump P2; pump P3; radiator R1; radiator R2
pipes: B1.flow - {}T1.a; T1.b - P1.in; T1.branch - P2.in; P1.out - R1.a; P2.out - R2.a; R1.b - T2.a; R2.b - T2.branch;
    T2.b - B1.return
state: zone-1 = B1 on, {}, P2 off
"""


def test_a_check_valve_is_the_cure_where_water_runs_backwards_through_an_idle_pump():
    text = _SHARED.replace("pump P3; ", "").format("", "P1 on")
    cures = [f.cure for f in findings(text, "backward-through-idle-branch")]
    assert cures == ["put a check valve into the branch of P2, pointing along its flow"]


def test_no_check_valve_is_asked_for_where_water_runs_forwards_through_an_idle_pump():
    text = _SHARED.format("P3.in; P3.out - ", "P3 on, P1 off")
    cures = [f.cure for f in findings(text, "backward-through-idle-branch")]
    assert cures and all("zone valve" in cure and cure.endswith("no check valve holds it") for cure in cures)


DIVERTED = (
    "parts: system-boiler B1; diverter-valve DV1; vented-cylinder C1; radiator R1; tee T1; "
    "room-thermostat X1 acts-on: B1; cut-out-thermostat X2 on: C1 acts-on: DV1, B1{}\n"
    "pipes: B1.flow - DV1.common; DV1.a - C1.coil-in; DV1.b - R1.a; C1.coil-out - T1.a; R1.b - T1.branch; "
    "T1.b - B1.return"
)


def test_a_cut_out_alone_does_not_turn_a_diverter():
    told = [f.message for f in findings(DIVERTED.format(""), "valve-no-controller")]
    assert told == ["nothing turns DV1: X2 only cuts the heat off"]
    both = DIVERTED.format("; cylinder-thermostat X3 on: C1 acts-on: DV1, B1")
    assert findings(both, "valve-no-controller") == []


# a circulation that comes home to the cold inlet of its store


HOME = (
    "parts: cold-main M1; {check} K1; tee T1; {store} S1; tee T2; hot-outlet O1; wholesome-circulating-pump P1; "
    "check-valve K2\n"
    "pipes: {cold}; T1.b - S1.cold-in; S1.hot-out - T2.a; T2.b - O1.in; T2.branch - P1.in; "
    "P1.out - K2.in; K2.out - T1.branch"
)
GUARDED, OPEN = "M1.out - K1.in; K1.out - T1.a", "M1.out - K1.a; K1.b - T1.a"
INLETS = ("medium-mismatch", "circulation-misjoined", "circulation-no-check-valve")


@pytest.mark.parametrize("store", ["thermal-store", "indirect-unvented-cylinder", "vented-cylinder"])
def test_a_circulation_may_join_the_cold_inlet_between_its_check_valve_and_the_store(store):
    text = HOME.format(check="check-valve", store=store, cold=GUARDED)
    assert [f.message for check in INLETS for f in findings(text, check)] == []


@pytest.mark.parametrize("store", ["thermal-store", "indirect-unvented-cylinder"])
def test_a_circulation_joined_to_a_cold_feed_without_a_check_valve_sends_hot_water_into_the_cold(store):
    text = HOME.format(check="isolating-valve", store=store, cold=OPEN)
    assert severities(text, "medium-mismatch") == ["error"]


EXCHANGER = (
    "parts: system-boiler B1; plate-heat-exchanger X1; {}\n"
    "pipes: B1.flow - X1.left-top; X1.left-bottom - B1.return; {}"
)
TAP_SIDE = (
    "cold-main M1; double-check-valve K1; double-check-valve K2; hot-outlet O1",
    "M1.out - K1.in; K1.out - X1.right-bottom; X1.right-top - K2.in; K2.out - O1.in",
)
POOL = (
    "swimming-pool W1; pump P1",
    "X1.right-top - P1.in; P1.out - W1.in; W1.out - X1.right-bottom",
)
HEATING = ("pump P1; radiator R1", "X1.right-top - P1.in; P1.out - R1.a; R1.b - X1.right-bottom")


@pytest.mark.parametrize(
    ("side", "circuits"), [(TAP_SIDE, ["B1"]), (POOL, ["B1"]), (HEATING, ["B1", "X1"])], ids=["taps", "pool", "heating"]
)
def test_only_the_sides_of_an_exchanger_that_are_closed_circuits_are_drained_and_vented_as_such(side, circuits):
    told = [f.message for f in findings(EXCHANGER.format(*side), "no-drain-point")]
    assert told == [f"the circuit of {tag} has no drain" for tag in circuits]
    assert {f.parts for f in findings(EXCHANGER.format(*side), "no-vent-at-high-point")} <= {(t,) for t in circuits}


def test_a_pool_exchanger_beside_a_buffer_does_not_heat_the_return_that_it_shares_with_it():
    text = (
        "parts: system-boiler B1; tee T1; tee T2; pump P1; plate-heat-exchanger X1; buffer-four-pipe U1; pump P2; "
        "radiator R1; swimming-pool W1; pump P3\n"
        "pipes: B1.flow - T1.a; T1.b - U1.primary-flow; T1.branch - P1.in; P1.out - X1.left-top; "
        "X1.left-bottom - T2.branch; U1.primary-return - T2.a; T2.b - B1.return; U1.secondary-flow - P2.in; "
        "P2.out - R1.a; R1.b - U1.secondary-return; W1.out - P3.in; P3.out - X1.right-bottom; X1.right-top - W1.in"
    )
    assert findings(text, "separator-crossed") == []
    swapped = text.replace("T1.b - U1.primary-flow", "T1.b - U1.secondary-flow")
    swapped = swapped.replace("U1.secondary-flow - P2.in", "U1.primary-flow - P2.in")
    assert len(findings(swapped, "separator-crossed")) == 1
