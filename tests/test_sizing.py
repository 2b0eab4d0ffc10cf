"""The calculations against published examples and independent libraries; no result of our own is frozen here."""

import csv
import importlib
import math
import pkgutil
from functools import cache
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st
from networks import house_network

import schemagen.sizing
from schemagen.base.bad_input import BadInput, about
from schemagen.operation.friction import friction_factor
from schemagen.operation.hydraulics import solve
from schemagen.operation.pump_curves import ConstantPressure, QuadraticCurve, TableCurve
from schemagen.sizing import (
    balancing,
    buffer,
    circulation,
    coil,
    emitters,
    fittings,
    flow,
    glycol,
    hygiene,
    mixing,
    pipes,
    pumps,
    reheat,
    safety,
    store_loss,
    usable_hot_water,
    vessels,
)
from schemagen.sizing.figure import SHOWN_AS, Figure
from schemagen.sizing.glycol import Liquid, mixture
from schemagen.sizing.water import GRAVITY_MS2, Fluid, water

WORKED = Path(__file__).parent / "worked"
MODULES = [
    importlib.import_module(f"schemagen.sizing.{found.name}")
    for found in pkgutil.iter_modules(schemagen.sizing.__path__)
]
HOUSE = Fluid(992.3, 4179.0, 0.6530e-3)
MWC = 1000 * GRAVITY_MS2


@cache
def house_flows():
    links, fixed = house_network()
    return solve(links, fixed).flow_m3s


def coil_reheat(litres, cold_c, hot_c, power_w, limit_c, ua_wk, flow_ls):
    conductance = float(coil.coil_conductance(ua_wk, flow_ls, HOUSE.specific_heat_jkgk))
    return reheat.reheat_by_coil(litres / 1e3, cold_c, hot_c, power_w, limit_c, conductance, HOUSE)


def namespace():
    names = {}
    for module in MODULES:
        names |= {n: v for n, v in vars(module).items() if not n.startswith("_")}
    primary = (
        ("pipe", 2793.1), ("fittings", 1458.0), ("heat pump", 15073.2), ("diverter", 1076.9), ("strainer", 747.9),
    )  # fmt: skip
    return names | {
        "HOUSE": HOUSE,
        "MWC": MWC,
        "HMWC": 992.3 * GRAVITY_MS2,
        "PRIMARY": pumps.Path("primary", primary),
        "HOUSE_REHEAT": coil_reheat(210, 15, 50, 6500, 55, 900, 0.30 * 0.9923),
        "TABLE_FLOWS": (0.0, 0.1e-3, 0.2e-3, 0.3e-3, 0.4e-3, 0.5e-3),
        "TABLE_RISES": tuple(MWC * h for h in (6.0, 5.9, 5.5, 4.7, 3.5, 1.9)),
        "QuadraticCurve": QuadraticCurve,
        "TableCurve": TableCurve,
        "friction_factor": friction_factor,
        "house_flows": house_flows,
        "coil_reheat": coil_reheat,
        "math": math,
    }


NAMES = namespace()


def worked_examples():
    for path in sorted(WORKED.glob("*.csv")):
        with path.open(encoding="utf-8", newline="") as file:
            for row in csv.DictReader(file, delimiter=";"):
                if "call" in row:
                    yield pytest.param(row, id=f"{path.stem}: {row['case']}")


@pytest.mark.parametrize("row", list(worked_examples()))
def test_a_calculation_gives_the_result_of_its_witness(row):
    answer = eval(row["call"], dict(NAMES))
    value = answer.shown(row["unit"]) if isinstance(answer, Figure) else float(answer)
    tolerance, percent, _ = row["tolerance"].partition("%")
    allowed = float(tolerance) * (abs(float(row["result"])) / 100 if percent else 1)
    assert row["source"]
    assert abs(value - float(row["result"])) <= allowed, f"{value} instead of {row['result']} {row['unit']}"


def test_the_worked_house_has_all_of_its_44_lines():
    with (WORKED / "house.csv").open(encoding="utf-8") as file:
        lines = {int(row["case"].split()[0]) for row in csv.DictReader(file, delimiter=";")}
    assert lines == set(range(1, 45))


# independent libraries


@pytest.mark.parametrize("temperature_c", [0.1, 1, 4, 17, 33, 48, 62, 77, 94, 99.5])
def test_water_agrees_with_coolprop(temperature_c):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    ours, args = water(temperature_c), ("T", temperature_c + 273.15, "P", 2e5, "Water")
    assert ours.density_kgm3 == pytest.approx(coolprop.PropsSI("D", *args), rel=2e-4)
    assert ours.specific_heat_jkgk == pytest.approx(coolprop.PropsSI("C", *args), rel=5e-4)
    assert ours.viscosity_pas == pytest.approx(coolprop.PropsSI("V", *args), rel=5e-4)


@pytest.mark.parametrize(("glycol_name", "fluid"), [("propylene", "APG"), ("ethylene", "AEG")])
@pytest.mark.parametrize("share", [0.10, 0.17, 0.25, 0.33, 0.41, 0.58])
def test_glycol_agrees_with_coolprop_from_its_freezing_point_to_boiling(glycol_name, fluid, share):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    name = f"INCOMP::{fluid}[{share}]"
    freezing_c = coolprop.PropsSI("T_freeze", "T", 300, "P", 2e5, name) - 273.15
    assert glycol.freezing_point_c(glycol_name, share) == pytest.approx(freezing_c, abs=0.05)
    for temperature_c in (max(freezing_c + 0.1, -34.0), 0.0, 25.0, 60.0, 99.0):
        ours, args = mixture(glycol_name, share, temperature_c), ("T", temperature_c + 273.15, "P", 2e5, name)
        assert ours.density_kgm3 == pytest.approx(coolprop.PropsSI("D", *args), rel=1e-5)
        assert ours.specific_heat_jkgk == pytest.approx(coolprop.PropsSI("C", *args), rel=1e-5)
        assert ours.viscosity_pas == pytest.approx(coolprop.PropsSI("V", *args), rel=1e-4)


@pytest.mark.parametrize("absolute_bar", [1, 1.5, 2.7, 4, 7, 11, 16.5])
def test_steam_agrees_with_coolprop(absolute_bar):
    coolprop = pytest.importorskip("CoolProp.CoolProp")
    vapour, liquid = (coolprop.PropsSI("H", "P", absolute_bar * 1e5, "Q", q, "Water") for q in (1, 0))
    density = coolprop.PropsSI("D", "P", absolute_bar * 1e5, "Q", 1, "Water")
    assert NAMES["evaporation_heat_j_per_kg"](absolute_bar * 1e5) == pytest.approx(vapour - liquid, rel=1e-4)
    assert NAMES["steam_volume_m3_per_kg"](absolute_bar * 1e5) == pytest.approx(1 / density, rel=1e-4)


@given(st.floats(4000, 1e7), st.floats(1e-6, 0.04))
def test_turbulent_friction_agrees_with_the_fluids_library(reynolds_number, roughness):
    fluids = pytest.importorskip("fluids")
    theirs = fluids.friction_factor(Re=reynolds_number, eD=roughness)
    assert friction_factor(reynolds_number, roughness) == pytest.approx(theirs, rel=1e-6)


@given(st.floats(0.02, 2.0), st.sampled_from([0.0136, 0.0202, 0.0262, 0.0396]), st.floats(20, 80))
def test_loss_per_metre_agrees_with_the_fluids_library(flow_ls, bore_m, temperature_c):
    fluids = pytest.importorskip("fluids")
    liquid = water(temperature_c)
    if float(pipes.reynolds(flow_ls / 1e3, bore_m, liquid)) < 4000:
        return
    theirs = fluids.one_phase_dP(
        m=flow_ls / 1e3 * liquid.density_kgm3, rho=liquid.density_kgm3, mu=liquid.viscosity_pas, D=bore_m,
        roughness=1.5e-6, L=1.0,
    )  # fmt: skip
    assert float(pipes.loss_per_metre(flow_ls / 1e3, bore_m, 1.5e-6, liquid)) == pytest.approx(theirs, rel=1e-5)


# promises over the whole range


@given(st.floats(1, 1e8), st.floats(1.0001, 1.3), st.floats(0, 0.05))
def test_loss_never_falls_as_the_flow_rises(reynolds_number, step, roughness):
    higher = min(reynolds_number * step, 1e8)
    low, high = (friction_factor(re, roughness) * re**2 for re in (reynolds_number, higher))
    assert high >= low * (1 - 1e-12)


@given(st.floats(0, 99), st.floats(0.5, 10))
def test_expansion_rises_with_temperature(temperature_c, step):
    if temperature_c > 10 and temperature_c + step <= 110:
        low, high = (float(vessels.expansion(Liquid(), t)) for t in (temperature_c, temperature_c + step))
        assert high > low


@given(st.floats(0.01, 1.0), st.floats(0.1, 60), st.floats(0.01, 1.0), st.floats(0, 60))
def test_a_header_loses_no_heat(primary, primary_flow_c, secondary, secondary_return_c):
    if secondary_return_c >= primary_flow_c:
        return
    result = mixing.header(primary, primary_flow_c, secondary, secondary_return_c)
    given_heat = primary * (primary_flow_c - float(result.primary_return))
    taken_heat = secondary * (float(result.secondary_flow) - secondary_return_c)
    assert given_heat == pytest.approx(taken_heat, abs=1e-9)


@given(st.lists(st.tuples(st.floats(0.001, 2), st.floats(1, 95)), min_size=1, max_size=6))
def test_a_mixture_lies_between_its_streams(streams):
    mixed = float(mixing.mixed_temperature(tuple(streams)))
    temperatures = [t for _, t in streams]
    assert min(temperatures) - 1e-9 <= mixed <= max(temperatures) + 1e-9


@given(st.floats(100, 2000), st.floats(1.01, 2))
def test_a_larger_coil_reheats_faster(ua_wk, more):
    slow, fast = (float(coil_reheat(210, 10, 50, 8000, 55, ua, 0.3).total) for ua in (ua_wk, ua_wk * more))
    assert fast < slow or math.isclose(fast, slow, rel_tol=1e-12)


@given(st.integers(1, 60), st.floats(42, 90), st.floats(2, 20))
def test_a_layered_store_never_yields_more_than_an_ideal_one(layers, store_c, cold_c):
    ideal = float(usable_hot_water.mixed_volume(1.0, store_c, cold_c))
    assert float(usable_hot_water.usable_share(layers, store_c, cold_c)) <= ideal * (1 + 1e-9)


@given(st.floats(0, 8), st.integers(0, 8))
def test_another_bend_never_makes_a_discharge_pipe_smaller(length_m, bends):
    small, large = (float(safety.discharge_pipe("1/2", length_m, n).d2) for n in (bends, bends + 1))
    assert large >= small


@given(st.floats(0.0, 2.2))
def test_a_vessel_grows_without_bound_as_the_precharge_nears_the_end_pressure(precharge_bar):
    near = float(vessels.heating_vessel(3e-3, 0.2, precharge_bar * 1e5, 2.5e5))
    nearer = float(vessels.heating_vessel(3e-3, 0.2, precharge_bar * 1e5 + 0.25e5, 2.5e5))
    assert nearer > near
    assert float(vessels.heating_vessel(3e-3, 0.2, 2.4999e5, 2.5e5)) > 50


@given(st.floats(0.3, 30), st.floats(0.005, 0.1))
def test_kv_and_k_are_inverse(kv, bore_m):
    there = float(fittings.k_from_kv(kv, bore_m))
    assert float(fittings.kv_from_k(there, bore_m)) == pytest.approx(kv, rel=1e-9)


@given(st.floats(0.01, 100), st.floats(10, 1e5))
def test_a_valve_sized_for_a_loss_has_that_loss(flow_lmin, loss_pa):
    kv = float(fittings.kv_for(flow_lmin / 6e4, loss_pa))
    assert float(fittings.valve_loss(flow_lmin / 6e4, kv)) == pytest.approx(loss_pa, rel=1e-9)


@given(st.floats(100, 50000), st.floats(2, 30))
def test_heat_and_flow_are_inverse(heat_w, difference_k):
    there = float(flow.flow_for_heat(heat_w, difference_k, HOUSE))
    assert float(flow.heat_for_flow(there, difference_k, HOUSE)) == pytest.approx(heat_w, rel=1e-12)


@pytest.mark.parametrize(("unit", "shown"), [(u, s) for u, all_shown in SHOWN_AS.items() for s in all_shown])
def test_units_of_the_trade_agree_with_pint(unit, shown):
    pint = pytest.importorskip("pint")
    spelt = {
        "L/s": "liter/second", "L/min": "liter/minute", "m³/h": "meter**3/hour", "L/h": "liter/hour", "L": "liter",
        "L/m": "liter/meter", "L/h per kW": "liter/hour/kilowatt", "kWh": "kilowatt_hour", "min": "minute", "h": "hour",
        "mm²": "mm**2", "kg/h": "kg/hour", "per hour": "1/hour", "%": "percent", "m³/s": "meter**3/second",
        "m³": "meter**3", "m³/m": "meter**2", "m³/J": "meter**3/joule", "Pa": "pascal", "J": "joule", "m²": "meter**2",
        "1/s": "1/second", "-": "dimensionless", "W": "watt", "kW": "kilowatt", "s": "second", "m": "meter",
    }  # fmt: skip
    registry = pint.UnitRegistry()
    theirs = registry.Quantity(1.0, spelt.get(unit, unit)).to(spelt.get(shown, shown)).magnitude
    assert Figure("x", 1.0, unit).shown(shown) == pytest.approx(theirs, rel=1e-12)


# bad and missing input


@pytest.mark.parametrize(
    ("call", "field", "hint"),
    [
        (lambda: water(-1), "temperature", "antifreeze"),
        (lambda: water(111), "temperature", "110"),
        (lambda: mixture("propylene", 0.7, 20), "share", "0.6"),
        (lambda: mixture("propylene", 0.3, -14), "temperature", "freezes"),
        (lambda: mixture("glycerine", 0.3, 20), "antifreeze", "propylene"),
        (lambda: glycol.check_potable(Liquid("propylene", 0.3)), "antifreeze", "drinking-water"),
        (lambda: flow.flow_for_heat(1000, 0, HOUSE), "temperature difference", "above zero"),
        (lambda: flow.flow_for_heat(-1, 5, HOUSE), "heat", "negative"),
        (lambda: flow.flow_for_heat(math.nan, 5, HOUSE), "heat", "finite"),
        (lambda: flow.flow_for_heat(math.inf, 5, HOUSE), "heat", "finite"),
        (lambda: pipes.find_pipe("22", None), "pipe size", "material"),
        (lambda: pipes.find_pipe("23", "copper"), "pipe size", "22×"),
        (lambda: pipes.find_pipe("22", "coper"), "pipe material", "copper"),
        (lambda: pipes.bore_from_wall(0.015, 0.008), "wall", "bore"),
        (lambda: pipes.loss_per_metre(1e-4, 0.01, 1e-3, HOUSE), "roughness", "0.05"),
        (lambda: fittings.valve_loss(1e-4, 0), "Kv", "above zero"),
        (lambda: fittings.fitting_loss(-1, 1, HOUSE), "loss coefficient", "negative"),
        (lambda: pumps.pump_duty((pumps.Path("a", (("x", 1.0),), closed=True),)), "pump", "feeds nothing"),
        (lambda: pumps.speed_for_duty(QuadraticCurve(1e4, 1e9), 1e-3, 2e4), "pump", "duty"),
        (lambda: mixing.hot_share(60, 55, 10), "mixed temperature", "cannot be reached"),
        (lambda: vessels.expansion(Liquid(), 10), "highest temperature", "fill temperature"),
        (lambda: vessels.heating_vessel(3e-3, 0.2, 2.6e5, 2.5e5), "pre-charge", "working range"),
        (lambda: vessels.potable_vessel(3e-3, 5e5, 6e5), "reducing valve", "too close"),
        (lambda: vessels.check_precharge(0.3e5, 5), "pre-charge", "static"),
        (lambda: vessels.hot_pressure(0.012, 0.9e5, 1.3e5, 0.012), "vessel", "full"),
        (lambda: safety.discharge_pipe("2", 3, 1), "valve outlet", "1/2"),
        (lambda: safety.discharge_pipe("1", 30, 0), "discharge pipe D2", "engineered"),
        (lambda: safety.discharge_pipe("1/2", 3, -1), "bends", "negative"),
        (lambda: safety.discharge_pipe("1/2", 3, 1.5), "bends", "whole number"),
        (lambda: safety.check_falling((0.0, -0.5, -0.4)), "discharge pipe D2", "rises"),
        (lambda: safety.check_relief_setting(4e5, (("HP1", 3e5),)), "relief setting", "HP1"),
        (lambda: coil_reheat(210, 10, 55, 6500, 55, 900, 0.3), "store temperature", "never"),
        (lambda: reheat.reheat_by_power(0.2, 10, 60, 50, HOUSE, 60), "power", "loss"),
        (lambda: coil.coil_ua(coil.Rating(60e3)), "coil rating", "flow"),
        (lambda: usable_hot_water.drawn_temperature(0, 0.5, 60, 10), "layers", "whole number"),
        (lambda: circulation.pipe_heat_loss(0.022, -0.01, 60, 20), "insulation thickness", "negative"),
        (lambda: emitters.radiator_output(1000, 45, 19, 20), "return temperature", "room"),
        (lambda: emitters.loop_length(10, 0, 5), "pipe spacing", "above zero"),
        (lambda: buffer.defrost_volume(1e6, HOUSE, 0), "temperature drop", "above zero"),
        (lambda: balancing.valve_setting(9, ((1, 0.5), (2, 1.0))), "Kv", "outside"),
        (lambda: TableCurve((0.0,), (1.0,)), "pump curve", "two points"),
        (lambda: ConstantPressure(-1), "rise", "above zero"),
    ],
)  # fmt: skip
def test_input_that_cannot_be_used_is_refused_with_field_and_component(call, field, hint):
    with pytest.raises(BadInput) as raised, about("X7"):
        call()
    assert raised.value.component == "X7"
    assert raised.value.field == field
    assert hint in str(raised.value)
    assert str(raised.value).startswith("X7: ")


@pytest.mark.parametrize(
    ("figure", "flag"),
    [
        (flow.flow_for_heat(1000, 1, HOUSE), "2 K"),
        (flow.flow_for_heat(1000, 5, mixture("propylene", 0.15, 20)), "inhibitor"),
        (flow.flow_for_heat(1000, 5, mixture("propylene", 0.30, -11)), "freezing"),
        (pipes.loss_per_metre(1.5e-3 / 60, 0.012, 7e-6, water(35)), "50 %"),
        (mixing.header(0.15, 45, 0.199349, 37.7419).secondary_flow, "degraded by 1.8 K"),
        (mixing.hot_share(48, 55, 10, thermostatic=True), "10 K"),
        (vessels.system_content_by_load((("underfloor", 4e3),)), "estimated"),
        (vessels.hot_pressure(0.012, 0.9e5, 1.3e5, 5e-3, 2.5e5), "lift"),
        (vessels.cold_water_in_vessel(0.018, 0.9e5, 0.8e5), "empty"),
        (buffer.run_time_volume(2500, 3000, HOUSE), "no cycling"),
        (buffer.buffer_volume((0.05,), 0.0), "all of it"),
        (buffer.starts(8000, 4000, 0.03, 5, HOUSE), "above 6"),
        (usable_hot_water.mixed_volume(0.2, 38, 10), "no water"),
        (circulation.dead_leg(((13, 0.0202, 0.022),)), "longer"),
        (circulation.wait(3.5e-3, 0.1e-3), "30 s"),
        (emitters.floor_heat(30, 20), "9 K"),
        (emitters.loop_length(18, 0.14, 5), "120 m"),
        (balancing.balancing_kv(0.1e-3, 12e3, 10e3), "measure"),
        (balancing.balancing_kv(0.3e-3, 16e3, 10e3, 1000, 2.5), "open valve"),
        (balancing.bypass_flow(2e-4, 1e-4, separated=True), "not required"),
        (pumps.operating_flow(TableCurve((0.0, 1e-4, 2e-4), (4e4, 5e4, 1e4)), 1e12), "fall throughout"),
        (pumps.operating_flow(TableCurve((0.0, 1e-4, 2e-4), (5e4, 4e4, 3e4)), 1e10), "off the end"),
        (balancing.bypass_setting(30e3, 10e3, 15e3, 25e3), "never opens"),
    ],
)
def test_input_that_is_doubtful_is_calculated_and_flagged(figure, flag):
    assert figure.value is not None
    assert any(flag in text for text in figure.flags + figure.notes)


@pytest.mark.parametrize(
    ("figure", "need"),
    [
        (balancing.source_flow(2e-4, None), "least flow"),
        (flow.flow_for_heat(None, 5, HOUSE), "heat"),
        (mixing.mixed_temperature(((0.0, 40),)), "stream"),
        (mixing.header(0.0, 45, 0.2, 37).secondary_flow, "primary"),
        (reheat.reheat_by_coil(0.2, 10, 50, 6e3, 55, None, HOUSE).total, "conductance"),
        (safety.discharge_pipe("1/2", None, 3).d2, "length"),
        (circulation.wait(1e-3, 0.0), "flow"),
        (buffer.on_time(2500, 2500, 0.05, 5, HOUSE), "load"),
        (balancing.balancing_kv(1e-4, 10e3, 12e3), "index"),
        (emitters.compensated_mean(21, -3, 20, 5e3, 14e3), "heating is off"),
    ],
)
def test_missing_input_gives_no_value_and_says_what_is_needed(figure, need):
    assert figure.value is None
    assert figure.text.startswith("not available, needs") and need in figure.text
    with pytest.raises(BadInput, match="not available"):
        float(figure)


def test_a_figure_shows_its_formula_with_the_numbers_put_in():
    assert flow.flow_for_heat(7000, 5, HOUSE).why == (
        "Q/(ρ·cp·ΔT) = 7000/(992.3·4179·5) = 3.376e-04 m³/s = 20.3 L/min"
    )


def test_the_working_of_a_formula_comes_to_its_value():
    figures = [
        flow.flow_for_heat(7000, 5, HOUSE), pipes.velocity(3e-4, 0.0262),
        mixing.header(0.15, 45, 0.2, 37).secondary_flow,
        vessels.heating_vessel(3.1e-3, 0.186, 0.9e5, 2.5e5), vessels.hot_pressure(0.018, 0.9e5, 1.3e5, 3e-3),
        store_loss.standing_ua(56), buffer.defrost_drop(1.8e6, 0.06, HOUSE), balancing.bypass_setting(3e4, 1e4, 1e4),
        coil.coil_heat(900, 0.3, 4179, 55, 45), circulation.circulation_flow(450, HOUSE),
        vessels.static_pressure(5),
    ]  # fmt: skip
    for figure in figures:
        expression = figure.working.replace("·", "*").replace("−", "-").replace("²", "**2").replace("π", "math.pi")
        assert eval(expression, {"math": math}) == pytest.approx(figure.value, rel=1e-4), figure.name


def test_a_figure_carries_its_source_and_its_inputs_with_units():
    figure = vessels.heating_vessel(3.1e-3, 0.186, 0.9e5, 2.5e5)
    assert "EN 12828" in figure.source
    assert {(g.symbol, g.value, g.unit) for g in figure.inputs} >= {("Ve", 3.1e-3, "m³"), ("p0", 0.9e5, "Pa")}


def test_a_remark_is_no_warning():
    figure = pumps.pump_duty((pumps.Path("zone 2", (("pipe", 5e3),)),))
    assert figure.flags == () and figure.notes == ("index circuit: zone 2",)


def test_a_default_that_was_used_is_listed_and_one_that_was_given_is_not():
    assert any("10 °C" in text for text in vessels.expansion(Liquid(), 60).assumptions)
    assert vessels.expansion(Liquid(), 60, 15).assumptions == ()


def test_every_public_calculation_has_a_docstring_with_its_units():
    for module in MODULES:
        for name, member in vars(module).items():
            if callable(member) and hasattr(member, "__wrapped__") and not name.startswith("_"):
                assert "[" in member.__doc__, f"{module.__name__}.{name} does not give its unit"


def test_the_usual_wall_is_found_from_the_size_alone():
    assert pipes.find_pipe("22 mm", "copper").name == "22×0.9"
    assert pipes.find_pipe("22x1.0", "copper").bore_m == pytest.approx(0.020)
    assert pipes.find_pipe("3/4 in", "steel").name == "DN20"
    assert {p.material for m in pipes.MATERIALS for p in pipes.pipe_sizes(m)} == set(pipes.MATERIALS)


def test_limits_are_flags_with_their_source():
    limit = pipes.limits("heating", 0.0202)
    assert pipes.limit_flags(0.8, 200, limit) == ()
    assert len(pipes.limit_flags(1.2, 400, limit)) == 2
    assert pipes.limit_flags(0.0, 0.0, limit) == ()
    assert "air" in pipes.limit_flags(0.1, 10, limit)[0]
    assert pipes.limits("heating", 0.060).most_ms == 1.5


def test_a_bypass_setting_lies_a_tenth_above_the_design_difference():
    assert balancing.bypass_setting(30e3, 10e3, 18e3).flags == ()
    assert float(balancing.bypass_setting(30e3, 10e3, 18e3)) == 20e3
    assert "normal running" in balancing.bypass_setting(30e3, 10e3, 18.5e3).flags[0]


def test_zone_states_are_all_told_and_judged():
    zones = (balancing.Zone("underfloor", 0.0643e-3), balancing.Zone("radiators", 0.13505e-3))
    states = balancing.zone_states(zones, 0.2e-3)
    assert [s.open_zones for s in states] == [("underfloor", "radiators"), ("underfloor",), ("radiators",)]
    assert not any(s.enough_flow for s in states)
    assert all(s.enough_flow for s in balancing.zone_states(zones, 0.2e-3, separated_m3s=0.289e-3))
    many = tuple(balancing.Zone(f"z{i}", 1e-5) for i in range(20))
    assert len(balancing.zone_states(many, 1e-4)) == 21


@pytest.mark.parametrize(
    ("criterion", "outcome"),
    [
        (hygiene.store_criterion(60), "met"),
        (hygiene.store_criterion(50), "warning"),
        (hygiene.store_criterion(50, 60, 3600), "met with note"),
        (hygiene.store_criterion(50, 60, 1800), "warning"),
        (hygiene.store_criterion(None), "not assessed"),
        (hygiene.circulation_criterion(50), "met"),
        (hygiene.circulation_criterion(48), "not met"),
        (hygiene.circulation_criterion(52, healthcare=True), "not met"),
        (hygiene.outlet_criterion(50), "met"),
        (hygiene.distribution_criterion(54), "not met"),
        (hygiene.cold_criterion(22), "warning"),
        (hygiene.cold_criterion(12), "met"),
        (hygiene.blended_criterion(43, 3), "warning"),
        (hygiene.blended_criterion(43, 1), "met"),
    ],
)
def test_hygiene_criteria_say_which_is_met_and_never_that_water_is_safe(criterion, outcome):
    assert criterion.outcome == outcome
    assert criterion.source and "safe" not in criterion.text
