"""Seeded systems without a fault: a boiler or a heat pump, zones of radiators, a floor, a cylinder, the sun."""

import random

from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, Row
from tests.systems import HERE, _Writer


class _Sound(_Writer):
    """A list in the making whose runs may name new kinds and hang parts on openings."""

    def hang(self, letters: str, kind: str, at: str, **texts: str) -> str:
        return self.part(letters, kind, at=at, **texts)

    def long(self, *stops: str, size: str, **fields: str) -> None:
        entries = tuple(Entry(key, text, HERE) for key, text in (("size", size), *fields.items()))
        self.runs.append(ConnectionLine(tuple(stops), entries, HERE))

    def switch(self, device: str, **texts: str) -> str:
        letters = {"room-thermostat": "RT", "cylinder-thermostat": "CT", "programmer": "PR"}.get(device, "CO")
        return self.part(letters, device, **texts)


def sound_job(seed: int) -> JobList:
    """A correct list from a seed; the same seed gives the same list."""
    w = _Sound(random.Random(f"sound/{seed}"))
    if w.maybe(0.4):
        _heat_pump_house(w)
    else:
        _boiler_house(w)
    words = {"title": f"Sound system {seed}", "number": f"S-{seed}", "revision": "A"}
    sheet = tuple(Entry(key, text, HERE) for key, text in words.items())
    fluids = (Row("heating-water", (Entry("antifreeze", "0 %", HERE), Entry("inhibitor", "yes", HERE)), HERE),)
    return JobList(f"sound-{seed}", None, sheet, tuple(w.parts), tuple(w.runs), fluids=fluids)


def _boiler_house(w: _Sound) -> None:
    """A boiler whose zones have a valve each, with a bypass, and a cylinder on a valve of its own."""
    own_pump = w.maybe(0.5)
    kind = "system-boiler" if own_pump else "heat-only-boiler"
    boiler = w.part("B", kind, label="Boiler", output="18 kW", flow_temperature="70 °C", overrun="yes")
    stack = w.part("WS", "waste-stack", trap="mechanical", own_branch="yes")
    w.run(f"{boiler}.condensate", stack, size="22 mm")
    w.hang("TI", "thermometer", f"{boiler}.flow")
    w.hang("TI", "thermometer", f"{boiler}.return")
    first, valve = w.tee(), w.part("V", "isolating-valve")
    flow = [f"{boiler}.flow"]
    if own_pump:
        w.run(f"{boiler}.relief-outlet", w.part("SO", "safe-outlet"), size="15 mm")
        flow += [valve, first]
    else:
        relief_tee, pump, behind = w.tee(), w.part("P", "pump"), w.part("V", "isolating-valve")
        relief, end = w.part("RV", "relief-valve", setting="3 bar"), w.part("SO", "safe-outlet")
        w.run(relief_tee, f"{relief}.inlet", size="15 mm")
        w.run(f"{relief}.outlet", end, size="15 mm")
        w.hang("EV", "expansion-vessel", f"{boiler}.return", volume="18 L", pre_charge="1 bar")
        w.hang("PG", "pressure-gauge", f"{boiler}.return")
        flow += [relief_tee, valve, pump, behind, first]
    w.run(*flow, size="28 mm")
    w.hang("AV", "air-vent", f"{first}.a")
    home = _way_home(w, f"{boiler}.return", first)
    pumps = (boiler,) if own_pump else (pump, boiler)
    ways = w.rng.randint(1, 3)
    cylinder = w.rng.choice(("", "vented", "unvented", "solar"))
    floor = w.maybe(0.4)
    loads = [lambda f, b: _radiator_zone(w, f, b, pumps) for _ in range(ways)]
    loads += [lambda f, b: _floor_zone(w, f, b, boiler)] if floor and own_pump else []
    loads += [lambda f, b: _cylinder(w, f, b, pumps, cylinder)] if cylinder else []
    _branches(w, first, home, loads)
    if not cylinder:
        _cold_supply(w)


def _way_home(w: _Sound, end: str, first: str) -> str:
    """Common return with bypass, filling and filter; the tee at which the branches come home."""
    home, w.fill = w.tee(), w.tee()
    v, mf, v2 = w.part("V", "isolating-valve"), w.part("MF", "magnetic-filter"), w.part("V", "isolating-valve")
    w.run(home, w.fill, v, mf, v2, end, size="28 mm")
    w.hang("DC", "drain-cock", f"{v}.a")
    w.run(first, w.part("BP", "bypass-valve"), home, size="22 mm")
    return home


def _branches(w: _Sound, flow: str, back: str, loads: list) -> None:
    """Loads between flow and return, one after the other along the main."""
    for load in loads[:-1]:
        f, b = w.tee(), w.tee()
        w.run(flow, f, size="28 mm")
        w.run(b, back, size="28 mm")
        flow, back = f, b
        load(flow, back)
    loads[-1](flow, back)


def _radiator_zone(w: _Sound, flow: str, back: str, pumps: tuple[str, ...]) -> None:
    valve, count = w.part("ZV", "zone-valve"), w.rng.randint(1, 5)
    room = f"Room {valve}"
    w.switch("room-thermostat", room=room, setting="20 °C", switches=", ".join((valve, *pumps)))
    w.run(flow, valve, size="22 mm")
    flow = valve
    for n in range(count):
        here = room if n == 0 else f"Room {valve}-{n + 1}"
        r = w.part("R", "radiator", room=here, output="1.2 kW")
        tv = w.part("WV", "isolating-valve") if n == 0 else w.part("TV", "thermostatic-radiator-valve")
        ls = w.part("LS", "lockshield-valve")
        if n < count - 1:
            f, b = w.tee(), w.tee()
            w.run(flow, f, size="22 mm")
            w.run(b, back, size="22 mm")
            flow, back = f, b
        w.run(flow, tv, r, ls, back, size="15 mm")


def _floor_zone(w: _Sound, flow: str, back: str, boiler: str) -> None:
    valve, mixer, manifold = w.part("ZV", "zone-valve"), w.part("MS", "mixing-set", setting="40 °C"), "UM1"
    w.part("UM", "underfloor-manifold")
    v, v2 = w.part("V", "isolating-valve"), w.part("V", "isolating-valve")
    w.run(flow, valve, v, f"{mixer}.source-flow", size="22 mm")
    w.run(f"{mixer}.source-return", v2, w.part("BV", "balancing-valve"), back, size="22 mm")
    w.run(f"{mixer}.load-flow", f"{manifold}.flow-in", size="28 mm")
    w.run(f"{manifold}.return-out", f"{mixer}.load-return", size="28 mm")
    for n in range(1, w.rng.randint(2, 5) + 1):
        loop = w.part("UL", "underfloor-loop", length="70 m", room=f"Floor {n}")
        w.run(f"{manifold}.loop-{n}-flow", loop, f"{manifold}.loop-{n}-return", size="16 mm")
        switches = ", ".join((manifold, valve, mixer, boiler))
        w.switch("room-thermostat", room=f"Floor {n}", setting="20 °C", switches=switches)
    w.part("PT", "pipe-thermostat", on=f"{mixer}.load-flow", setting="50 °C", switches=mixer)


def _cold_supply(w: _Sound) -> str:
    """Main, stop valve, drain, filling and drinking tap; returns the tee at which the cold goes on, if it does."""
    main, stop = w.part("CM", "cold-main"), w.part("SV", "isolating-valve")
    tap = w.part("KT", "cold-outlet", drinking="yes")
    w.hang("DC", "drain-cock", f"{stop}.b")
    tee = w.tee()
    w.run(f"{main}.out", stop, tee, size="22 mm")
    w.run(tee, f"{tap}.in", size="15 mm")
    w.run(tee, w.part("CV", "double-check-valve"), w.part("FL", "filling-loop"), w.fill, size="15 mm")
    return stop


def _cold_on(w: _Sound) -> str:
    stop = _cold_supply(w)
    tee = w.tee()
    w.runs = [
        ConnectionLine((*run.stops[:2], tee, run.stops[2]), run.entries, run.place) if stop in run.stops else run
        for run in w.runs
    ]
    return tee


def _cylinder(w: _Sound, flow: str, back: str, pumps: tuple[str, ...], sort: str) -> None:
    valve, balance = w.part("ZV", "zone-valve"), w.part("BV", "balancing-valve")
    cold = _cold_on(w)
    if sort == "vented":
        store = _vented(w, cold)
    else:
        store = _unvented(w, cold, "twin-coil-unvented-cylinder" if sort == "solar" else "indirect-unvented-cylinder")
        w.switch("cut-out-thermostat", on=store, setting="85 °C", switches=valve)
    coil = "upper-coil" if sort == "solar" else "coil"
    w.run(flow, valve, f"{store}.{coil}-in", size="22 mm")
    w.run(f"{store}.{coil}-out", balance, back, size="22 mm")
    w.switch("cylinder-thermostat", on=store, setting="60 °C", switches=", ".join((valve, *pumps)))
    if sort == "solar":
        _sun(w, store)


def _taps(w: _Sound, hot: str, cold: str, solar: bool) -> None:
    """A bath behind a mixing valve and a kitchen tap; behind a store that the sun heats, both blended."""
    built = "check, strainer, isolating"
    bath, tap = w.part("BA", "bath-outlet"), w.part("HO", "hot-outlet")
    mixer = w.part("MV", "thermostatic-mixing-valve", setting="44 °C", built_in=built)
    t_hot, t_cold = w.tee(), w.tee()
    if solar:
        guard, more = w.part("MV", "thermostatic-mixing-valve", setting="48 °C", built_in=built), w.tee()
        w.long(hot, f"{guard}.hot", size="22 mm", length="1 m")
        w.run(cold, more, f"{guard}.cold", size="22 mm")
        w.run(more, t_cold, size="22 mm")
        w.long(f"{guard}.mixed", t_hot, f"{mixer}.hot", size="22 mm", length="3 m")
    else:
        w.long(hot, t_hot, f"{mixer}.hot", size="22 mm", length="3 m")
        w.run(cold, t_cold, size="22 mm")
    w.long(t_hot, f"{tap}.in", size="15 mm", length="3 m")
    w.run(t_cold, f"{mixer}.cold", size="22 mm")
    w.run(t_cold, f"{bath}.cold-in", size="22 mm")
    w.long(f"{mixer}.mixed", f"{bath}.hot-in", size="22 mm", length="1 m")


def _vented(w: _Sound, cold: str) -> str:
    cistern = w.part("CW", "cold-water-cistern", volume="227 L")
    capped = "circulation-return"
    store = w.part("ST", "vented-cylinder", volume="140 L", setting="60 °C", coil_output="12 kW", capped=capped)
    vent, end = w.part("OV", "open-vent-end", over=cistern), w.part("SO", "safe-outlet")
    w.hang("DC", "drain-cock", f"{store}.cold-in")
    w.run(cold, w.part("SV", "isolating-valve"), f"{cistern}.supply", size="15 mm")
    w.run(f"{cistern}.overflow", f"{end}.in", size="22 mm")
    w.run(f"{cistern}.outlet", w.part("V", "isolating-valve"), f"{store}.cold-in", size="22 mm")
    rise = w.tee()
    w.run(f"{store}.hot-out", rise, size="22 mm")
    w.run(rise, f"{vent}.port", size="22 mm")
    other = w.part("V", "isolating-valve")
    w.run(f"{cistern}.outlet-2", other, size="22 mm")
    _taps(w, rise, other, False)
    return store


def _unvented(w: _Sound, cold: str, kind: str) -> str:
    circulated = kind == "indirect-unvented-cylinder" and w.maybe(0.4)
    more = {} if circulated else {"capped": "circulation-return"}
    area = {"coil_area": "3 m²"} if kind == "indirect-unvented-cylinder" else {}
    store = w.part(
        "ST", kind, volume="210 L", setting="60 °C", working_pressure="6 bar", max_pressure="8 bar", **more, **area
    )
    relief = w.part("TP", "temperature-and-pressure-relief-valve", setting="7 bar", size="1/2 in")
    tundish, end, meet = w.part("TU", "tundish"), w.part("SO", "safe-outlet"), w.tee()
    w.run(f"{store}.relief-tapping", f"{relief}.inlet", size="15 mm")
    w.long(f"{relief}.outlet", meet, f"{tundish}.in", size="15 mm", length="200 mm")
    w.long(f"{tundish}.out", f"{end}.in", size="22 mm", length="4 m", bends="3", drop="400 mm", fall="1:100")
    vessel = w.part("EV", "wholesome-expansion-vessel", volume="24 L", **{"pre_charge": "3 bar", "capped": "through"})
    w.hang("DC", "drain-cock", f"{vessel}.port")
    w.hang("DC", "drain-cock", f"{store}.cold-in")
    lock = w.part("V", "isolating-valve", locked="open")
    if w.maybe(0.5):
        group = w.part("IG", "inlet-control-group", setting="3 bar", relief_setting="6 bar")
        w.run(cold, f"{group}.main-in", size="22 mm")
        w.run(f"{group}.cylinder-out", f"{store}.cold-in", size="22 mm")
        w.run(f"{group}.vessel", lock, f"{vessel}.port", size="15 mm")
        w.long(f"{group}.relief-outlet", meet, size="15 mm", length="200 mm")
        balanced = f"{group}.balanced-cold-out"
    else:
        reducer = w.part("PR", "pressure-reducer", setting="3 bar")
        check, a, b, balanced = w.part("CV", "check-valve"), w.tee(), w.tee(), w.tee()
        w.run(cold, w.part("SR", "strainer"), reducer, balanced, check, a, b, f"{store}.cold-in", size="22 mm")
        w.run(a, lock, f"{vessel}.port", size="15 mm")
        expansion = w.part("ER", "expansion-relief-valve", setting="6 bar", size="1/2 in")
        w.run(b, f"{expansion}.inlet", size="15 mm")
        w.long(f"{expansion}.outlet", meet, size="15 mm", length="200 mm")
    hot = f"{store}.hot-out"
    if circulated:
        hot = w.tee()
        w.run(f"{store}.hot-out", hot, size="22 mm")
        v, p, c, v2 = (
            w.part("V", "isolating-valve"), w.part("P", "wholesome-circulating-pump"), w.part("CV", "check-valve"),
            w.part("V", "isolating-valve"),
        )  # fmt: skip
        w.run(hot, v, p, c, v2, f"{store}.circulation-return", size="15 mm")
        w.part("PT", "pipe-thermostat", on=f"{v}.a", setting="55 °C", switches=p)
        w.switch("programmer", switches=p)
    _taps(w, hot, balanced, kind.startswith("twin"))
    return store


def _sun(w: _Sound, store: str) -> None:
    """The collector circuit of a twin-coil store."""
    panel = w.part("SC", "solar-collector", area="4 m²", volume="3 L", place="Roof")
    w.hang("AV", "air-vent", f"{panel}.out", place="Roof")
    w.hang("TI", "thermometer", f"{store}.lower-coil-in")
    reader = w.part("FR", "flow-regulator", flow="3 L/min")
    w.hang("TI", "thermometer", f"{reader}.in")
    v, p, v2 = w.part("V", "isolating-valve"), w.part("P", "pump"), w.part("V", "isolating-valve")
    check = w.part("CV", "check-valve", spring="yes")
    flush = w.part("FF", "fill-and-flush-valves", capped="fill, flush")
    a, b = w.tee(), w.tee()
    relief, can = w.part("RV", "relief-valve", setting="6 bar"), w.part("CC", "collecting-container")
    cool = w.part("IV", "intermediate-vessel", volume="6 L")
    vessel = w.part("EV", "solar-expansion-vessel", volume="25 L", pre_charge="2 bar")
    w.hang("PG", "pressure-gauge", f"{a}.a")
    fluid = {"medium": "antifreeze-mix"}
    w.long(f"{panel}.out", f"{store}.lower-coil-in", size="22 mm", **fluid)
    w.long(f"{store}.lower-coil-out", v, p, v2, check, reader, flush, a, b, f"{panel}.in", size="22 mm", **fluid)
    w.run(a, f"{relief}.inlet", size="15 mm")
    w.run(f"{relief}.outlet", f"{can}.in", size="15 mm")
    w.run(b, cool, f"{vessel}.port", size="15 mm")
    w.switch("cut-out-thermostat", on=store, setting="85 °C", switches=p)
    control = w.part("CR", "controller", switches=p)
    w.part("SS", "temperature-sensor", on=panel, switches=control)
    w.part("SS", "temperature-sensor", on=f"{store}.lower-coil-out", switches=control)


def _heat_pump_house(w: _Sound) -> None:
    """A heat pump with a buffer or a low-loss header for heating and an unvented cylinder on a diverter."""
    out = "Outside"
    pump = w.part(
        "HP", "air-heat-pump", label="Heat pump", output="8 kW", flow_temperature="45 °C", max_flow="65 °C",
        min_flow="14 L/min", min_volume="80 L", capped="relief-outlet", place=out,
    )  # fmt: skip
    h1, h2 = w.part("FH", "flexible-hose", place=out), w.part("FH", "flexible-hose", place=out)
    w.hang("DC", "drain-cock", f"{h2}.a", place=out)
    a1, a2 = (w.part("AF", "inline-antifreeze-valve", setting="3 °C", place=out) for _ in range(2))
    relief_tee, relief, end = w.tee(), w.part("RV", "relief-valve", setting="3 bar"), w.part("SO", "safe-outlet")
    v = w.part("V", "isolating-valve")
    w.hang("AV", "air-vent", f"{v}.b")
    w.hang("TI", "thermometer", f"{v}.a")
    diverter = w.part("DV", "diverter-valve", rest="b", serves="a: hot-water, b: heating")
    buffer = w.part("BU", "buffer-four-pipe", label="Buffer", volume="100 L")
    w.hang("AV", "air-vent", f"{buffer}.vent")
    w.hang("DC", "drain-cock", f"{buffer}.drain")
    for name in ("primary-flow", "primary-return", "secondary-flow", "secondary-return"):
        w.hang("TI", "thermometer", f"{buffer}.{name}")
    w.run(f"{pump}.flow", h1, a1, relief_tee, v, f"{diverter}.common", size="28 mm")
    w.run(relief_tee, f"{relief}.inlet", size="15 mm")
    w.run(f"{relief}.outlet", f"{end}.in", size="15 mm")
    meet, w.fill = w.tee(), w.tee()
    v2, v3 = w.part("V", "isolating-valve"), w.part("V", "isolating-valve")
    w.hang("EV", "expansion-vessel", f"{v3}.b", volume="25 L", pre_charge="1 bar")
    w.hang("PG", "pressure-gauge", f"{v3}.b")
    w.hang("TI", "thermometer", f"{v3}.b")
    w.run(f"{diverter}.b", f"{buffer}.primary-flow", size="28 mm")
    home = [w.fill, v2, w.part("MF", "magnetic-filter"), w.part("FR", "flow-regulator", flow="20 L/min"), v3]
    w.run(f"{buffer}.primary-return", meet, *home, a2, h2, f"{pump}.return", size="28 mm")
    store = _unvented(w, _cold_on(w), "indirect-unvented-cylinder")
    w.run(f"{diverter}.a", f"{store}.coil-in", size="28 mm")
    w.run(f"{store}.coil-out", meet, size="28 mm")
    w.part("IH", "immersion-heater", on=store, power="3 kW", covers="whole")
    both = f"{diverter}, {pump}"
    w.switch("cylinder-thermostat", on=store, setting="60 °C", switches=both, priority="1")
    w.switch("cut-out-thermostat", on=store, setting="85 °C", switches=both)
    w.part("TS", "temperature-sensor", on=buffer, switches=pump)
    v4, p, v5, split, join = (
        w.part("V", "isolating-valve"), w.part("P", "pump"), w.part("V", "isolating-valve"), w.tee(), w.tee(),
    )  # fmt: skip
    w.run(f"{buffer}.secondary-flow", v4, p, v5, split, size="22 mm")
    w.run(split, w.part("BP", "bypass-valve"), join, size="22 mm")
    w.run(join, f"{buffer}.secondary-return", size="22 mm")
    _branches(w, split, join, [lambda f, b: _radiator_zone(w, f, b, (p,)) for _ in range(w.rng.randint(1, 3))])
