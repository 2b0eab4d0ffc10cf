"""medium-unnamed (warning)

What: nothing tells what runs in a pipe: neither an opening at its ends nor a pipe joined to it. Also: heating water
    runs outdoors and the list does not say whether it holds antifreeze.
Why: colour, labels and half of the safety checks depend on what is in the pipe.
Cure: write `medium:` at one pipe of that water, or its antifreeze under `fluids:`.
Source: BS 1710 (pipe identification), from memory

Wrong:
    parts:
      T1: {kind: tee}
      T2: {kind: tee}
      V1: {kind: isolating-valve}
      DC1: {kind: drain-cock}
      DC2: {kind: drain-cock}
    connections:
      - {run: [DC1, T1, V1, T2, DC2]}
      - [T1, T2]

Right:
    parts:
      T1: {kind: tee}
      T2: {kind: tee}
      V1: {kind: isolating-valve}
      DC1: {kind: drain-cock}
      DC2: {kind: drain-cock}
    connections:
      - {run: [DC1, T1, V1, T2, DC2], medium: heating-water}
      - [T1, T2]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.service._regions import is_outdoors


def check(facts):
    yield from _unnamed(facts)
    yield from _outdoors(facts)


def _unnamed(facts):
    bodies: dict[int, list] = {}
    for pipe in facts.network.pipes:
        if not facts.waters.medium[pipe.index]:
            bodies.setdefault(facts.waters.body[pipe.index], []).append(pipe)
    for pipes in bodies.values():
        yield Fault(
            f"nothing tells what runs in {pipes[0].name}",
            "write medium: at this connection, for example medium: heating-water",
            pipes=pipes,
        )


def _outdoors(facts):
    told: set[int] = set()
    said = facts.network.fluids.get("heating-water", {})
    for pipe in facts.network.pipes:
        body = facts.waters.body[pipe.index]
        if facts.waters.medium[pipe.index] != "heating-water" or body in told or "antifreeze" in said:
            continue
        ends = [facts.network.parts[port.tag] for port in (pipe.start, pipe.end)]
        outdoors = is_outdoors(str(pipe.values.get("place", ""))) or all(is_outdoors(part.place) for part in ends)
        if outdoors and not pipe.medium:
            told.add(body)
            yield Fault(
                f"{pipe.name} runs outdoors, and the list does not say whether its water holds antifreeze",
                "write fluids: {heating-water: {antifreeze: 0 %}}, or its share, beside parts:",
                pipes=[pipe],
            )
