"""Slips of the pen in the list itself: names that do not exist, names used twice, values without sense."""

from collections.abc import Iterator
from dataclasses import replace

from schemagen.checks.facts import Facts
from schemagen.faults.fault_kind import Edit, FaultKind
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, PartLine
from schemagen.network.build import build


def _edit(facts: Facts, at: tuple[str, ...], told: str, job: JobList) -> Edit:
    built = build(job, facts.library)
    return Edit(at, told, built.network, job, built.findings)


def _with_part(job: JobList, old: PartLine, *new: PartLine) -> JobList:
    return replace(job, parts=tuple(p for line in job.parts for p in (new if line is old else (line,))))


def _with_line(job: JobList, old: ConnectionLine, *new: ConnectionLine) -> JobList:
    return replace(job, connections=tuple(c for line in job.connections for c in (new if line is old else (line,))))


def _piped_parts(facts: Facts) -> list[PartLine]:
    return [line for line in facts.job.parts if line.tag in facts.network.parts]


def _twice(facts: Facts) -> Iterator[Edit]:
    for line in _piped_parts(facts)[:3]:
        yield _edit(facts, (line.tag,), f"{line.tag} is listed twice.", _with_part(facts.job, line, line, line))


def _misspelt_kind(facts: Facts) -> Iterator[Edit]:
    for line in _piped_parts(facts)[:3]:
        wrong = replace(line, kind=line.kind + "x")
        yield _edit(facts, (line.tag,), f"The kind of {line.tag} is misspelt.", _with_part(facts.job, line, wrong))


def _ends(facts: Facts) -> Iterator[tuple[ConnectionLine, int, str, str]]:
    for line in facts.job.connections:
        for i, stop in enumerate(line.stops):
            tag, dot, port = stop.rpartition(".")
            if dot and tag in facts.network.parts:
                yield line, i, tag, port


def _unknown_port(facts: Facts) -> Iterator[Edit]:
    for line, i, tag, _ in list(_ends(facts))[:5]:
        stops = (*line.stops[:i], f"{tag}.outflow", *line.stops[i + 1 :])
        job = _with_line(facts.job, line, replace(line, stops=stops))
        yield _edit(facts, (tag,), f"A pipe is tied to {tag}.outflow, which does not exist.", job)


def _unknown_part(facts: Facts) -> Iterator[Edit]:
    for line in [c for c in facts.job.connections if len(c.stops) > 2][:3]:
        stops = (*line.stops[:-1], "XY99.in")
        job = _with_line(facts.job, line, replace(line, stops=stops))
        near = [stop.rpartition(".")[0] or stop for stop in line.stops[-2:]]
        yield _edit(facts, ("XY99", *near), "A pipe is tied to XY99, which is not listed.", job)


def _port_twice(facts: Facts) -> Iterator[Edit]:
    """A second pipe at an opening that has one."""
    ends = list(_ends(facts))
    for line, i, tag, port in ends[:5]:
        other = next((e for e in ends if e[0] is not line), None)
        if other and other[0].stops[other[1]] != line.stops[i]:
            moved = (*other[0].stops[: other[1]], f"{tag}.{port}", *other[0].stops[other[1] + 1 :])
            job = _with_line(facts.job, other[0], replace(other[0], stops=moved))
            yield _edit(facts, (tag, other[2]), f"{tag}.{port} has two pipes.", job)


def _senseless_value(facts: Facts) -> Iterator[Edit]:
    for line in _piped_parts(facts):
        for entry in line.entries:
            if entry.key in ("setting", "volume", "output"):
                wrong = tuple(Entry(e.key, "plenty", e.place) if e is entry else e for e in line.entries)
                job = _with_part(facts.job, line, replace(line, entries=wrong))
                yield _edit(facts, (line.tag,), f"{line.tag} has {entry.key}: plenty.", job)
                break


def _unknown_key(facts: Facts) -> Iterator[Edit]:
    for line in _piped_parts(facts)[:3]:
        wrong = (*line.entries, Entry("colour-of-lid", "red", line.place))
        job = _with_part(facts.job, line, replace(line, entries=wrong))
        yield _edit(facts, (line.tag,), f"{line.tag} has a field that its kind does not know.", job)


def _switches_unknown(facts: Facts) -> Iterator[Edit]:
    for line in _piped_parts(facts):
        if any(e.key == "switches" for e in line.entries):
            wrong = tuple(Entry(e.key, "XY99", e.place) if e.key == "switches" else e for e in line.entries)
            job = _with_part(facts.job, line, replace(line, entries=wrong))
            yield _edit(facts, (line.tag,), f"{line.tag} switches XY99, which is not listed.", job)


FAULTS = (
    FaultKind("tag-twice", "one tag for two parts", "data", 1, _twice),
    FaultKind("kind-misspelt", "a kind that does not exist", "data", 1, _misspelt_kind),
    FaultKind("opening-unknown", "an opening that the part does not have", "data", 1, _unknown_port),
    FaultKind("part-unknown", "a pipe to a part that is not listed", "data", 1, _unknown_part),
    FaultKind("opening-twice", "two pipes at one opening", "data", 1, _port_twice),
    FaultKind("value-senseless", "a value that is no quantity", "data", 1, _senseless_value),
    FaultKind("field-unknown", "a field that the kind does not know", "data", 1, _unknown_key),
    FaultKind("switches-unknown", "a device that switches a part that is not listed", "control", 1, _switches_unknown),
)
