"""no-expansion (error)

What: a sealed section that something heats has neither an expansion vessel of its own nor one built into its source.
Why: water swells by a few per cent when it is heated and cannot be squeezed; with nowhere to go it opens the relief
    valve or bursts something.
Cure: an expansion vessel on the return, sized for the section.
Source: BS EN 12828 and BS 7074-1 (clause numbers from memory); makers' lists of the parts of a sealed system, seen
Caution: pressure

Wrong:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]

Right:
    parts:
      B1: {kind: heat-only-boiler, capped: [condensate]}
      P1: {kind: pump}
      R1: {kind: radiator}
      S1: {kind: relief-valve, setting: 3 bar, at: B1.flow}
      O1: {kind: safe-outlet}
      E1: {kind: expansion-vessel, volume: 12 L, at: B1.return}
    connections:
      - [B1.flow, P1, R1, B1.return]
      - [S1.outlet, O1.in]
"""

from schemagen.checks.fault import Fault, Unknown

_CIRCUITS = ("heating-water", "antifreeze-mix", "ground-brine")


def check(facts):
    heated: dict[int, list] = {}
    for port in _heated_ports(facts):
        if facts.medium_at(port) in _CIRCUITS:
            heated.setdefault(facts.section(port).number, []).append(port)
    for number, ports in heated.items():
        section = facts.reach.sections[number]
        if section.open or section.supply or any(_takes_the_swelling(facts, tag, section) for tag in section.tags):
            continue
        tags = tuple(dict.fromkeys(port.tag for port in ports))
        if section.elsewhere:
            yield Unknown(tags, "what stands beyond the off-sheet connector")
            continue
        yield Fault(
            f"the sealed circuit of {', '.join(tags[:4])} has no expansion vessel",
            f"add an expansion-vessel, for example with `at: {_cool_end(facts, ports[0])}`, "
            "or say that one is built in (`built-in: [vessel, …]`)",
            parts=tags,
        )


def _heated_ports(facts):
    """Openings of givers, and of exchangers, which give on one side."""
    for part in facts.network.parts.values():
        exchanger = not part.kind.store and any(p.sort == "heat" for p in part.kind.passages)
        names = part.kind.gives or (part.kind.takes if exchanger else ())
        yield from (port for port in facts.wet_ports(part) if port.port in names and facts.is_piped(port))


def _takes_the_swelling(facts, tag: str, section) -> bool:
    part = facts.network.parts[tag]
    if part.kind.name.endswith("expansion-vessel") or part.kind.name == "drain-back-vessel":
        return True
    return facts.built_in(tag, "vessel") and any(
        port.tag == tag and port.port in part.kind.gives for port in section.ports
    )


def _cool_end(facts, port) -> str:
    returns = facts.return_ports(facts.network.parts[port.tag])
    return str(returns[0] if returns else port)
