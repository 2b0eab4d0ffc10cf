"""Emitters, coils and bypasses tied to the wrong pipe of the heating, or to none."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.checks.facts import Facts
from schemagen.faults.change import cut_off, joined, pipe_between, teed, tidied, tied_to, with_part, with_pipes
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.network.network import Part, Pipe, PortId


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


def _leg_to_tee(facts: Facts, port: PortId) -> Pipe | None:
    """The pipe by which the run from an opening reaches the tee of a main, None if it ends elsewhere."""
    run = [port, *facts.run_from(port)]
    for a, b in zip(run, run[1:], strict=False):
        if a.tag != b.tag and facts.network.parts[b.tag].kind.name == "tee":
            through = [w.to for w in facts.reach.ways[b] if facts.is_piped(w.to)]
            if sum(facts.waters.carries[facts.pipe_at(p).index] for p in through) > 1:
                return pipe_between(facts.network, a, b)
    return None


def _tee_end(facts: Facts, pipe: Pipe) -> PortId | None:
    return next((e for e in (pipe.start, pipe.end) if facts.network.parts[e.tag].kind.name == "tee"), None)


def _far_tee(facts: Facts, pipe: Pipe) -> PortId:
    return next(e for e in (pipe.end, pipe.start) if facts.network.parts[e.tag].kind.name == "tee")


def _others(facts: Facts, tee: PortId, pipe: Pipe) -> list[Pipe]:
    return [p for port in facts.wet_ports(facts.network.parts[tee.tag]) if (p := facts.pipe_at(port)) and p != pipe]


def _both_on_flow(facts: Facts) -> Iterator[Edit]:
    for part, into, out in _emitters(facts):
        flow, back = _leg_to_tee(facts, into), _leg_to_tee(facts, out)
        if flow and back:
            at = _tee_end(facts, flow)
            main = next(p for p in _others(facts, at, flow) if facts.waters.carries[p.index])
            network, tee = tied_to(facts.network, facts.library, back, _far_tee(facts, back), main)
            yield Edit((part.tag, tee), f"The return of {part.tag} is tied to its flow at {tee}.", network)


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
                network, tee = tied_to(facts.network, facts.library, leg, _far_tee(facts, leg), supply)
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
                network, tee = tied_to(facts.network, facts.library, pipe, end, after)
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
                network, tee = tied_to(facts.network, facts.library, leg, _far_tee(facts, leg), primary)
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
                network, a = tied_to(facts.network, facts.library, legs[0], _far_tee(facts, legs[0]), ends[0])
                back = next(p for p in network.pipes if _same_leg(p, legs[1]))
                network, b = tied_to(network, facts.library, back, _far_tee(facts, legs[1]), ends[1])
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
                network, tee = tied_to(facts.network, facts.library, leg, end, target)
                told = f"The return of the coil in {store.tag} is tied to the load side of {buffer.tag}."
                yield Edit((store.tag, buffer.tag, tee), told, network)


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
    FaultKind("diverter-outlets-joined", "the outlets of a diverter joined behind it", "topology", 2, _second_pipe),
)  # fmt: skip
