"""Safety limits against the published tables that state them: each line of the file is checked where the limit bites.

The checks are asked through lists: at the limit they are silent, just beyond it they speak.
"""

import csv
from pathlib import Path

import pytest

from schemagen.joblist.read import read_text
from schemagen.parts.library import shipped_library
from schemagen.pipeline import job_of

TABLE = Path(__file__).parent / "worked" / "safety_limits.csv"


def lines(rule: str):
    with TABLE.open(encoding="utf-8", newline="") as file:
        found = [row for row in csv.DictReader(file, delimiter=";") if row["rule"] == rule]
    assert found, rule
    names = [f"{row['inputs']} {row['result']} {row['unit']}".strip() for row in found]
    cases = [(inputs(row["inputs"]), float(row["result"])) for row in found]
    return pytest.mark.parametrize(("given", "result"), cases, ids=names)


def inputs(text: str) -> dict[str, str]:
    pairs = (item.strip().split(" ", 1) for item in text.split(",") if item.strip())
    return {key: value for key, value in pairs}


def said(text: str) -> set[str]:
    """Slugs of the findings of a list, folded ones too."""
    report = job_of(read_text(text, "yaml")).report
    return {f.check for f in report.findings} | {f.finding.check for f in report.folded}


DISCHARGE = """
parts:
  C1: {{kind: direct-unvented-cylinder, capped: [circulation-return]}}
  S1: {{kind: temperature-and-pressure-relief-valve, size: {outlet} in}}
  N1: {{kind: tundish}}
  O1: {{kind: safe-outlet}}
connections:
  - [C1.relief-tapping, S1.inlet]
  - {{run: [S1.outlet, N1.in], size: {d1:g} mm, length: {d1_length:g} mm}}
  - {{run: [N1.out, O1.in], size: {d2:g} mm, length: {length} m, bends: {bends}, drop: {drop:g} mm, fall: {fall:g}}}
"""
USUAL = {"outlet": "1/2", "d1": 15, "d1_length": 300, "d2": 54, "length": 5, "bends": 0, "drop": 400, "fall": 0.01}
COPPER_MM = (12, 15, 22, 28, 35, 42, 54)


def discharge(**changed) -> str:
    return DISCHARGE.format(**{**USUAL, **changed})


def next_smaller(size_mm: float) -> int:
    return max(size for size in COPPER_MM if size < size_mm)


@lines("least D1")
def test_the_pipe_from_relief_valve_to_tundish_is_no_smaller_than_the_table(given, result):
    slug = "discharge-pipe-undersized"
    assert slug not in said(discharge(outlet=given["outlet"], d1=result))
    assert slug in said(discharge(outlet=given["outlet"], d1=next_smaller(result)))


@lines("least D2")
def test_the_pipe_from_the_tundish_is_no_smaller_than_its_length_and_bends_ask_for(given, result):
    slug, wide = "discharge-pipe-undersized", {**given, "d1": 28}
    assert slug not in said(discharge(**wide, d2=result))
    assert slug in said(discharge(**wide, d2=next_smaller(result)))


SHARED_STORE = """
  C{n}: {{kind: direct-unvented-cylinder, capped: [circulation-return]}}
  S{n}: {{kind: temperature-and-pressure-relief-valve, size: 1/2 in}}
  N{n}: {{kind: tundish}}
  T{n}: {{kind: tee}}"""
SHARED_PIPES = """
  - [C{n}.relief-tapping, S{n}.inlet]
  - {{run: [S{n}.outlet, N{n}.in], size: 15 mm}}
  - {{run: [N{n}.out, T{n}.branch], size: {own} mm}}"""


def shared(stores: int, own: int, common: float) -> str:
    numbers = range(1, stores + 1)
    tees = ", ".join(f"T{n}" for n in numbers)
    return (
        "parts:"
        + "".join(SHARED_STORE.format(n=n) for n in numbers)
        + "\n  CAP: {kind: cap}\n  O1: {kind: safe-outlet}\nconnections:"
        + "".join(SHARED_PIPES.format(n=n, own=own) for n in numbers)
        + f"\n  - {{run: [CAP, {tees}, O1.in], size: {common:g} mm}}\n"
    )


@lines("shared D2")
def test_a_discharge_pipe_of_two_stores_is_one_size_above_the_larger(given, result):
    own = int(given["largest"])
    assert "discharge-pipe-undersized" not in said(shared(2, own, result))
    assert "discharge-pipe-undersized" in said(shared(2, own, own))


@lines("most systems on one D2")
def test_no_more_stores_than_the_limit_share_a_discharge_pipe(given, result):
    assert "discharge-pipe-undersized" not in said(shared(int(result), 22, 28))
    assert "discharge-pipe-undersized" in said(shared(int(result) + 1, 22, 28))


@lines("longest D1")
def test_a_tundish_is_within_reach_of_its_relief_valve(given, result):
    assert "tundish-missing" not in said(discharge(d1_length=result))
    assert "tundish-missing" in said(discharge(d1_length=result + 10))


@lines("least drop below the tundish")
def test_the_discharge_pipe_starts_with_a_straight_drop(given, result):
    assert "discharge-pipe-route" not in said(discharge(drop=result))
    assert "discharge-pipe-route" in said(discharge(drop=result - 10))


@lines("flattest fall of D2")
def test_the_discharge_pipe_falls_steadily(given, result):
    assert "discharge-pipe-route" not in said(discharge(fall=result))
    assert "discharge-pipe-route" in said(discharge(fall=result * 0.9))


STORE = "parts:\n  C1: {{kind: vented-cylinder, setting: {0:g} °C, capped: [circulation-return]}}\n"


@lines("stored hot water, at least")
def test_a_store_is_kept_hot_enough(given, result):
    assert "hot-water-too-cool" not in said(STORE.format(result))
    assert "hot-water-too-cool" in said(STORE.format(result - 1))


RING = """
sheet: {{use: {0}}}
parts:
  C1: {{kind: vented-cylinder, setting: 60 °C}}
  P1: {{kind: wholesome-circulating-pump}}
  PT1: {{kind: pipe-thermostat, on: C1.circulation-return, setting: {1:g} °C, switches: [P1]}}
connections:
  - [C1.hot-out, P1, C1.circulation-return]
"""


@lines("circulation return, at least")
def test_a_circulation_is_not_left_to_cool(given, result):
    assert "hot-water-too-cool" not in said(RING.format("house", result))
    assert "hot-water-too-cool" in said(RING.format("house", result - 1))


@lines("circulation return in healthcare, at least")
def test_a_circulation_in_healthcare_is_kept_hotter(given, result):
    assert "hot-water-too-cool" not in said(RING.format("healthcare", result))
    assert "hot-water-too-cool" in said(RING.format("healthcare", result - 1))


BATH = """
parts:
  W1: {{kind: cold-water-cistern}}
  C1: {{kind: vented-cylinder, capped: [circulation-return]}}
  T1: {{kind: tee}}
  V1: {{kind: thermostatic-mixing-valve, setting: {setting:g} °C}}
  O1: {{kind: bath-outlet}}
connections:
  - [W1.outlet, C1.cold-in]
  - [W1.outlet-2, T1, O1.cold-in]
  - [T1, V1.cold]
  - [C1.hot-out, V1.hot]
  - {{run: [V1.mixed, O1.hot-in], length: {length:g} m}}
"""


@lines("bath outlet, at most")
def test_the_mixing_valve_of_a_bath_is_set_low_enough(given, result):
    assert "blended-too-hot-or-far" not in said(BATH.format(setting=result, length=1))
    assert "blended-too-hot-or-far" in said(BATH.format(setting=result + 1, length=1))


@lines("mixing valve to tap, at most")
def test_a_mixing_valve_stands_close_to_its_bath(given, result):
    assert "blended-too-hot-or-far" not in said(BATH.format(setting=46, length=result))
    assert "blended-too-hot-or-far" in said(BATH.format(setting=46, length=result + 0.1))


@lines("temperature relief opens")
def test_a_temperature_relief_valve_opens_where_makers_set_it(given, result):
    attributes = shipped_library().kind("temperature-and-pressure-relief-valve").attributes
    assert attributes["temperature-setting"].default == f"{result:g} °C"


@lines("cut-out, at most")
def test_a_cut_out_acts_before_the_relief_valve(given, result):
    default = shipped_library().kind("cut-out-thermostat").attributes["setting"].default
    assert 80 <= float(default.removesuffix(" °C")) <= result


LEG = """
sheet: {{region: {region}}}
parts:
  C1: {{kind: vented-cylinder, capped: [circulation-return]}}
  O1: {{kind: hot-outlet}}
connections:
  - {{run: [C1.hot-out, O1.in], size: {size} mm, length: {length:.2f} m}}
"""


@lines("longest dead leg")
def test_a_pipe_to_a_tap_is_no_longer_than_its_size_allows(given, result):
    usual = {"region": "England", "size": given["size"]}
    assert "hot-dead-leg-too-long" not in said(LEG.format(**usual, length=result))
    assert "hot-dead-leg-too-long" in said(LEG.format(**usual, length=result + 0.1))


@lines("most content of a dead leg")
def test_a_pipe_to_a_tap_holds_no_more_than_the_region_allows(given, result):
    litres_per_m = 0.31416
    """A bore of 20 mm."""
    usual = {"region": given["region"], "size": 20}
    assert "hot-dead-leg-too-long" not in said(LEG.format(**usual, length=result / litres_per_m - 0.02))
    assert "hot-dead-leg-too-long" in said(LEG.format(**usual, length=result / litres_per_m + 0.02))


@lines("device keeps out")
def test_a_backflow_device_keeps_out_its_category(given, result):
    kind = shipped_library().kind(given.pop("kind"))
    assert kind.as_listed(given, ()).protects == result


FILL = """
parts:
  M1: {{kind: cold-main, premises: {premises}}}
  K1: {{kind: {device}}}
  L1: {{kind: filling-loop}}
  T1: {{kind: tee}}
  B1: {{kind: system-boiler, capped: [relief-outlet, condensate]}}
  R1: {{kind: radiator}}
connections:
  - [B1.flow, R1, T1, B1.return]
  - [M1.out, K1, L1, T1.branch]
"""


@lines("category of heating water")
def test_the_filling_point_is_guarded_for_the_category_of_the_building(given, result):
    by_category = {
        2: "check-valve",
        3: "double-check-valve",
        4: "disconnecting-preventer, type: BA, capped: [discharge]",
    }
    assert "filling-unprotected" not in said(FILL.format(premises=given["premises"], device=by_category[result]))
    assert "filling-unprotected" in said(FILL.format(premises=given["premises"], device=by_category[result - 1]))
