"""solar-no-check-valve (warning)

What: in a pumped solar circuit nothing keeps water from running backwards, from the store up to the collector. A
    circuit that drains back needs no check valve, nor does one whose collector is said to lie below its store.
Why: at night the collector is cold and the store warm; the loop runs backwards and heats the sky.
Cure: a check valve with a spring after the pump.
Source: reverse thermosiphon: trade article; check valve between the parts of the return and the collector: installer's
    page, seen

Wrong:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, S1.in]

Right:
    parts:
      S1: {kind: solar-collector}
      P1: {kind: pump}
      K1: {kind: check-valve, spring: yes}
      C1: {kind: vented-cylinder, capped: [cold-in, hot-out, circulation-return]}
    connections:
      - [S1.out, C1.coil-in]
      - [C1.coil-out, P1, K1, S1.in]
"""

from schemagen.checks.fault import Fault
from schemagen.checks.solid_fuel_and_solar._sun import collectors, drains_back, loop_parts
from schemagen.network.network import PortId


def check(facts):
    banks: dict[int, list] = {}
    for collector in collectors(facts):
        banks.setdefault(facts.section(PortId(collector.tag, "out")).number, []).append(collector)
    for bank in banks.values():
        parts = loop_parts(facts, bank[0])
        pumps = [part.tag for part in parts if part.kind.driver == "pump"]
        elsewhere = any(part.kind.name == "off-sheet-connector" for part in parts)
        if pumps and not elsewhere and not drains_back(parts) and _runs_back(facts, bank, pumps):
            yield Fault(
                f"nothing keeps the solar circuit of {bank[0].tag} from running backwards at night",
                f"put a check-valve with `spring: yes` behind {pumps[0]}",
                parts=(bank[0].tag, *pumps),
            )


def _runs_back(facts, bank, pumps) -> bool:
    """True if water can go from the inlets of the collectors round to their outlets while the pumps stand."""
    tags = {collector.tag for collector in bank}
    outlets = {PortId(tag, "out") for tag in tags}
    inlets = [PortId(c.tag, "in") for c in bank if not facts.reach.header(PortId(c.tag, "in")) & outlets]
    back = facts.reach.downstream_of_all(inlets, dict.fromkeys(pumps, "off"), without=tags)
    return bool(back & outlets) and not any(_lies_low(facts, collector) for collector in bank)


def _lies_low(facts, collector) -> bool:
    """True if the pipe from a collector rises to the store, by its heights."""
    pipe = facts.pipe_at(PortId(collector.tag, "out"))
    heights = pipe.values.get("heights", ()) if pipe else ()
    return len(heights) > 1 and heights[0 if pipe.start.tag == collector.tag else -1] < min(
        heights[1:] if pipe.start.tag == collector.tag else heights[:-1]
    )
