"""Sealed and vented circuits, fires and the sun: what each check says of small lists, beyond the lists on its page."""

import pytest

from schemagen.checks.facts import Facts
from schemagen.checks.heated_circuits import heated_circuits
from schemagen.checks.sealed_and_vented.pressure_figures_wrong import water_growth
from schemagen.joblist.read import read_text
from schemagen.network.waters import find_waters
from schemagen.parts.library import shipped_library
from schemagen.pipeline import Job, job_of
from schemagen.sizing.water import water_density_kgm3
from tests.fragments import built, job


def listed(parts: str, *runs: str, extra: str = "") -> str:
    """A YAML list: parts as "TAG: {kind: …}" lines, runs as they are written between brackets."""
    lines = "\n".join(f"  {line.strip()}" for line in parts.strip().splitlines())
    connections = "\n".join(f"  - {run if run.startswith('{') else f'[{run}]'}" for run in runs)
    return f"parts:\n{lines}\nconnections:\n{connections}\n{extra}"


def findings(text: str, check: str):
    report = job_of(read_text(text, "yaml")).report
    every = [*report.findings, *(f.finding for f in report.folded)]
    return [f for f in every if f.check == check]


def severities(text: str, check: str) -> list[str]:
    return [f.severity for f in findings(text, check)]


def needs(text: str, check: str) -> list[str]:
    return [n.needs for n in job_of(read_text(text, "yaml")).report.not_assessed if n.check == check]


def partial(text: str, check: str):
    """Findings of a fragment, whose other openings are finished elsewhere."""
    report = Job(job(text), shipped_library()).report
    return [f for f in (*report.findings, *(f.finding for f in report.folded)) if f.check == check]


# expansion, relief, gauge

BRINE = """
    G1: {kind: ground-loop}
    H1: {kind: ground-heat-pump, built-in: [pump, brine-pump, vessel, relief, gauge, fill], capped: [flow, return]}
    E1: {kind: expansion-vessel, at: G1.out}
    S1: {kind: relief-valve, setting: 3 bar, at: G1.out}
    O1: {kind: collecting-container}
    M1: {kind: pressure-gauge, at: G1.out}
    F1: {kind: fill-valve, at: G1.out}
"""
BRINE_RUNS = ("G1.out, H1.brine-in", "H1.brine-out, G1.in")


def without(parts: str, tag: str) -> str:
    return "".join(f"{line}\n" for line in parts.splitlines() if not line.strip().startswith(f"{tag}:"))


@pytest.mark.parametrize(
    ("gone", "check"),
    [("E1", "no-expansion"), ("S1", "no-relief-valve"), ("M1", "no-gauge-or-filling-point")],
)
def test_a_brine_circuit_needs_vessel_relief_valve_and_gauge(gone, check):
    whole = listed(BRINE, *BRINE_RUNS, "S1.outlet, O1.in")
    assert findings(whole, check) == []
    discharge = () if gone == "S1" else ("S1.outlet, O1.in",)
    parts = without(without(BRINE, gone), "O1") if gone == "S1" else without(BRINE, gone)
    assert [f.parts for f in findings(listed(parts, *BRINE_RUNS, *discharge), check)] == [("G1",)]


def test_a_ground_loop_never_gets_hot_and_may_be_shut_off_from_relief_valve_and_vessel():
    valved = (
        BRINE.replace("at: G1.out", "at: H1.brine-in")
        + "    V1: {kind: isolating-valve}\n    V2: {kind: isolating-valve}"
    )
    text = listed(valved, "G1.out, V1, H1.brine-in", "H1.brine-out, V2, G1.in", "S1.outlet, O1.in")
    for check in ("relief-valve-isolated", "vessel-isolated", "heat-trapped-between-valves"):
        assert findings(text, check) == []


def test_the_far_side_of_a_plate_exchanger_is_a_circuit_of_its_own():
    text = listed(
        """
        B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
        X1: {kind: plate-heat-exchanger}
        P1: {kind: pump}
        R1: {kind: radiator}
        """,
        "B1.flow, X1.left-top", "X1.left-bottom, B1.return", "X1.right-top, P1, R1, X1.right-bottom",
    )  # fmt: skip
    assert [f.parts for f in findings(text, "no-expansion")] == [("X1",)]
    assert [f.parts for f in findings(text, "no-relief-valve")] == [("X1",)]


def test_an_immersion_heater_in_a_buffer_asks_for_a_relief_valve_but_not_one_in_a_cylinder():
    buffer = listed(
        "W1: {kind: buffer-two-pipe}\nI1: {kind: immersion-heater, on: W1}\nP1: {kind: pump}\nR1: {kind: radiator}",
        "W1.top, P1, R1, W1.bottom",
    )
    assert [f.parts for f in findings(buffer, "no-relief-valve")] == [("W1",)]
    cylinder = "parts: direct-unvented-cylinder C1; immersion-heater I1 on C1\npipes: (any)"
    assert partial(cylinder, "no-relief-valve") == []


def test_what_is_in_the_casing_of_a_flat_station_serves_its_own_side_only():
    text = listed(
        """
        B1: {kind: heat-only-boiler, capped: [condensate]}
        P1: {kind: pump}
        H1: {kind: heat-interface-unit, built-in: [pump, vessel, relief, gauge, fill], capped: [cold-in, hot-out]}
        R1: {kind: radiator}
        """,
        "B1.flow, P1, H1.network-flow", "H1.network-return, B1.return", "H1.flow, R1, H1.return",
    )  # fmt: skip
    for check in ("no-expansion", "no-relief-valve", "no-gauge-or-filling-point"):
        assert [f.parts for f in findings(text, check)] == [("B1",)]


BOILER = """
    B1: {kind: heat-only-boiler, capped: [condensate], output: 15 kW}
    S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
    O1: {kind: safe-outlet}
    E1: {kind: expansion-vessel, volume: 12 L, pre-charge: 1 bar, at: P1.in}
    P1: {kind: pump}
    R1: {kind: radiator}
    G1: {kind: pressure-gauge, at: P1.in}
    F1: {kind: fill-valve, at: P1.in}
"""
BOILER_RUNS = ("B1.flow, R1, P1, B1.return", "S1.outlet, O1.in")


def test_a_gauge_in_another_place_than_the_filling_point_is_advice():
    apart = BOILER.replace("gauge,", "gauge, place: Loft,").replace("fill-valve,", "fill-valve, place: Hall,")
    assert severities(listed(apart, *BOILER_RUNS), "no-gauge-or-filling-point") == ["advice"]
    together = apart.replace("place: Loft", "place: Hall")
    assert severities(listed(together, *BOILER_RUNS), "no-gauge-or-filling-point") == []


# cut off

SECOND = f"""{BOILER}
    B2: {{kind: system-boiler, capped: [relief-outlet, condensate]}}
    V1: {{kind: isolating-valve}}
    V2: {{kind: isolating-valve}}
    T1: {{kind: tee}}
    T2: {{kind: tee}}
"""


def test_each_of_two_sources_needs_a_relief_valve_inside_its_own_valves():
    second = SECOND.replace("system-boiler, capped", "system-boiler, built-in: [pump, gauge], capped")
    runs = ("B1.flow, T1, R1, T2, P1, B1.return", "B2.flow, V1, T1", "T2, V2, B2.return", "S1.outlet, O1.in")
    assert [f.parts for f in findings(listed(second, *runs), "relief-valve-isolated")] == [("B2", "V1", "S1")]
    assert severities(listed(second, *runs), "vessel-isolated") == ["warning"]
    assert findings(listed(SECOND, *runs), "relief-valve-isolated") == []


def test_a_relief_valve_in_one_boiler_does_not_guard_another_behind_a_valve():
    parts = """
        B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
        B2: {kind: heat-only-boiler, capped: [condensate]}
        V1: {kind: isolating-valve}
        V2: {kind: isolating-valve}
        P1: {kind: pump}
        T1: {kind: tee}
        T2: {kind: tee}
        R1: {kind: radiator}
    """
    runs = ("B1.flow, T1, R1, T2, B1.return", "B2.flow, V1, T1", "T2, P1, V2, B2.return")
    found = findings(listed(parts, *runs), "relief-valve-isolated")
    assert [f.parts[0] for f in found] == ["B2"]
    assert "in B1" in found[0].message


@pytest.mark.parametrize(("end", "wrong"), [("O1.in", []), ("B1.return", ["B2", "B1"])])
def test_boilers_may_share_a_discharge_pipe_that_does_not_lead_back(end, wrong):
    parts = """
        B1: {kind: system-boiler, capped: [condensate]}
        B2: {kind: system-boiler, capped: [condensate]}
        T1: {kind: tee}
        O1: {kind: safe-outlet}
        R1: {kind: radiator}
    """
    runs = ("B1.relief-outlet, T1", "B2.relief-outlet, T1", f"T1, {end}")
    found = findings(listed(parts, *runs), "relief-discharge-unsafe")
    assert sorted(f.parts[0] for f in found) == sorted(wrong)


@pytest.mark.parametrize(
    ("between", "severity"), [("isolating-valve", ["warning"]), ("zone-valve", ["error"]), ("strainer", ["error"])]
)
def test_a_vessel_behind_a_hand_valve_is_a_warning_and_behind_what_shuts_by_itself_an_error(between, severity):
    parts = BOILER.replace(", at: P1.in}\n    P1", "}\n    P1") + f"    V1: {{kind: {between}}}\n    T1: {{kind: tee}}"
    text = listed(parts, "B1.flow, R1, T1, P1, B1.return", "T1, V1, E1.port", "S1.outlet, O1.in")
    assert severities(text, "vessel-isolated") == severity


def test_a_fire_behind_a_hand_valve_from_its_vessel_is_an_error():
    parts = """
        W1: {kind: wood-boiler, sealed-allowed: yes, capped: [safety-in, safety-out]}
        R1: {kind: heat-leak-radiator}
        V1: {kind: isolating-valve}
        E1: {kind: expansion-vessel}
        T1: {kind: tee}
    """
    assert severities(listed(parts, "W1.flow, R1, T1, W1.return", "T1, V1, E1.port"), "vessel-isolated") == ["error"]


def test_of_two_ways_to_the_vessel_the_one_with_hand_valves_counts():
    parts = BOILER.replace("at: P1.in}\n    P1", "at: R1.b}\n    P1")
    parts += "    Z1: {kind: zone-valve}\n    V1: {kind: isolating-valve}\n    V2: {kind: isolating-valve}"
    text = listed(parts, "B1.flow, Z1, R1, V1, V2, P1, B1.return", "S1.outlet, O1.in")
    found = findings(text, "vessel-isolated")
    assert [(f.severity, f.parts) for f in found] == [("warning", ("B1", "V2", "V1", "E1"))]


def test_a_hand_valve_that_can_shut_a_collector_in_is_tried():
    parts = """
        S1: {kind: solar-collector}
        V1: {kind: isolating-valve}
        C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
        E1: {kind: solar-expansion-vessel, at: P1.in}
        P1: {kind: pump}
        K1: {kind: check-valve}
    """
    found = findings(
        listed(parts, "S1.out, V1, C1.coil-in", "C1.coil-out, P1, K1, S1.in"), "heat-trapped-between-valves"
    )
    assert [f.states for f in found] == [("V1 shut by hand",)]
    locked = parts.replace("isolating-valve", "isolating-valve, locked: open")
    assert (
        findings(listed(locked, "S1.out, V1, C1.coil-in", "C1.coil-out, P1, K1, S1.in"), "heat-trapped-between-valves")
        == []
    )


# open vents and cold feeds

VENTED = """
    B1: {kind: heat-only-boiler, capped: [condensate]}
    A1: {kind: open-vent-end}
    F1: {kind: feed-and-expansion-cistern, capped: [supply, overflow]}
    P1: {kind: pump}
    R1: {kind: radiator}
    T1: {kind: tee}
    T2: {kind: tee}
"""


def test_an_open_circuit_without_a_cistern_has_no_cold_feed():
    parts = without(VENTED, "F1")
    text = listed(parts, "B1.flow, T1, P1, R1, T2, B1.return", "T1, A1.port", "T2.branch, Q1.port") \
        .replace("T2: {kind: tee}", "T2: {kind: tee}\n  Q1: {kind: drain-cock}")  # fmt: skip
    assert severities(text, "cold-feed-obstructed") == ["error"]


def test_a_pump_between_feed_and_vent_is_found_through_the_boiler_too():
    wrong = listed(VENTED, "B1.flow, T1, R1, T2, P1, B1.return", "T1, A1.port", "F1.cold-feed, T2")
    assert [f.parts for f in findings(wrong, "pump-between-vent-and-feed")] == [("P1", "A1", "F1")]
    right = listed(VENTED, "B1.flow, T1, P1, R1, T2, B1.return", "T1, A1.port", "F1.cold-feed, T2")
    assert findings(right, "pump-between-vent-and-feed") == []


@pytest.mark.parametrize(("length", "severity"), [("150 mm", []), ("160 mm", ["advice"])])
def test_the_joints_of_vent_and_feed_lie_within_150_mm(length, severity):
    runs = (
        "B1.flow, T1",
        "T2, P1, R1, B1.return",
        f"{{run: [T1, T2], length: {length}}}",
        "T1, A1.port",
        "F1.cold-feed, T2",
    )
    assert severities(listed(VENTED, *runs), "pump-between-vent-and-feed") == severity


@pytest.mark.parametrize(("heights", "severity"), [("[1 m, 2 m, 6 m]", []), ("[1 m, 3 m, 2 m]", ["warning"])])
def test_the_vent_of_a_source_that_falls_is_a_warning(heights, severity):
    runs = ("B1.flow, T1, P1, R1, T2, B1.return", f"{{run: [A1.port, T1], heights: {heights}}}", "F1.cold-feed, T2")
    runs = (runs[0], f"{{run: [T1, A1.port], heights: {heights}}}", runs[2])
    assert severities(listed(VENTED, *runs), "vent-obstructed") == severity


CYLINDER = """
    Q1: {kind: cold-water-cistern, capped: [supply, outlet-2, overflow]}
    C1: {kind: vented-cylinder, capped: [circulation-return, coil-in, coil-out]}
    H1: {kind: hot-outlet}
    T1: {kind: tee}
    V1: {kind: isolating-valve}
    A1: {kind: open-vent-end}
"""


@pytest.mark.parametrize(
    "vent", ["T1, V1, A1.port", "{run: [T1, A1.port], heights: [2 m, 1 m, 3 m]}", "T1.branch, D1.port"]
)
def test_the_vent_of_a_vented_cylinder_that_is_valved_or_falls_or_is_missing_is_an_error(vent):
    parts = CYLINDER + ("    D1: {kind: drain-cock}" if "D1" in vent else "")
    assert severities(listed(parts, "Q1.outlet, C1.cold-in", "C1.hot-out, T1, H1.in", vent), "vent-obstructed") == [
        "error"
    ]


def test_a_vent_on_the_cold_feed_is_no_vent_of_the_cylinder():
    runs = ("Q1.outlet, T1, C1.cold-in", "T1, A1.port", "C1.hot-out, H1.in")
    assert severities(listed(CYLINDER, *runs), "vent-obstructed") == ["error"]
    assert (
        severities(listed(CYLINDER, "Q1.outlet, C1.cold-in", "C1.hot-out, T1, H1.in", "T1, A1.port"), "vent-obstructed")
        == []
    )


def test_a_single_feed_cylinder_fills_and_vents_its_circuit_itself():
    parts = "parts: heat-only-boiler B1; single-feed-cylinder C1 gravity: yes\n" \
        "pipes: B1.flow - C1.primary-flow; C1.primary-return - B1.return"  # fmt: skip
    for check in (
        "no-expansion",
        "no-relief-valve",
        "no-gauge-or-filling-point",
        "vent-obstructed",
        "cold-feed-obstructed",
    ):
        assert [f for f in partial(parts, check) if "B1" in f.parts] == []


# figures


@pytest.mark.parametrize(
    ("old", "new", "severity"),
    [
        ("setting: 3 bar", "setting: 6 bar", ["warning"]),
        ("setting: 3 bar", "setting: 4 bar", []),
        ("kind: radiator", "kind: radiator, max-pressure: 2.5 bar", ["error"]),
        ("pre-charge: 1 bar", "pre-charge: 2.5 bar", ["warning"]),
        ("pre-charge: 1 bar", "pre-charge: 2.4 bar", []),
    ],
)
def test_pressures_that_do_not_fit_each_other_are_named(old, new, severity):
    assert severities(listed(BOILER.replace(old, new), *BOILER_RUNS), "pressure-figures-wrong") == severity


@pytest.mark.parametrize(("setting", "severity"), [("0.8 bar", ["warning"]), ("1.5 bar", []), ("2.6 bar", ["warning"])])
def test_the_cold_fill_lies_between_pre_charge_and_relief_setting(setting, severity):
    parts = without(BOILER, "F1") + "    T1: {kind: tee}\n"
    parts += (
        f"    F1: {{kind: automatic-fill-unit, setting: {setting}, capped: [overflow]}}\n    M1: {{kind: cold-main}}\n"
    )
    text = listed(parts, "B1.flow, R1, T1, P1, B1.return", "M1.out, F1.supply", "F1.system, T1", "S1.outlet, O1.in")
    assert severities(text, "pressure-figures-wrong") == severity


@pytest.mark.parametrize(("height", "severity"), [("9 m", []), ("12 m", ["warning"])])
def test_a_pre_charge_below_the_water_above_the_vessel_is_named(height, severity):
    parts = BOILER.replace("pre-charge: 1 bar,", "pre-charge: 1 bar, height: 0 m,")
    runs = (f"{{run: [B1.flow, R1], heights: [0 m, {height}]}}", "R1.b, P1, B1.return", "S1.outlet, O1.in")
    assert severities(listed(parts, *runs), "pressure-figures-wrong") == severity


@pytest.mark.parametrize(("content", "severity"), [("140 L", []), ("155 L", ["warning"])])
def test_a_vessel_is_as_large_as_the_formula_of_the_standard_asks(content, severity):
    """By hand: 12 L hold 145.8 L × 0.036 × 3.5 / 1.5 (relief at 3 bar, final 2.5 bar, pre-charge 1 bar)."""
    text = listed(BOILER, *BOILER_RUNS, extra=f"fluids:\n  heating-water: {{content: {content}}}\n")
    assert severities(text, "pressure-figures-wrong") == severity


def test_a_vessel_is_not_judged_while_the_content_is_unknown():
    assert needs(listed(BOILER, *BOILER_RUNS), "pressure-figures-wrong") == [
        "content of this heating-water under `fluids:`"
    ]


@pytest.mark.parametrize("temperature_c", [50, 60, 70, 80, 90])
def test_the_growth_of_water_agrees_with_its_density(temperature_c):
    exact = water_density_kgm3(10) / water_density_kgm3(temperature_c) - 1
    assert water_growth(temperature_c) == pytest.approx(exact, abs=0.0006)


# fires

STOVE = """
    S1: {kind: solid-fuel-stove, capped: [flow-2, return-2]}
    A1: {kind: open-vent-end, at: S1.flow}
    F1: {kind: feed-and-expansion-cistern, at: S1.return, capped: [supply, overflow]}
    R1: {kind: heat-leak-radiator}
"""


def test_the_coil_of_a_gravity_cylinder_is_a_heat_leak():
    parts = (
        without(STOVE, "R1")
        + "    C1: {kind: vented-cylinder, gravity: yes, capped: [cold-in, hot-out, circulation-return]}"
    )
    assert findings(listed(parts, "S1.flow, C1.coil-in", "C1.coil-out, S1.return"), "no-heat-leak") == []


def test_a_radiator_with_both_ends_on_the_flow_is_no_heat_leak():
    parts = STOVE + "    T1: {kind: tee}\n    T2: {kind: tee}\n    P1: {kind: pump}\n    R2: {kind: radiator}"
    text = listed(parts, "S1.flow, T1, T2, P1, R2, S1.return", "T1.branch, R1.a", "R1.b, T2.branch")
    assert severities(text, "no-heat-leak") == ["error"]


def test_of_two_listed_heat_leaks_the_one_that_can_be_shut_is_named():
    parts = (
        STOVE
        + """    C1: {kind: vented-cylinder, gravity: yes, capped: [cold-in, hot-out, circulation-return]}
        V1: {kind: isolating-valve}
        T1: {kind: tee}
        T2: {kind: tee}"""
    )
    text = listed(parts, "S1.flow, T1, R1, T2, S1.return", "T1.branch, V1, C1.coil-in", "C1.coil-out, T2.branch")
    assert [f.parts for f in findings(text, "no-heat-leak")] == [("S1", "C1", "V1")]


@pytest.mark.parametrize(("heights", "severity"), [("[0 m, 3 m]", []), ("[1 m, 0 m, 3 m]", ["error"])])
def test_a_heat_leak_rises_from_the_fire(heights, severity):
    text = listed(STOVE, f"{{run: [S1.flow, R1.a], heights: {heights}}}", "R1.b, S1.return")
    text = text.replace("at: S1.flow", "at: S1.return")
    assert severities(text, "no-heat-leak") == severity


@pytest.mark.parametrize(
    ("size", "severity"), [("22 mm", ["warning"]), ("28 mm", []), ("3/4 in", ["warning"]), ("1 in", [])]
)
def test_a_gravity_loop_is_28_mm_or_1_inch_at_least(size, severity):
    assert (
        severities(listed(STOVE, f"{{run: [S1.flow, R1, S1.return], size: {size}}}"), "gravity-pipe-too-small")
        == severity
    )


PUMPED = (
    STOVE
    + "    P1: {kind: pump}\n    R2: {kind: radiator}\n    X1: {kind: pipe-thermostat, on: S1.flow, switches: [P1]}"
)
PUMPED_RUNS = ("S1.flow, R1, S1.return", "S1.flow-2, P1, R2, S1.return-2")


@pytest.mark.parametrize(("duty", "severity"), [("gate", []), ("limit", ["warning"])])
def test_only_a_thermostat_that_waits_for_warmth_protects_the_return(duty, severity):
    parts = PUMPED.replace("kind: pipe-thermostat", f"kind: pipe-thermostat, duty: {duty}").replace(
        ", capped: [flow-2, return-2]", ""
    )
    assert severities(listed(parts, *PUMPED_RUNS), "stove-return-unprotected") == severity


LOADED = """
    W1: {kind: wood-boiler, capped: [safety-in, safety-out]}
    T1: {kind: tee}
    L1: {kind: loading-valve, setting: 60 °C}
    P1: {kind: pump}
    TS: {kind: thermal-store, capped: yes}
"""
LOADED_RUNS = ("W1.flow, T1, TS.source-flow", "T1, L1.bypass", "TS.source-return, L1.cold", "L1.mixed, P1, W1.return")


def test_a_loading_valve_the_wrong_way_round_or_set_too_low_does_not_protect_the_return():
    assert severities(listed(LOADED, *LOADED_RUNS), "stove-return-unprotected") == []
    low = LOADED.replace("60 °C", "45 °C")
    assert severities(listed(low, *LOADED_RUNS), "stove-return-unprotected") == ["warning"]
    enough = low.replace("kind: wood-boiler", "kind: wood-boiler, min-return: 45 °C")
    assert severities(listed(enough, *LOADED_RUNS), "stove-return-unprotected") == []
    turned = [
        run.replace("L1.bypass", "L1.x").replace("L1.cold", "L1.bypass").replace("L1.x", "L1.cold")
        for run in LOADED_RUNS
    ]
    assert severities(listed(LOADED, *turned), "stove-return-unprotected") == ["warning"]


SEALED = """
    W1: {kind: wood-boiler, sealed-allowed: yes}
    R1: {kind: heat-leak-radiator}
    E1: {kind: expansion-vessel, at: W1.return}
    S1: {kind: relief-valve, setting: 3 bar, at: W1.flow}
    O1: {kind: safe-outlet}
    M1: {kind: cold-main}
    V1: {kind: isolating-valve, locked: open}
    D1: {kind: thermal-discharge-valve, on: W1.flow}
    N1: {kind: tundish}
    O2: {kind: safe-outlet}
"""
SEALED_RUNS = ("W1.flow, R1, W1.return", "S1.outlet, O1.in", "M1.out, V1, D1, W1.safety-in", "W1.safety-out, N1, O2.in")


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("sealed-allowed: yes", "sealed-allowed: no"),
        ("isolating-valve, locked: open", "isolating-valve"),
        ("isolating-valve, locked: open", "pump"),
        ("thermal-discharge-valve, on: W1.flow", "strainer"),
    ],
)
def test_a_sealed_fire_needs_leave_a_discharge_valve_and_a_supply_that_nothing_stops(old, new):
    assert findings(listed(SEALED, *SEALED_RUNS), "sealed-stove-no-thermal-safety") == []
    assert severities(listed(SEALED.replace(old, new), *SEALED_RUNS), "sealed-stove-no-thermal-safety") == ["error"]


@pytest.mark.parametrize(
    ("field", "severity"),
    [("material: PEX", ["error"]), ("material: copper", []), ("max-temperature: 100 °C", ["error"])],
)
def test_plastic_does_not_stand_the_flow_of_a_fire(field, severity):
    text = listed(
        STOVE.replace("at: S1.flow", "at: S1.return"), f"{{run: [S1.flow, R1.a], {field}}}", "R1.b, S1.return"
    )
    assert severities(text, "part-under-rated-for-heat") == severity


def test_beyond_the_first_taker_plastic_is_right():
    text = listed(STOVE, "S1.flow, R1.a", "{run: [R1.b, S1.return], material: PEX}")
    assert findings(text, "part-under-rated-for-heat") == []


# the sun

SUN = """
    S1: {kind: solar-collector, area: 4 m²}
    P1: {kind: pump}
    K1: {kind: check-valve, spring: yes}
    C1: {kind: twin-coil-unvented-cylinder, capped: yes}
    E1: {kind: solar-expansion-vessel, volume: 18 L, at: S1.in}
"""
SUN_RUNS = ("S1.out, C1.lower-coil-in", "C1.lower-coil-out, P1, K1, S1.in")


@pytest.mark.parametrize(
    ("links", "severity"),
    [
        (("S1.out, S2.in", "S2.out, C1.lower-coil-in", "C1.lower-coil-out, P1, K1, S1.in"), []),
        (("S1.out, S2.in", "S2.out, C1.lower-coil-in", "C1.lower-coil-out, P1, S1.in"), ["warning"]),
        (("S1.out, T1, C1.lower-coil-in", "S2.out, T1", "C1.lower-coil-out, P1, K1, T2, S1.in", "T2, S2.in"), []),
        (("S1.out, T1, C1.lower-coil-in", "S2.out, T1", "C1.lower-coil-out, P1, T2, S1.in", "T2, S2.in"), ["warning"]),
    ],
)
def test_collectors_in_series_or_side_by_side_need_one_check_valve(links, severity):
    used = [tag for tag in ("T1", "T2") if any(tag in link for link in links)]
    parts = (
        SUN + "    S2: {kind: solar-collector, area: 2 m²}\n" + "".join(f"    {tag}: {{kind: tee}}\n" for tag in used)
    )
    parts = parts if any("K1" in link for link in links) else without(parts, "K1")
    assert severities(listed(parts, *links), "solar-no-check-valve") == severity


def test_a_check_valve_in_the_branch_of_the_vessel_does_not_stop_the_loop():
    parts = SUN.replace(", at: S1.in", "") + "    T1: {kind: tee}\n"
    text = listed(parts, "S1.out, C1.lower-coil-in", "C1.lower-coil-out, P1, T1, S1.in", "T1, K1, E1.port")
    assert severities(text, "solar-no-check-valve") == ["warning"]


def test_a_collector_below_its_store_needs_no_check_valve():
    parts = without(SUN, "K1")
    text = listed(parts, "{run: [S1.out, C1.lower-coil-in], heights: [0 m, 2 m]}", "C1.lower-coil-out, P1, S1.in")
    assert findings(text, "solar-no-check-valve") == []


def test_a_vessel_behind_an_intermediate_vessel_on_the_hot_pipe_is_on_the_hot_side():
    parts = SUN.replace(", at: S1.in", "") + "    T1: {kind: tee}\n    I1: {kind: intermediate-vessel, volume: 6 L}\n"
    text = listed(parts, "S1.out, T1, C1.lower-coil-in", SUN_RUNS[1], "T1, I1, E1.port")
    assert [f.parts for f in findings(text, "collector-vessel-hot-side")] == [("E1", "S1")]


def test_antifreeze_that_shares_its_water_with_a_boiler_is_found_unless_the_boiler_holds_it_too():
    parts = (
        SUN
        + "    B1: {kind: system-boiler, capped: [relief-outlet, condensate]}\n    T1: {kind: tee}\n    T2: {kind: tee}"
    )
    runs = ("S1.out, T1, C1.lower-coil-in", "C1.lower-coil-out, T2, P1, K1, S1.in", "B1.flow, T1", "T2, B1.return")
    assert [f.parts for f in findings(listed(parts, *runs), "glycol-meets-water")] == [("S1", "B1")]
    same = parts.replace("kind: system-boiler", "kind: system-boiler, medium: antifreeze-mix")
    assert findings(listed(same, *runs), "glycol-meets-water") == []


def test_a_tundish_over_a_container_is_no_drain():
    parts = (
        SUN
        + "    R1: {kind: relief-valve, setting: 6 bar, at: S1.in}\n"
        + "    N1: {kind: tundish}\n    O1: {kind: collecting-container}"
    )
    assert findings(listed(parts, *SUN_RUNS, "R1.outlet, N1, O1.in"), "solar-discharge-to-drain") == []


@pytest.mark.parametrize(
    ("fields", "severity"),
    [
        ("volume: 12 L", ["advice"]),
        ("volume: 18 L", []),
        ("volume: 18 L, pre-charge: 4 bar", ["advice"]),
    ],
)
def test_a_vessel_takes_up_what_the_collector_boils_out(fields, severity):
    """4 m² hold 4 L, and 3 L are kept in reserve; between 4 bar and 5.5 bar a vessel takes up 1.5/6.5 of its volume."""
    parts = (
        SUN.replace("volume: 18 L", fields)
        + "    R1: {kind: relief-valve, setting: 6 bar, at: S1.in}\n    O1: {kind: collecting-container}"
    )
    assert severities(listed(parts, *SUN_RUNS, "R1.outlet, O1.in"), "solar-no-overheat-plan") == severity


def test_a_supply_is_no_heated_circuit():
    text = "parts: combi-boiler B1; cold-main M1; hot-outlet H1\npipes: M1.out - B1.cold-in; B1.hot-out - H1.in"
    network = built(text).network
    circuits = list(heated_circuits(Facts(job(text), shipped_library(), network, find_waters(network))))
    assert [source.tag for circuit in circuits for source in circuit.sources] == ["B1"]
    assert all(port.port in ("flow", "return") for c in circuits for s in c.sources for port in s.body)
