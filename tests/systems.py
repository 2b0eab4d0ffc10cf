"""Plausible heating and hot-water systems of any size, made from a seed: lists as a practitioner would write them."""

import random
from dataclasses import dataclass, field

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, PartLine
from schemagen.network.build import build
from schemagen.network.network import Network
from schemagen.network.waters import Waters, find_waters
from schemagen.parts.library import shipped_library

HERE = Place("seeded.yaml", 1)


@dataclass
class _Writer:
    """A list in the making: parts with generated tags, and runs."""

    rng: random.Random
    parts: list[PartLine] = field(default_factory=list)
    runs: list[ConnectionLine] = field(default_factory=list)
    numbers: dict[str, int] = field(default_factory=dict)

    def part(self, letters: str, kind: str, **texts: str) -> str:
        self.numbers[letters] = self.numbers.get(letters, 0) + 1
        tag = f"{letters}{self.numbers[letters]}"
        entries = tuple(Entry(key.replace("_", "-"), text, HERE) for key, text in texts.items() if text)
        self.parts.append(PartLine(tag, kind, entries, HERE))
        return tag

    def run(self, *stops: str, size: str = "") -> None:
        entries = (Entry("size", size, HERE),) if size else ()
        self.runs.append(ConnectionLine(tuple(stops), entries, HERE))

    def tee(self) -> str:
        return self.part("T", "tee")

    def maybe(self, chance: float) -> bool:
        return self.rng.random() < chance


def job(seed: int, size: int) -> JobList:
    """A list of about `size` parts (at least a source with one emitter). The same seed and size give the same list."""
    w = _Writer(random.Random(f"{seed}/{size}"))
    flow, back = _sources(w, 1 + (size > 60 and w.maybe(0.5)) + (size > 400))
    if size > 30 and w.maybe(0.5):
        flow, back = _separator(w, flow, back)
    if size > 25:
        flow, back = _hot_water(w, flow, back, size)
    if size > 55 and w.maybe(0.35):
        _solar(w)
    while True:
        left = size - len(w.parts)
        last = left <= 14
        ways = None if last else (w.tee(), w.tee())
        if ways:
            w.run(flow, ways[0])
            w.run(ways[1], back)
        f, b = ways or (flow, back)
        if left > 150:
            _flat(w, f, b)
        else:
            w.rng.choice((_radiators, _radiators, _floor, _zone))(w, f, b, max(2, min(left, 30)))
        if last:
            break
        flow, back = ways
    return JobList(
        f"seeded-{seed}-{size}", None, (Entry("title", f"Seeded system {seed}", HERE),), tuple(w.parts), tuple(w.runs)
    )


def system(seed: int, size: int) -> tuple[Network, Waters]:
    """The network of such a list, and its waters."""
    network = build(job(seed, size), shipped_library()).network
    return network, find_waters(network)


def _sources(w: _Writer, count: int) -> tuple[str, str]:
    """Sources in cascade with pump and safety group; returns where the common flow leaves and the return arrives."""
    kind = w.rng.choice(("heat-only-boiler", "air-heat-pump", "system-boiler"))
    place = "Outside" if kind == "air-heat-pump" and w.maybe(0.6) else ""
    flow = back = ""
    for n in range(count):
        source = w.part("B", kind, output="12 kW", label="Heat source", place=place)
        mine = [w.part("V", "isolating-valve"), w.part("P", "pump")]
        if w.maybe(0.4):
            mine.append(w.part("CV", "check-valve"))
        if n == 0 and count == 1:
            flow, back = w.tee(), w.part("V", "isolating-valve")
            w.run(f"{source}.flow", *mine, flow, size="28 mm")
            w.run(back, f"{source}.return", size="28 mm")
            break
        f, b = w.tee(), w.tee()
        w.run(f"{source}.flow", *mine, f)
        w.run(b, w.part("V", "isolating-valve"), f"{source}.return")
        if flow:
            w.run(flow, f)
            w.run(b, back)
        flow, back = f, b
    if w.maybe(0.8):
        t = w.tee()
        w.run(flow, t, size="28 mm")
        relief, tundish, end = (
            w.part("RV", "relief-valve", setting="3 bar"),
            w.part("TU", "tundish"),
            w.part("SO", "safe-outlet"),
        )
        w.run(t, f"{relief}.inlet")
        w.run(f"{relief}.outlet", f"{tundish}.in")
        w.run(f"{tundish}.out", f"{end}.in")
        flow = t
    for letters, hung, chance in (
        ("EV", "expansion-vessel", 0.9),
        ("PG", "pressure-gauge", 0.8),
        ("DC", "drain-cock", 0.4),
    ):
        if w.maybe(chance):
            t = w.tee()
            w.run(t, f"{w.part(letters, hung)}.port")
            w.run(t, back)
            back = t
    if w.maybe(0.5):
        f = w.part("MF", "magnetic-filter")
        w.run(f, back)
        back = f
    return flow, back


def _separator(w: _Writer, flow: str, back: str) -> tuple[str, str]:
    kind = w.rng.choice(("buffer-four-pipe", "low-loss-header"))
    s = w.part(
        "BU",
        kind,
        label="Buffer" if kind.startswith("b") else "Low-loss header",
        place="Plant room" if w.maybe(0.4) else "",
    )
    w.run(flow, f"{s}.primary-flow")
    w.run(f"{s}.primary-return", back)
    p, v = w.part("P", "pump"), w.part("V", "isolating-valve")
    w.run(f"{s}.secondary-flow", p)
    w.run(v, f"{s}.secondary-return")
    return p, v


def _hot_water(w: _Writer, flow: str, back: str, size: int) -> tuple[str, str]:
    place = "Airing cupboard" if w.maybe(0.4) else ""
    c = w.part("ST", "indirect-unvented-cylinder", label="Cylinder", volume="180 L", place=place)
    dv, t = w.part("DV", "diverter-valve"), w.tee()
    w.run(flow, f"{dv}.common", size="22 mm")
    w.run(f"{dv}.b", f"{c}.coil-in")
    w.run(f"{c}.coil-out", t)
    w.run(t, back)
    main, stop, reducer, check = (
        w.part("CM", "cold-main"), w.part("V", "isolating-valve"),
        w.part("PR", "pressure-reducer", setting="3 bar"), w.part("CV", "check-valve"),
    )  # fmt: skip
    vessel, relief, last = w.tee(), w.tee(), w.tee()
    w.run(f"{main}.out", stop, reducer, last, check, vessel, relief, f"{c}.cold-in", size="22 mm")
    w.run(vessel, f"{w.part('EV', 'wholesome-expansion-vessel')}.port")
    er, tp, tundish, end, meet = (
        w.part("ER", "expansion-relief-valve", setting="6 bar"),
        w.part("TP", "temperature-and-pressure-relief-valve", setting="7 bar", place=place),
        w.part("TU", "tundish", place=place), w.part("SO", "safe-outlet"), w.tee(),
    )  # fmt: skip
    w.run(relief, f"{er}.inlet")
    w.run(f"{c}.relief-tapping", f"{tp}.inlet")
    w.run(f"{er}.outlet", meet)
    w.run(f"{tp}.outlet", meet)
    w.run(meet, f"{tundish}.in")
    w.run(f"{tundish}.out", f"{end}.in")
    if w.maybe(0.5):
        w.part("IH", "immersion-heater", on=c)
    w.part("CT", "cylinder-thermostat", on=c, switches=dv)
    _taps(w, f"{c}.hot-out", last, w.rng.randint(1, 4), f"{c}.circulation-return" if size > 60 and w.maybe(0.5) else "")
    return f"{dv}.a", t


def _taps(w: _Writer, hot: str, cold: str, count: int, circulation: str) -> None:
    mixer = w.part("MV", "thermostatic-mixing-valve", setting="46 °C")
    w.run(hot, f"{mixer}.hot", size="22 mm")
    t = w.tee()
    w.run(cold, t)
    w.run(t, f"{mixer}.cold")
    at, cold = f"{mixer}.mixed", t
    if circulation:
        t = w.tee()
        w.run(at, t)
        w.run(
            t,
            w.part("V", "isolating-valve"),
            w.part("P", "wholesome-circulating-pump"),
            w.part("CV", "check-valve"),
            circulation,
        )
        at = t
    for n in range(count):
        if n < count - 1:
            t = w.tee()
            w.run(at, t)
            w.run(t, f"{w.part('HO', 'hot-outlet', label=f'Tap {n + 1}')}.in", size="15 mm")
            at = t
        else:
            w.run(at, f"{w.part('HO', 'hot-outlet', label='Last tap')}.in")
    w.run(cold, f"{w.part('KT', 'cold-outlet', label='Kitchen tap')}.in", size="15 mm")


def _solar(w: _Writer) -> None:
    c = w.part("ST", "twin-coil-unvented-cylinder", label="Solar store", volume="300 L")
    panels = [w.part("SC", "solar-collector", place="Roof" if w.maybe(0.5) else "") for _ in range(w.rng.randint(1, 3))]
    for a, b in zip(panels, panels[1:], strict=False):
        w.run(f"{a}.out", f"{b}.in")
    vent, vessel, relief = w.tee(), w.tee(), w.tee()
    w.run(f"{panels[-1]}.out", vent, w.part("V", "isolating-valve"), f"{c}.lower-coil-in", size="18 mm")
    w.run(vent, f"{w.part('AV', 'air-vent')}.port")
    w.run(f"{c}.lower-coil-out", vessel, relief, w.part("P", "pump"), w.part("CV", "check-valve"), f"{panels[0]}.in")
    w.run(vessel, f"{w.part('EV', 'expansion-vessel')}.port")
    rv, can = w.part("RV", "relief-valve", setting="6 bar"), w.part("CC", "collecting-container")
    w.run(relief, f"{rv}.inlet")
    w.run(f"{rv}.outlet", f"{can}.in")


def _valved(w: _Writer, flow: str) -> str:
    """A zone valve with its thermostat, sometimes a pump before it; returns the point behind."""
    zv = w.part("ZV", "zone-valve")
    w.part("RT", "room-thermostat", switches=zv, setting="20 °C")
    if w.maybe(0.3):
        p = w.part("P", "pump")
        w.run(flow, p, zv)
    else:
        w.run(flow, zv, size="22 mm")
    return zv


def _radiators(w: _Writer, flow: str, back: str, room: int) -> None:
    count = max(1, min(6, room // 5, w.rng.randint(2, 6)))
    flow = _valved(w, flow)
    for n in range(count):
        r = w.part("R", "radiator", label=f"Room {n + 1}", output="1.2 kW")
        tv, ls = w.part("TV", "thermostatic-radiator-valve"), w.part("LS", "lockshield-valve")
        if n < count - 1:
            f, b = w.tee(), w.tee()
            w.run(flow, f, size="15 mm")
            w.run(b, back)
            flow, back = f, b
        w.run(flow, tv, f"{r}.a")
        w.run(f"{r}.b", ls, back)


def _floor(w: _Writer, flow: str, back: str, room: int) -> None:
    flow = _valved(w, flow)
    loops = w.rng.randint(2, 4)
    set_ = w.part("MS", "mixing-set")
    m = w.part("UM", "underfloor-manifold", label="Ground floor", loops=str(loops))
    w.run(flow, f"{set_}.source-flow")
    w.run(f"{set_}.source-return", back)
    w.run(f"{set_}.load-flow", f"{m}.flow-in")
    w.run(f"{m}.return-out", f"{set_}.load-return")
    if room > 12 and w.maybe(0.5):
        for n in range(1, loops + 1):
            loop = w.part("UL", "underfloor-loop", label=f"Loop {n}")
            w.run(f"{m}.loop-{n}-flow", f"{loop}.in")
            w.run(f"{loop}.out", f"{m}.loop-{n}-return")


def _zone(w: _Writer, flow: str, back: str, room: int) -> None:
    flow = _valved(w, flow)
    kind = w.rng.choice(("fan-coil", "heating-zone"))
    z = w.part("HZ", kind, label="Zone")
    w.run(flow, f"{z}.in")
    w.run(f"{z}.out", w.part("BV", "balancing-valve"), back)


def _flat(w: _Writer, flow: str, back: str) -> None:
    """A dwelling behind a heat interface unit: radiators, and a tap on its hot side."""
    place = f"Flat {w.numbers.get('HI', 0) + 1}"
    h = w.part("HI", "heat-interface-unit", label=place, place=place)
    w.run(flow, w.part("V", "isolating-valve"), f"{h}.network-flow")
    w.run(f"{h}.network-return", w.part("BV", "balancing-valve"), back)
    f, b = f"{h}.flow", f"{h}.return"
    for n in range(3):
        r = w.part("R", "radiator", label=f"Room {n + 1}", place=place)
        tv, ls = w.part("TV", "thermostatic-radiator-valve", place=place), w.part("LS", "lockshield-valve", place=place)
        if n < 2:
            tf, tb = w.part("T", "tee", place=place), w.part("T", "tee", place=place)
            w.run(f, tf)
            w.run(tb, b)
            f, b = tf, tb
        w.run(f, tv, f"{r}.a")
        w.run(f"{r}.b", ls, b)
    main, tap = w.part("CM", "cold-main", place=place), w.part("HO", "hot-outlet", place=place)
    w.run(f"{main}.out", f"{h}.cold-in")
    w.run(f"{h}.hot-out", f"{tap}.in")
