"""Branches tied to the wrong pipe, and parts at the wrong place of the right pipe."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.checks.facts import Facts
from schemagen.faults.change import bridged, cut_off, joined, pipe_between, put_in, teed, tidied, with_part, with_pipes
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import Network, Part, Pipe, PortId


def _tied_to(network: Network, facts: Facts, pipe: Pipe, end: PortId, other: Pipe) -> tuple[Network, str]:
    """One end of a pipe moved to a new tee in another pipe; what the old end leaves is tidied. The new tee."""
    network, branch = teed(network, facts.library, other)
    moved = replace(pipe, start=branch) if pipe.start == end else replace(pipe, end=branch)
    kept = (moved if (p.start, p.end) == (pipe.start, pipe.end) else p for p in network.pipes)
    return tidied(with_pipes(network, kept), [end.tag]), branch.tag


def _tee_end(facts: Facts, pipe: Pipe) -> PortId | None:
    return next((e for e in (pipe.start, pipe.end) if facts.network.parts[e.tag].kind.name == "tee"), None)


def _leg_to_tee(facts: Facts, port: PortId) -> Pipe | None:
    """The pipe by which the run from an opening reaches the tee of a main, None if it ends elsewhere."""
    run = [port, *facts.run_from(port)]
    for a, b in zip(run, run[1:], strict=False):
        if a.tag != b.tag and facts.network.parts[b.tag].kind.name == "tee":
            through = [w.to for w in facts.reach.ways[b] if facts.is_piped(w.to)]
            if sum(facts.waters.carries[facts.pipe_at(p).index] for p in through) > 1:
                return pipe_between(facts.network, a, b)
    return None


def _emitters(facts: Facts) -> Iterator[tuple[Part, PortId, PortId]]:
    """Emitters with the openings by which water enters and leaves them as listed."""
    for part in facts.takers:
        piped = [p for p in facts.wet_ports(part) if facts.is_piped(p)]
        if part.kind.shape != "major" or part.kind.store or len(piped) != 2:
            continue
        into = [p for p in piped if facts.pipe_at(p).end == p]
        out = [p for p in piped if facts.pipe_at(p).start == p]
        if len(into) == len(out) == 1:
            yield part, into[0], out[0]


def _both_on_flow(facts: Facts) -> Iterator[Edit]:
    for part, into, out in _emitters(facts):
        flow, back = _leg_to_tee(facts, into), _leg_to_tee(facts, out)
        if flow and back:
            at = _tee_end(facts, flow)
            main = next(p for p in _others(facts, at, flow) if facts.waters.carries[p.index])
            network, tee = _tied_to(facts.network, facts, back, _far_tee(facts, back), main)
            yield Edit((part.tag, tee), f"The return of {part.tag} is tied to its flow at {tee}.", network)


def _others(facts: Facts, tee: PortId, pipe: Pipe) -> list[Pipe]:
    return [p for port in facts.wet_ports(facts.network.parts[tee.tag]) if (p := facts.pipe_at(port)) and p != pipe]


def _far_tee(facts: Facts, pipe: Pipe) -> PortId:
    return next(e for e in (pipe.end, pipe.start) if facts.network.parts[e.tag].kind.name == "tee")


def _no_way_back(facts: Facts) -> Iterator[Edit]:
    """The return of an emitter ends in a cap instead of in the main."""
    for part, _, out in _emitters(facts):
        back = facts.pipe_at(out)
        network, cap = with_part(facts.network, facts.library.kind("cap"), back.line)
        end = facts.network.far_end(back, out)
        stub = replace(back, start=out, end=PortId(cap, "port"))
        network = tidied(with_pipes(network, (stub if p == back else p for p in network.pipes)), [end.tag])
        yield Edit((part.tag, cap, end.tag), f"The return of {part.tag} is capped.", network)


def _one_side_only(facts: Facts) -> Iterator[Edit]:
    """The return pipe of an emitter or a coil forgotten, and its place in the main closed."""
    for part in facts.takers:
        for name in part.kind.takes:
            port = PortId(part.tag, name)
            pipe = facts.pipe_at(port)
            if pipe and pipe.start == port and facts.waters.carries[pipe.index]:
                far = facts.network.far_end(pipe, port)
                yield Edit((part.tag, far.tag), f"{port} is not piped.", cut_off(facts.network, pipe))


def _before_zone_valve(facts: Facts) -> Iterator[Edit]:
    """An emitter's flow taken off before the valve of its zone."""
    for valve in facts.parts("zone-valve"):
        supply = facts.pipe_at(PortId(valve.tag, "in"))
        behind = _only_behind(facts, valve.tag)
        for part, into, _ in _emitters(facts):
            leg = _leg_to_tee(facts, into)
            if supply and leg and into in behind and len(behind) > 1:
                network, tee = _tied_to(facts.network, facts, leg, _far_tee(facts, leg), supply)
                yield Edit((tee, part.tag, valve.tag), f"{part.tag} is taken off before {valve.tag}.", network)
                break


def _only_behind(facts: Facts, valve: str) -> list[PortId]:
    """Inlets of emitters that the water reaches through this valve alone, other emitters not passed."""
    stop = [part.tag for part in (*facts.takers, *facts.givers)]
    behind = facts.reach.downstream(PortId(valve, "out"), without=(*stop, valve))
    starts = [port for giver in facts.givers for port in facts.outlet_ports(giver)]
    starts += [PortId(p.tag, "secondary-flow") for p in facts.network.parts.values() if p.kind.separates]
    otherwise = facts.reach.downstream_of_all(starts, without=(*stop, valve))
    return [into for _, into, _ in _emitters(facts) if into in behind and into not in otherwise]


def _bypass_behind_valve(facts: Facts) -> Iterator[Edit]:
    for bypass in facts.parts("bypass-valve"):
        pipe = facts.pipe_at(PortId(bypass.tag, "in"))
        for valve in facts.parts("zone-valve"):
            after = facts.pipe_at(PortId(valve.tag, "out"))
            if pipe and after and facts.reach.same_water(pipe.start, after.start) and after != pipe:
                end = facts.network.far_end(pipe, PortId(bypass.tag, "in"))
                if end.tag in (valve.tag, after.end.tag):
                    continue
                network, tee = _tied_to(facts.network, facts, pipe, end, after)
                told = f"{bypass.tag} is taken off behind {valve.tag}."
                yield Edit((bypass.tag, valve.tag, tee), told, network)
                break


def _load_on_source_side(facts: Facts) -> Iterator[Edit]:
    """A load's flow tied to the source side of a buffer or header, its return left on the load side."""
    for part in facts.network.parts.values():
        primary = facts.pipe_at(PortId(part.tag, "primary-flow"))
        if primary is None:
            continue
        for emitter, into, _ in _emitters(facts):
            leg = _leg_to_tee(facts, into)
            if leg and facts.reach.same_water(into, PortId(part.tag, "secondary-flow")):
                network, tee = _tied_to(facts.network, facts, leg, _far_tee(facts, leg), primary)
                told = f"The flow of {emitter.tag} is tied to the source side of {part.tag}."
                yield Edit((emitter.tag, tee, part.tag), told, network)
                break


def _load_past_buffer(facts: Facts) -> Iterator[Edit]:
    """An emitter tied to the source side of a buffer, flow and return."""
    for part in facts.parts("buffer-four-pipe", "cylinder-and-buffer"):
        ends = [facts.pipe_at(PortId(part.tag, name)) for name in ("primary-flow", "primary-return")]
        for emitter, into, out in _emitters(facts):
            legs = [_leg_to_tee(facts, into), _leg_to_tee(facts, out)]
            if all(ends) and all(legs) and facts.reach.same_water(into, PortId(part.tag, "secondary-flow")):
                network, a = _tied_to(facts.network, facts, legs[0], _far_tee(facts, legs[0]), ends[0])
                back = next(p for p in network.pipes if _same_leg(p, legs[1]))
                network, b = _tied_to(network, facts, back, _far_tee(facts, legs[1]), ends[1])
                told = f"{emitter.tag} is tied to the source side of {part.tag}."
                yield Edit((emitter.tag, part.tag, a, b), told, network)
                break


def _same_leg(pipe: Pipe, other: Pipe) -> bool:
    return pipe.start == other.start or pipe.end == other.end


def _coil_return_on_load(facts: Facts) -> Iterator[Edit]:
    """The return of a coil tied to the load return of a buffer."""
    for store in facts.takers:
        for buffer in facts.network.parts.values():
            target = facts.pipe_at(PortId(buffer.tag, "secondary-return"))
            leg = facts.pipe_at(PortId(store.tag, "coil-out"))
            if target and leg:
                end = facts.network.far_end(leg, PortId(store.tag, "coil-out"))
                network, tee = _tied_to(facts.network, facts, leg, end, target)
                told = f"The return of the coil in {store.tag} is tied to the load side of {buffer.tag}."
                yield Edit((store.tag, buffer.tag, tee), told, network)


def _circulation_to_hot(facts: Facts) -> Iterator[Edit]:
    """A circulation that comes back to the hot pipe instead of to the store."""
    for store in facts.network.parts.values():
        back = facts.pipe_at(PortId(store.tag, "circulation-return"))
        hot = facts.pipe_at(PortId(store.tag, "hot-out"))
        if back and hot:
            network, tee = _tied_to(facts.network, facts, back, PortId(store.tag, "circulation-return"), hot)
            values = {**store.values, "capped": (*store.capped, "circulation-return")}
            network = replace(network, parts={**network.parts, store.tag: replace(store, values=values)})
            pumps = [p.tag for p in facts.parts("wholesome-circulating-pump")]
            yield Edit((tee, store.tag, *pumps), f"The circulation of {store.tag} comes back to its hot pipe.", network)


def _moved_stub(facts: Facts, part: Part, opening: str, target: Pipe) -> tuple[Network, str]:
    pipe = facts.pipe_at(PortId(part.tag, opening))
    return _tied_to(facts.network, facts, pipe, facts.network.far_end(pipe, PortId(part.tag, opening)), target)


def _vessel_at_pump_outlet(facts: Facts) -> Iterator[Edit]:
    for vessel in facts.parts("expansion-vessel"):
        port = PortId(vessel.tag, "port")
        for pump in facts.parts("pump"):
            target = facts.pipe_at(PortId(pump.tag, "out"))
            if target and facts.is_piped(port) and facts.reach.same_water(port, target.start):
                network, tee = _moved_stub(facts, vessel, "port", target)
                yield Edit((vessel.tag, pump.tag, tee), f"{vessel.tag} is tied to the outlet of {pump.tag}.", network)
                break


def _relief_behind_valve(facts: Facts) -> Iterator[Edit]:
    """The relief valve of a source moved behind the source's stop valve."""
    for relief in facts.parts("relief-valve"):
        inlet = PortId(relief.tag, "inlet")
        for giver in facts.givers:
            found = next((v for port in facts.outlet_ports(giver) if (v := _first_valve(facts, port))), None)
            pipe = found and facts.pipe_at(found)
            if pipe and facts.is_piped(inlet) and facts.reach.same_water(inlet, found):
                network, tee = _moved_stub(facts, relief, "inlet", pipe)
                told = f"{relief.tag} stands behind the stop valve {found.tag}."
                yield Edit((relief.tag, found.tag, giver.tag, tee), told, network)
                break


def _first_valve(facts: Facts, port: PortId) -> PortId | None:
    """The far opening of the first isolating valve downstream of an opening."""
    takers = [part.tag for part in facts.takers]
    valves = [PortId(part.tag, "b") for part in facts.parts("isolating-valve")]
    paths = [path for valve in valves if (path := facts.reach.path(port, valve, without=takers))]
    return min(paths, key=len)[-1] if paths else None


def _filter_on_flow(facts: Facts) -> Iterator[Edit]:
    """The filter of a source moved from its return to its flow."""
    for part in facts.parts("magnetic-filter"):
        for giver in facts.givers:
            flow = next((p for p in map(facts.pipe_at, facts.outlet_ports(giver)) if p), None)
            if flow and facts.reach.same_water(flow.start, PortId(part.tag, "in")):
                network = bridged(facts.network, part.tag, "in", "out")
                target = next(p for p in network.pipes if (p.start, p.end) == (flow.start, flow.end))
                network, tag = put_in(network, facts.library, target, "magnetic-filter")
                yield Edit((tag, giver.tag), f"{tag} stands in the flow of {giver.tag}, not in its return.", network)
                break


def _relief_in_hot_pipe(facts: Facts) -> Iterator[Edit]:
    """The temperature relief of a store moved from its tapping into the hot pipe."""
    for relief in facts.parts("temperature-and-pressure-relief-valve"):
        pipe = facts.pipe_at(PortId(relief.tag, "inlet"))
        store = pipe and facts.network.far_end(pipe, PortId(relief.tag, "inlet"))
        hot = store and facts.pipe_at(PortId(store.tag, "hot-out"))
        if hot and store.port == "relief-tapping":
            network, tee = _moved_stub(facts, relief, "inlet", hot)
            yield Edit((relief.tag, store.tag, tee), f"{relief.tag} stands in the hot pipe of {store.tag}.", network)


def _expansion_relief_before_check(facts: Facts) -> Iterator[Edit]:
    for relief in facts.parts("expansion-relief-valve"):
        for check in facts.parts("check-valve"):
            pipe = facts.pipe_at(PortId(check.tag, "in"))
            if pipe and facts.waters.medium[pipe.index] == "cold":
                network, tee = _moved_stub(facts, relief, "inlet", pipe)
                at = (relief.tag, check.tag, tee, *_stores(facts))
                yield Edit(at, f"{relief.tag} stands before {check.tag}.", network)
                break


def _drinking_vessel_before_check(facts: Facts) -> Iterator[Edit]:
    for vessel in facts.parts("wholesome-expansion-vessel"):
        for check in facts.parts("check-valve"):
            pipe = facts.pipe_at(PortId(check.tag, "in"))
            if pipe and facts.waters.medium[pipe.index] == "cold":
                network, tee = _moved_stub(facts, vessel, "port", pipe)
                at = (vessel.tag, check.tag, tee, *_stores(facts))
                yield Edit(at, f"{vessel.tag} stands before {check.tag}.", network)
                break


def _stores(facts: Facts) -> tuple[str, ...]:
    return tuple(p.tag for p in facts.network.parts.values() if p.kind.store == "wholesome")


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
            network, new = _tied_to(facts.network, facts, branch_pipe, branch, after)
            told = f"The cold branch at {tee} is taken off behind {check.tag}."
            yield Edit((new, check.tag, branch_pipe.end.tag, branch_pipe.start.tag, *_stores(facts)), told, network)


def _cold_tap_on_hot(facts: Facts) -> Iterator[Edit]:
    for tap in facts.parts("cold-outlet"):
        pipe = facts.pipe_at(PortId(tap.tag, "in"))
        hot = next((p for p in facts.network.pipes if facts.waters.section[p.index] == "hot"
                    and facts.waters.carries[p.index]), None)  # fmt: skip
        if pipe and hot:
            end = facts.network.far_end(pipe, PortId(tap.tag, "in"))
            network, tee = _tied_to(facts.network, facts, pipe, end, hot)
            yield Edit((tap.tag, tee), f"The cold tap {tap.tag} is tied to the hot pipe.", network)


def _hot_tap_on_heating(facts: Facts) -> Iterator[Edit]:
    for tap in facts.parts("hot-outlet"):
        pipe = facts.pipe_at(PortId(tap.tag, "in"))
        flow = next((p for p in facts.network.pipes if facts.waters.section[p.index] in ("primary-flow", "heating-flow")
                     and facts.waters.carries[p.index]), None)  # fmt: skip
        if pipe and flow:
            end = facts.network.far_end(pipe, PortId(tap.tag, "in"))
            network, tee = _tied_to(facts.network, facts, pipe, end, flow)
            yield Edit((tap.tag, tee, flow.start.tag, flow.end.tag), f"{tap.tag} is tied to the heating.", network)


def _mixer_on_main(facts: Facts) -> Iterator[Edit]:
    """The cold side of a mixing valve tied to the main before the reducer, the hot side behind it."""
    for valve in facts.parts("thermostatic-mixing-valve"):
        cold = facts.pipe_at(PortId(valve.tag, "cold"))
        main = next((facts.pipe_at(PortId(m.tag, "out")) for m in facts.parts("cold-main")), None)
        reducers = any(True for _ in facts.parts("pressure-reducer", "inlet-control-group"))
        if cold and main and reducers:
            end = facts.network.far_end(cold, PortId(valve.tag, "cold"))
            network, tee = _tied_to(facts.network, facts, cold, end, main)
            yield Edit((valve.tag, tee), f"The cold of {valve.tag} is taken off before the reducer.", network)


def _pump_on_hot_leg(facts: Facts) -> Iterator[Edit]:
    """The pump behind a mixing valve moved to the pipe into its hot side."""
    for valve in facts.parts("heating-mixing-valve", "loading-valve"):
        hot = facts.pipe_at(PortId(valve.tag, "hot" if valve.kind.name.startswith("heating") else "cold"))
        run = facts.run_from(PortId(valve.tag, "mixed"))
        pump = next((p for p in run if facts.network.parts[p.tag].kind.driver == "pump"), None)
        if hot and pump:
            network = bridged(facts.network, pump.tag, "in", "out")
            target = next(p for p in network.pipes if (p.start, p.end) == (hot.start, hot.end))
            network, tag = put_in(network, facts.library, target, "pump")
            yield Edit((tag, valve.tag), f"The pump {tag} stands before {valve.tag}, not behind it.", network)


def _collector_vessel_hot(facts: Facts) -> Iterator[Edit]:
    for vessel in facts.parts("solar-expansion-vessel"):
        for collector in facts.parts("solar-collector"):
            hot = facts.pipe_at(PortId(collector.tag, "out"))
            stub = facts.pipe_at(PortId(vessel.tag, "port"))
            near = stub and facts.network.far_end(stub, PortId(vessel.tag, "port"))
            first = near and facts.network.parts[near.tag]
            if hot and first and first.kind.name == "intermediate-vessel":
                other = next(p for p in facts.wet_ports(first) if p != near)
                leg = facts.pipe_at(other)
                network, tee = _tied_to(facts.network, facts, leg, facts.network.far_end(leg, other), hot)
                network = bridged(network, first.tag, "in", "out")
            elif hot and stub:
                network, tee = _tied_to(facts.network, facts, stub, near, hot)
            else:
                continue
            at = (vessel.tag, collector.tag, tee, near.tag)
            yield Edit(at, f"{vessel.tag} stands on the hot side of {collector.tag}.", network)
            break


def _valve_to_valve(facts: Facts) -> Iterator[Edit]:
    """A source that can be cut off from its relief valve and vessel by a motor valve."""
    for giver in facts.givers:
        flow = next((p for p in map(facts.pipe_at, facts.outlet_ports(giver)) if p), None)
        back = next((p for p in map(facts.pipe_at, facts.return_ports(giver)) if p), None)
        if flow and back and not facts.built_in(giver.tag, "relief"):
            network, a = put_in(facts.network, facts.library, flow, "isolating-valve")
            back = next(p for p in network.pipes if (p.start, p.end) == (back.start, back.end))
            network, b = put_in(network, facts.library, back, "isolating-valve")
            told = f"The stop valves {a} and {b} part {giver.tag} from its relief valve and vessel."
            yield Edit((giver.tag, a, b), told, network)


def _second_pipe(facts: Facts) -> Iterator[Edit]:
    """A radiator past the diverter or zone valve: its return joined to the flow of another branch."""
    for part in facts.parts("diverter-valve"):
        ends = [facts.pipe_at(PortId(part.tag, name)) for name in ("a", "b")]
        if all(ends):
            network, start = teed(facts.network, facts.library, ends[0])
            other = next(p for p in network.pipes if (p.start, p.end) == (ends[1].start, ends[1].end))
            network, end = teed(network, facts.library, other)
            network = joined(network, start, end, ends[0])
            yield Edit((start.tag, end.tag, part.tag), f"The outlets of {part.tag} are joined behind it.", network)


FAULTS = (
    FaultKind("return-tied-to-flow", "both ends of an emitter on the flow", "topology", 2, _both_on_flow),
    FaultKind("return-capped", "a zone without a way back", "topology", 1, _no_way_back),
    FaultKind("one-side-only", "an emitter or coil piped on one side", "topology", 1, _one_side_only),
    FaultKind("taken-before-zone-valve", "an emitter taken off before its zone valve", "topology", 3,
              _before_zone_valve),
    FaultKind("bypass-behind-zone-valve", "a bypass behind a zone valve", "topology", 3, _bypass_behind_valve),
    FaultKind("load-on-source-side", "a load tied to the wrong side of a buffer or header", "topology", 2,
              _load_on_source_side),
    FaultKind("load-past-buffer", "an emitter past the buffer", "topology", 3, _load_past_buffer),
    FaultKind("coil-return-on-load-side", "a coil's return on the load side of a buffer", "topology", 3,
              _coil_return_on_load),
    FaultKind("circulation-to-hot-pipe", "a circulation back to the hot pipe", "topology", 2, _circulation_to_hot),
    FaultKind("vessel-at-pump-outlet", "a vessel on the outlet side of the pump", "safety", 3, _vessel_at_pump_outlet),
    FaultKind("relief-behind-valve", "a relief valve behind a stop valve", "safety", 2, _relief_behind_valve),
    FaultKind("filter-on-flow", "a filter in the flow", "topology", 2, _filter_on_flow),
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
    FaultKind("pump-before-mixing-valve", "a pump on the wrong leg of a mixing valve", "topology", 3, _pump_on_hot_leg),
    FaultKind("collector-vessel-hot-side", "the vessel on the hot side of a collector", "safety", 3,
              _collector_vessel_hot),
    FaultKind("source-valved-off", "a source cut off from its safety parts", "safety", 2, _valve_to_valve),
    FaultKind("diverter-outlets-joined", "the outlets of a diverter joined behind it", "topology", 2, _second_pipe),
)  # fmt: skip
