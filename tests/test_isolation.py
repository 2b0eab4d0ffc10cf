"""Which valves to shut: the fewest that part a place from its water, found again by trying every set of valves."""

import itertools
import random
from functools import cache
from pathlib import Path

import pytest

from schemagen import pipeline
from schemagen.joblist.read import read_text
from schemagen.network.network import PortId
from schemagen.parts.kind import OUTSIDE
from schemagen.schedules.dossier import Dossier

EXAMPLES = Path(__file__).resolve().parent.parent / "examples"


def dossier_of(text: str) -> Dossier:
    job = pipeline.job_of(read_text(text, "yaml"))
    return Dossier(job._facts, job.report, job.sizes)


@cache
def example(number: str) -> Dossier:
    job = pipeline.read(next(EXAMPLES.glob(f"{number}_*")))
    return Dossier(job._facts, job.report, job.sizes)


def shut_off(dossier: Dossier, job: str):
    return next(s for s in dossier.shut_offs if s.job == job)


# an oracle of its own: a flood through pipes and through the open ways of parts


def flooded(dossier: Dossier, starts, shut) -> set[PortId]:
    """Ports that water reaches when the valves `shut` are shut and all others stand as in normal use."""
    network, seen, todo = dossier.network, set(starts), list(starts)
    while todo:
        port = todo.pop()
        part = network.parts[port.tag]
        onward = [network.far_end(pipe, port) for pipe in network.pipes_at.get(port, ())]
        for way in part.kind.passages if port.tag not in shut and part.kind.family != "ends" else ():
            standing = part.kind.moved_by == "hand" and way.positions and part.kind.normal not in way.positions
            if way.sort in ("both", "one-way") and OUTSIDE not in (way.a, way.b) and not standing:
                onward += [PortId(port.tag, b) for a, b in ((way.a, way.b), (way.b, way.a)) if a == port.port]
        fresh = set(onward) - seen
        seen |= fresh
        todo += fresh
    return seen


def fewest(dossier: Dossier, starts, ends, valves) -> int | None:
    """How many valves it takes at least, by trying all sets in the order of their size."""
    for count in range(len(valves) + 1):
        for chosen in itertools.combinations(valves, count):
            if not flooded(dossier, starts, chosen) & set(ends):
                return count
    return None


def random_house(seed: int) -> str:
    """Cold pipework: a main, tees, valves on some branches, rings here and there, and taps."""
    rng = random.Random(seed)
    parts, runs = ["CM1: {kind: cold-main}", "CM2: {kind: cold-main}"], []
    joints = rng.randrange(3, 6)
    parts += [f"H{n}: {{kind: header}}" for n in range(joints)]
    valves = 0

    def pipe(a: str, b: str) -> None:
        nonlocal valves
        if rng.random() < 0.7 and valves < 9:
            valves += 1
            parts.append(f"V{valves}: {{kind: isolating-valve}}")
            runs.append(f"[{a}, V{valves}, {b}]")
        else:
            runs.append(f"[{a}, {b}]")

    pipe("CM1.out", "H0")
    pipe("CM2.out", f"H{rng.randrange(joints)}")
    for n in range(1, joints):
        pipe(f"H{rng.randrange(n)}", f"H{n}")
    for _ in range(rng.randrange(3)):
        a, b = rng.sample(range(joints), 2)
        pipe(f"H{a}", f"H{b}")
    for n in range(joints):
        parts.append(f"T{n}: {{kind: cold-outlet}}")
        pipe(f"H{n}", f"T{n}.in")
    lines = "\n".join(f"  {part}" for part in parts)
    return f"parts:\n{lines}\nconnections:\n" + "\n".join(f"  - {run}" for run in runs) + "\n"


@pytest.mark.parametrize("seed", range(40))
def test_no_smaller_set_of_valves_parts_a_tap_from_the_mains_than_the_one_found(seed):
    dossier = dossier_of(random_house(seed))
    graph = dossier.valve_graph
    mains = [PortId("CM1", "out"), PortId("CM2", "out")]
    valves = [t for t in dossier.network.parts if t.startswith("V")]
    assert set(graph.usable) == set(valves)
    for tag in dossier.network.parts:
        if tag.startswith("T"):
            tap = [PortId(tag, "in")]
            found = graph.smallest_cut(tap, mains)
            least = fewest(dossier, tap, mains, valves)
            assert (None if found is None else len(found)) == least, tag
            if found is not None:
                assert not flooded(dossier, tap, found) & set(mains), tag


@pytest.mark.parametrize("number", ["01", "02", "03", "05", "06", "07", "08", "09"])
def test_the_valves_named_part_the_place_from_every_supply(number):
    dossier = example(number)
    supplies = {
        PortId(tag, way.a)
        for tag, part in dossier.network.parts.items()
        for way in part.kind.passages
        if way.b == OUTSIDE and way.sort == "both" and not way.positions and "vent" not in part.kind.counts_as
    }
    for s in dossier.shut_offs:
        if s.valves is not None and s.target:
            starts = [p for p in dossier.network.ports() if p.tag in s.target and p in dossier.network.pipes_at]
            if s.sort in ("pump", "outlet", "emitter", "filter"):
                assert not flooded(dossier, starts, s.valves) & supplies, s.job


@pytest.mark.parametrize("number", ["01", "02", "03", "05", "06", "07", "08", "09", "10"])
def test_nothing_that_keeps_the_pressure_safe_is_ever_to_be_shut(number):
    dossier = example(number)
    parts = dossier.network.parts
    for s in dossier.shut_offs:
        for tag in (*(s.valves or ()), *s.refill):
            assert parts[tag].value("locked") != "open", s.job
            assert "lifted" not in parts[tag].kind.positions, s.job
            for port in (PortId(tag, name) for name in parts[tag].kind.ports):
                side = flooded(dossier, [port], (tag,))
                kinds = [parts[p.tag].kind for p in side]
                vessel = any(k.name.endswith("expansion-vessel") for k in kinds)
                useful = any(k.gives or k.takes or k.store or k.driver or k.family == "ends" for k in kinds)
                assert useful or not vessel, (s.job, tag)


def test_the_stop_valve_shuts_off_the_whole_house_and_a_pump_the_valves_beside_it():
    dossier = example("03")
    assert shut_off(dossier, "The whole house").valves == ("SV1",)
    assert shut_off(dossier, "Work on P1 (Heating pump)").valves == ("V4", "V5")
    assert shut_off(dossier, "Work on P2 (Circulation)").valves == ("V7", "V8")
    assert shut_off(dossier, "R2 (Living room) off or leaking").valves == ("LS2", "TV2")


def test_a_flat_is_shut_off_by_its_own_three_valves():
    assert shut_off(example("08"), "Everything in Flat 2").valves == ("VF2", "VR2", "VC2")


def test_where_no_set_of_valves_does_it_the_guide_says_so_and_what_stops_the_refilling():
    leak = shut_off(example("07"), "Leak on the heating pipes")
    assert leak.valves is None
    assert leak.joined_to == ("FC1",)
    assert leak.refill == ("SV2",)


def test_a_sealed_circuit_with_its_filling_loop_off_needs_no_valve():
    leak = shut_off(example("03"), "Leak on the heating pipes")
    assert leak.valves == ()
    assert leak.leave_off == ("FL1",)


TRAPPED = """
parts:
  B1: {kind: heat-only-boiler, capped: [condensate]}
  V1: {kind: isolating-valve}
  V2: {kind: isolating-valve}
  RV1: {kind: relief-valve, setting: 3 bar, at: V2.%s}
  SO1: {kind: safe-outlet}
  EV1: {kind: expansion-vessel, at: V2.%s}
  R1: {kind: radiator}
  P1: {kind: pump}
connections:
  - {run: [B1.flow, V1, R1, P1, V2, B1.return]}
  - [RV1.outlet, SO1.in]
"""


def test_a_source_that_loses_its_relief_valve_is_told_of():
    far = shut_off(dossier_of(TRAPPED % ("a", "a")), "Work on B1 (heat-only boiler)")
    near = shut_off(dossier_of(TRAPPED % ("b", "b")), "Work on B1 (heat-only boiler)")
    assert far.valves == near.valves == ("V1", "V2")
    assert far.notes == ("B1 is then parted from its relief valve: it must be off and cool before, and stay off.",)
    assert near.notes == ()


def test_a_source_that_loses_its_vessel_alone_is_told_of_too():
    answer = shut_off(dossier_of(TRAPPED % ("b", "a")), "Work on B1 (heat-only boiler)")
    assert [note.partition(":")[0] for note in answer.notes] == ["B1 is then parted from its expansion vessel"]


def test_the_valve_of_a_vessel_is_never_usable():
    text = """
parts:
  CM1: {kind: cold-main}
  V1: {kind: isolating-valve}
  V2: {kind: isolating-valve}
  T1: {kind: tee}
  EV1: {kind: wholesome-expansion-vessel, capped: [through]}
  KT1: {kind: cold-outlet}
connections:
  - {run: [CM1.out, V1, T1, KT1.in]}
  - {run: [T1, V2, EV1.port]}
"""
    assert dossier_of(text).valve_graph.usable == ("V1",)


def test_what_stops_is_what_nobody_gets_any_more():
    stops = {s.job: s.stops for s in example("03").shut_offs}
    assert stops["The whole house"] == ("all taps",)
    assert stops["R1 (Hall) off or leaking"] == ("R1 (Hall)",)
    assert stops["Work on P1 (Heating pump)"] == ("all heating",)


def test_a_tap_that_would_run_hot_without_cold_is_named():
    text = """
parts:
  CM1: {kind: cold-main}
  V1: {kind: isolating-valve}
  V2: {kind: isolating-valve}
  T1: {kind: tee}
  ST1: {kind: direct-unvented-cylinder, capped: [circulation-return, relief-tapping]}
  M1: {kind: mixer-outlet, label: Basin}
  KT1: {kind: cold-outlet}
  T2: {kind: tee}
connections:
  - {run: [CM1.out, T1, V1, ST1.cold-in]}
  - {run: [T1, V2, T2, KT1.in]}
  - [T2, M1.cold-in]
  - [ST1.hot-out, M1.hot-in]
"""
    answer = shut_off(dossier_of(text), "Leak at KT1 (cold tap)")
    assert answer.valves == ("V2",)
    assert answer.notes == ("M1 (Basin) then runs hot without cold: do not use it.",)
