"""separator-crossed (error)

What: at a separator or four-pipe buffer the source stands on the load's openings, or the hot pipe on the cool end.
Why: the separator has a hot end, a cool end, a source side and a load side;
    cross any pair, and the load gets return water or the source gets hot water back.
Cure: hot with hot at the top, cool with cool at the bottom, source on one side, load on the other.
Source: hydraulic separation and buffer connections as explained in trade articles

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.secondary-flow]
      - [B1.return, L1.secondary-return]
      - [L1.primary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, L1.primary-return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      L1: {kind: low-loss-header, capped: [vent, drain]}
      P1: {kind: pump}
      R1: {kind: radiator}
    connections:
      - [B1.flow, L1.primary-flow]
      - [L1.primary-return, B1.return]
      - [L1.secondary-flow, P1.in]
      - [P1.out, R1.a]
      - [R1.b, L1.secondary-return]
"""

from schemagen.checks.circulation._ways import bodies, hot_side, loads
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "flow-and-return-swapped", "buffer-bypassed", "nothing-to-receive", "arrow-against-flow", "pump-dead-headed",
    "no-path-back", "pump-missing", "part-never-flows", "pumps-unseparated", "mixing-valve-ports-swapped",
    "source-on-without-flow",
)  # fmt: skip
_ENDS = ("primary-flow", "primary-return", "secondary-flow", "secondary-return")


def check(facts):
    for part in facts.network.parts.values():
        if not part.kind.separates or not set(_ENDS) <= part.kind.ports.keys():
            continue
        ends = [PortId(part.tag, name) for name in _ENDS]
        if not all(facts.is_piped(port) for port in ends) or facts.goes_on_elsewhere(ends[0]):
            continue
        hot = hot_side(facts, part.tag)
        stop = bodies(facts)
        load = set(loads(facts, part.tag))
        wrong = [ends[0]] if ends[0] not in hot else []
        wrong += [port for port in (ends[1], ends[3]) if port in hot]
        wrong += [ends[2]] if ends[2] in hot or not load & facts.reach.downstream(ends[2], without=stop) else []
        if ends[3] not in facts.reach.downstream_of_all(sorted(load), without=stop | {part.tag}):
            wrong.append(ends[3])
        wrong = list(dict.fromkeys(wrong))
        if wrong:
            if ends[0] in hot:
                turned = "a pipe is on the wrong opening"
            else:
                turned = "source and load are exchanged" if ends[2] in hot else "hot and cool ends are exchanged"
            yield Fault(
                f"at {part.tag} {turned}: see {', '.join(str(port) for port in wrong)}",
                f"bring the hot pipe of the source to {ends[0]}, its return to {ends[1]}, "
                f"the load's flow to {ends[2]}, its return to {ends[3]}",
                parts=(part.tag, *_beside(facts, wrong)),
                pipes=[facts.pipe_at(port) for port in wrong],
                ports=tuple(wrong),
            )


def _beside(facts, ports) -> list[str]:
    return [far.tag for port in ports if (far := facts.piped_across(port))]
