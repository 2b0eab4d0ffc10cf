"""size-drops-in-main (warning)

What: along a run a pipe is smaller than a pipe before it and a pipe after it; a pipe is smaller than the stated
    size of the source, separator, store or pump that it joins; the pipe of a vessel is below 15 mm, or that of an
    open vent below 22 mm. A `note:` at the connection settles it.
Why: one short piece of thin pipe throttles everything beyond it.
Cure: one size through, or a `note:` that says why.
Source: hoses and pipes no smaller than the connection, heat-pump makers' installation manuals, seen; vessel pipe
    not below 15 mm, makers' installation manuals, seen; vent pipe of 22 mm from memory

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      V1: {kind: isolating-valve}
      V2: {kind: isolating-valve}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, V1], size: 22 mm}
      - {run: [V1, V2], size: 15 mm}
      - {run: [V2, R1, B1.return], size: 22 mm}

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      V1: {kind: isolating-valve}
      V2: {kind: isolating-valve}
      R1: {kind: radiator}
    connections:
      - {run: [B1.flow, V1], size: 22 mm}
      - {run: [V1, V2], size: 22 mm}
      - {run: [V2, R1, B1.return], size: 22 mm}
"""

from schemagen.base.units import quantity
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

_SLACK = 0.0005
_VESSELS = ("expansion-vessel", "solar-expansion-vessel", "wholesome-expansion-vessel")


def check(facts):
    yield from _dips(facts)
    for part in facts.network.parts.values():
        yield from _at_openings(facts, part)
    for vessel in facts.parts(*_VESSELS):
        yield from _least(facts, PortId(vessel.tag, "port"), "a vessel", 0.015, 0.0125)
    for vent in facts.parts("open-vent-end"):
        yield from _least(facts, PortId(vent.tag, "port"), "an open vent", 0.022, 0.019)


def _dips(facts):
    seen: set[int] = set()
    for pipe in facts.network.pipes:
        if pipe.index in seen or not facts.waters.carries[pipe.index]:
            continue
        run = _run(facts, pipe)
        seen |= {p.index for p in run}
        sized = [p for p in run if p.size]
        least_before = _running_most(sized)
        least_after = _running_most(sized[::-1])[::-1]
        thin = [
            p
            for p, before, after in zip(sized, least_before, least_after, strict=True)
            if p.size + _SLACK < min(before, after) and not p.values.get("note")
        ]
        if thin:
            yield Fault(
                f"{thin[0].name} is {thin[0].size_text}, thinner than the pipe before it and the pipe after it",
                "use one size through, or write note: with the reason at this connection",
                pipes=thin,
            )


def _running_most(pipes) -> list[float]:
    """For each pipe the largest size before it, 0 if there is none."""
    most, found = 0.0, []
    for pipe in pipes:
        found.append(most)
        most = max(most, pipe.size)
    return found


def _run(facts, pipe) -> list:
    """The pipes of the run in which a pipe lies, from end to end."""
    before, after = _beyond(facts, pipe.end), _beyond(facts, pipe.start)
    if any(other.index == pipe.index for other in before):
        return [pipe]
    return [*before[::-1], pipe, *after]


def _beyond(facts, end: PortId) -> list:
    """The pipes on the run away from one end of a pipe, beyond its other end, the nearest first."""
    return [pipe for port in facts.run_from(end)[1::2] if (pipe := facts.pipe_at(port))]


def _at_openings(facts, part):
    kind = part.kind
    size = part.value("size")
    if not size or not (kind.giver or kind.separates or kind.store or kind.driver == "pump"):
        return
    for port in facts.wet_ports(part):
        pipe = facts.pipe_at(port)
        if pipe and pipe.size and pipe.size + _SLACK < size and _is_main(facts, port) and not pipe.values.get("note"):
            yield Fault(
                f"{pipe.name} is {pipe.size_text}, smaller than {port} ({part.texts['size']})",
                f"use the size of {port}, or write note: with the reason at this connection",
                parts=(part.tag,),
                pipes=[pipe],
            )


def _is_main(facts, port: PortId) -> bool:
    return facts.spec(port).role != "dead" and facts.spec(port).need == "must"


def _least(facts, port: PortId, what: str, metric: float, nominal: float):
    """A pipe in millimetres is measured outside, one in inches by its bore."""
    pipe = facts.pipe_at(port)
    if pipe is None or not pipe.size or pipe.values.get("note"):
        return
    least = metric if "mm" in pipe.size_text else nominal
    if pipe.size + _SLACK < least:
        yield Fault(
            f"{pipe.name} is {pipe.size_text}, thin for the pipe of {what}",
            f"use {quantity(metric, 'mm')} or more",
            parts=(port.tag,),
            pipes=[pipe],
        )
