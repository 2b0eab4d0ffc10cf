"""discharge-pipe-undersized (error)

What: D1 is smaller than the relief valve's outlet or the pipe into the valve; or D2 is smaller than its length and
    bends ask for; or a D2 that several stores share is not one size above the largest, or serves more than six.
Why: a relief valve that opens fully must not be throttled by its own drain.
Cure: go up a size, or shorten the run.
Source: Approved Document G (England), 3.51, 3.58, 3.59 and Table 3.1, seen in makers' reproductions; six systems on one
    pipe from a cylinder maker's page, seen
Caution: unvented-store

Wrong:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve, size: 1/2 in}
      N1: {kind: tundish}
      O1: {kind: safe-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - {run: [S1.outlet, N1.in], size: 15 mm, length: 300 mm}
      - {run: [N1.out, O1.in], size: 22 mm, length: 7 m, bends: 4}

Right:
    parts:
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      S1: {kind: temperature-and-pressure-relief-valve, size: 1/2 in}
      N1: {kind: tundish}
      O1: {kind: safe-outlet}
    connections:
      - [C1.relief-tapping, S1.inlet]
      - {run: [S1.outlet, N1.in], size: 15 mm, length: 300 mm}
      - {run: [N1.out, O1.in], size: 28 mm, length: 7 m, bends: 4}
"""

from schemagen.base.bad_input import BadInput
from schemagen.base.units import quantity
from schemagen.checks.fault import Fault, Unknown
from schemagen.checks.unvented._discharge import bends, d1_of, d2_of, length_m, pipes_on, tundishes
from schemagen.checks.unvented._stores import behind_check, relief_outlets
from schemagen.network.network import PortId
from schemagen.sizing.safety import common_discharge, discharge_pipe

MOST_SYSTEMS = 6
_THREADS = {"1/2": 0.0127, "3/4": 0.01905, "1": 0.0254}
_LEAST_D1 = {"1/2": 0.015, "3/4": 0.022, "1": 0.028}
"""Nominal bore of the valve's thread, and the least copper pipe on it."""

_SLACK_M = 0.5e-3


def check(facts):
    for outlet in relief_outlets(facts):
        yield from _d1(facts, outlet)
    shared: dict[PortId, list[tuple[str, list[PortId]]]] = {}
    for tundish, outlets in tundishes(facts).items():
        run = d2_of(facts, tundish)
        if run.end == run.start:
            continue
        shared.setdefault(run.end, []).append((tundish, outlets))
        yield from _d2(facts, run, outlets)
    for end, users in shared.items():
        yield from _common(facts, end, users)


def _d1(facts, outlet):
    run = d1_of(facts, outlet)
    pipes = pipes_on(facts, run) or [p for p in [facts.pipe_at(outlet)] if p]
    sizes = [pipe.size for pipe in pipes if pipe.size]
    thread = _thread(facts, outlet)
    inlet = facts.pipe_at(PortId(outlet.tag, "inlet")) if outlet.port == "outlet" else None
    into = inlet.size if inlet and inlet.size else 0.0
    if not sizes or not (thread or into):
        yield Unknown((outlet.tag,), f"`size:` of {outlet.tag} and of its discharge pipe")
        return
    least = max(_LEAST_D1.get(thread, 0.0), into)
    if min(sizes) < least - _SLACK_M:
        yield Fault(
            f"the discharge pipe of {outlet.tag} is {quantity(min(sizes), 'mm')}, {_than(thread, into)}",
            f"write `size: {quantity(least, 'mm')}` or more from {outlet} to the tundish",
            parts=(outlet.tag,),
            pipes=[pipe for pipe in pipes if pipe.size and pipe.size < least - _SLACK_M],
            ports=(outlet,),
        )


def _than(thread: str, into: float) -> str:
    if into > _LEAST_D1.get(thread, 0.0):
        return f"smaller than the {quantity(into, 'mm')} pipe into it"
    return f"smaller than its {thread} in outlet asks for"


def _thread(facts, outlet) -> str:
    """Size of a relief valve's outlet as the tables name it, "" if the list does not say."""
    size = facts.network.parts[outlet.tag].value("size")
    if size is None:
        return ""
    as_thread = next((name for name, bore in _THREADS.items() if abs(size - bore) < _SLACK_M), "")
    return as_thread or next((name for name, pipe in _LEAST_D1.items() if abs(size - pipe) < _SLACK_M), "")


def _d2(facts, run, outlets):
    pipes = pipes_on(facts, run)
    threads = [thread for outlet in outlets if (thread := _thread(facts, outlet) or _by_pipe(facts, outlet))]
    sizes = [pipe.size for pipe in pipes]
    length, turns = length_m(pipes), bends(pipes)
    lacks = [
        word
        for word, gone in (("size", None in sizes), ("length", length is None), ("bends", turns is None))
        if gone or not pipes
    ]
    if lacks or not threads:
        words = " and ".join(f"`{word}:`" for word in lacks) or "`size:` of the relief valve"
        yield Unknown((run.start.tag,), f"{words} of the pipe from {run.start} to {run.end}" if lacks else words)
        return
    thread = max(threads, key=lambda t: _THREADS[t])
    try:
        least = float(discharge_pipe(thread, length, turns).d2)
    except BadInput:
        said = f"is longer than the table goes for a {thread} in valve"
        yield _too_small(run, pipes, said, "shorten it, or have it engineered")
        return
    if min(sizes) < least - _SLACK_M:
        run_ = f"{quantity(length, 'm')} with {turns} bends"
        said = f"is {quantity(min(sizes), 'mm')}; {run_} asks for {quantity(least, 'mm')}"
        yield _too_small(run, pipes, said, f"write `size: {quantity(least, 'mm')}`, or shorten the run")


def _by_pipe(facts, outlet) -> str:
    pipe = facts.pipe_at(outlet)
    size = pipe.size if pipe and pipe.size else 0.0
    return next((name for name, least in reversed(_LEAST_D1.items()) if size >= least - _SLACK_M), "")


def _too_small(run, pipes, said: str, cure: str) -> Fault:
    return Fault(
        f"the discharge pipe from {run.start} {said}", cure, parts=(run.start.tag,), pipes=pipes, ports=(run.start,)
    )


def _common(facts, end, users):
    """A D2 of several stores: how many there are, and the size of the pipe at its end."""
    stores = behind_check(facts, stores=True) if len(users) > 1 else {}
    systems = {stores.get(_feels(outlets[0]), tundish) for tundish, outlets in users} if stores else {""}
    if len(systems) < 2:
        return
    tags = tuple(tundish for tundish, _ in users)
    last = facts.pipe_at(end)
    if len(systems) > MOST_SYSTEMS:
        yield Fault(
            f"{len(systems)} stores share the discharge pipe to {end.tag}, more than {MOST_SYSTEMS}",
            f"give some of {', '.join(tags)} a pipe of their own",
            parts=(end.tag, *tags),
            pipes=[last],
        )
    starts = [pipe.size for tag in tags if (pipe := facts.pipe_at(PortId(tag, "out"))) and pipe.size]
    if last.size is None or not starts:
        yield Unknown((end.tag,), f"`size:` of the pipe to {end}")
        return
    try:
        least = float(common_discharge(tuple(starts)))
    except BadInput:
        least = max(starts) + 1e-3
    if last.size < least - _SLACK_M:
        yield Fault(
            f"the discharge pipe to {end.tag} that {', '.join(tags)} share is "
            f"{quantity(last.size, 'mm')}, not one size "
            f"above the {quantity(max(starts), 'mm')} of the largest",
            f"write `size: {quantity(least, 'mm')}` on the shared pipe",
            parts=(end.tag, *tags),
            pipes=[last],
        )


def _feels(outlet) -> PortId:
    return PortId(outlet.tag, "inlet" if outlet.port == "outlet" else "cylinder-out")
