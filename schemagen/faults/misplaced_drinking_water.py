"""Taps, and what stands before and behind a hot-water store, tied to the wrong pipe of the drinking water."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.checks.facts import Facts
from schemagen.faults.change import stub_moved, tied_to
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import PortId


def _circulation_to_hot(facts: Facts) -> Iterator[Edit]:
    """A circulation that comes back to the hot pipe instead of to the store."""
    for store in facts.network.parts.values():
        back = facts.pipe_at(PortId(store.tag, "circulation-return"))
        hot = facts.pipe_at(PortId(store.tag, "hot-out"))
        if back and hot:
            network, tee = tied_to(facts.network, facts.library, back, PortId(store.tag, "circulation-return"), hot)
            values = {**store.values, "capped": (*store.capped, "circulation-return")}
            network = replace(network, parts={**network.parts, store.tag: replace(store, values=values)})
            pumps = [p.tag for p in facts.parts("wholesome-circulating-pump")]
            yield Edit((tee, store.tag, *pumps), f"The circulation of {store.tag} comes back to its hot pipe.", network)


def _relief_in_hot_pipe(facts: Facts) -> Iterator[Edit]:
    """The temperature relief of a store moved from its tapping into the hot pipe."""
    for relief in facts.parts("temperature-and-pressure-relief-valve"):
        pipe = facts.pipe_at(PortId(relief.tag, "inlet"))
        store = pipe and facts.network.far_end(pipe, PortId(relief.tag, "inlet"))
        hot = store and facts.pipe_at(PortId(store.tag, "hot-out"))
        if hot and store.port == "relief-tapping":
            network, tee = stub_moved(facts.network, facts.library, PortId(relief.tag, "inlet"), hot)
            yield Edit((relief.tag, store.tag, tee), f"{relief.tag} stands in the hot pipe of {store.tag}.", network)


def _expansion_relief_before_check(facts: Facts) -> Iterator[Edit]:
    return _before_check(facts, "expansion-relief-valve", "inlet")


def _drinking_vessel_before_check(facts: Facts) -> Iterator[Edit]:
    return _before_check(facts, "wholesome-expansion-vessel", "port")


def _before_check(facts: Facts, kind: str, port: str) -> Iterator[Edit]:
    """What guards an unvented store moved to the wrong side of its check valve."""
    for guard in facts.parts(kind):
        for check in facts.parts("check-valve"):
            pipe = facts.pipe_at(PortId(check.tag, "in"))
            if pipe and facts.waters.medium[pipe.index] == "cold":
                network, tee = stub_moved(facts.network, facts.library, PortId(guard.tag, port), pipe)
                at = (guard.tag, check.tag, tee, *_stores(facts))
                yield Edit(at, f"{guard.tag} stands before {check.tag}.", network)
                break


def _balanced_cold_behind_check(facts: Facts) -> Iterator[Edit]:
    """The cold of the mixing valves taken off behind the check valve of an unvented store."""
    for check in facts.parts("check-valve"):
        after = facts.pipe_at(PortId(check.tag, "out"))
        before = facts.pipe_at(PortId(check.tag, "in"))
        if not (after and before and facts.waters.medium[after.index] == "cold"):
            continue
        tee = facts.network.far_end(before, PortId(check.tag, "in"))
        if facts.network.parts[tee.tag].kind.name == "tee" and facts.is_piped(branch := PortId(tee.tag, "branch")):
            branch_pipe = facts.pipe_at(branch)
            network, new = tied_to(facts.network, facts.library, branch_pipe, branch, after)
            told = f"The cold branch at {tee} is taken off behind {check.tag}."
            yield Edit((new, check.tag, branch_pipe.end.tag, branch_pipe.start.tag, *_stores(facts)), told, network)


def _stores(facts: Facts) -> tuple[str, ...]:
    return tuple(p.tag for p in facts.network.parts.values() if p.kind.store == "wholesome")


def _cold_tap_on_hot(facts: Facts) -> Iterator[Edit]:
    for tap in facts.parts("cold-outlet"):
        pipe = facts.pipe_at(PortId(tap.tag, "in"))
        hot = next((p for p in facts.network.pipes if facts.waters.section[p.index] == "hot"
                    and facts.waters.carries[p.index]), None)  # fmt: skip
        if pipe and hot:
            end = facts.network.far_end(pipe, PortId(tap.tag, "in"))
            network, tee = tied_to(facts.network, facts.library, pipe, end, hot)
            yield Edit((tap.tag, tee), f"The cold tap {tap.tag} is tied to the hot pipe.", network)


def _hot_tap_on_heating(facts: Facts) -> Iterator[Edit]:
    for tap in facts.parts("hot-outlet"):
        pipe = facts.pipe_at(PortId(tap.tag, "in"))
        flow = next((p for p in facts.network.pipes if facts.waters.section[p.index] in ("primary-flow", "heating-flow")
                     and facts.waters.carries[p.index]), None)  # fmt: skip
        if pipe and flow:
            end = facts.network.far_end(pipe, PortId(tap.tag, "in"))
            network, tee = tied_to(facts.network, facts.library, pipe, end, flow)
            yield Edit((tap.tag, tee, flow.start.tag, flow.end.tag), f"{tap.tag} is tied to the heating.", network)


def _mixer_on_main(facts: Facts) -> Iterator[Edit]:
    """The cold side of a mixing valve tied to the main before the reducer, the hot side behind it."""
    for valve in facts.parts("thermostatic-mixing-valve"):
        cold = facts.pipe_at(PortId(valve.tag, "cold"))
        main = next((facts.pipe_at(PortId(m.tag, "out")) for m in facts.parts("cold-main")), None)
        reducers = any(True for _ in facts.parts("pressure-reducer", "inlet-control-group"))
        if cold and main and reducers:
            end = facts.network.far_end(cold, PortId(valve.tag, "cold"))
            network, tee = tied_to(facts.network, facts.library, cold, end, main)
            yield Edit((valve.tag, tee), f"The cold of {valve.tag} is taken off before the reducer.", network)


FAULTS = (
    FaultKind("circulation-to-hot-pipe", "a circulation back to the hot pipe", "topology", 2, _circulation_to_hot),
    FaultKind("relief-in-hot-pipe", "a temperature relief valve in the hot pipe", "safety", 2, _relief_in_hot_pipe),
    FaultKind("expansion-relief-before-check", "an expansion relief valve before the check valve", "safety", 2,
              _expansion_relief_before_check),
    FaultKind("drinking-vessel-before-check", "a vessel before the check valve", "safety", 2,
              _drinking_vessel_before_check),
    FaultKind("balanced-cold-behind-check", "balanced cold behind the check valve", "topology", 3,
              _balanced_cold_behind_check),
    FaultKind("cold-tap-on-hot", "a cold tap on the hot pipe", "topology", 1, _cold_tap_on_hot),
    FaultKind("hot-tap-on-heating", "a hot tap on the heating", "safety", 1, _hot_tap_on_heating),
    FaultKind("mixer-cold-unreduced", "a mixing valve with cold water from before the reducer", "safety", 3,
              _mixer_on_main),
)  # fmt: skip
