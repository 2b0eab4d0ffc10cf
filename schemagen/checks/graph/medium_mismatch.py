"""medium-mismatch (error)

What: openings joined by plain pipework ask for different waters, or one pressure section holds waters of two families
    (drinking, heating, ground brine, pool, waste).
    Not so where a hot-water circulation joins the cold inlet of its store between check valve and store.
Why: heating water, drinking water, antifreeze and waste must not share a pipe;
    it is the quickest sign of a wrong opening.
Cure: move the pipe to the right opening, or put a heat exchanger between the two waters.
Source: common practice, no source; where drinking water is one side it follows from
    the Water Supply (Water Fittings) Regulations 1999, schedule 2, paragraph 15 (backflow)
Caution: drinking-water

Wrong:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      C1: {kind: direct-unvented-cylinder, capped: [circulation-return]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, C1.cold-in]
      - [C1.hot-out, R1.a]
      - [R1.b, B1.return]

Right:
    parts:
      B1: {kind: system-boiler, capped: [relief-outlet, condensate]}
      R1: {kind: radiator}
    connections:
      - [B1.flow, R1.a]
      - [R1.b, B1.return]
"""

from schemagen.checks.drinking_water._hot import into_cold_inlet
from schemagen.checks.fault import Fault
from schemagen.network.network import PortId

STAGE = "shape"
FOLDS = (
    "exchanger-sides-joined", "cross-connection", "no-path-back", "store-not-heated", "coil-one-side",
    "flow-and-return-swapped", "arrow-against-flow", "filling-loop-left-connected",
)  # fmt: skip
_ANY = frozenset("XAS")
"""Letters of openings that ask for no water of their own: any water, air, a signal."""
_FAMILIES = {
    "C": "drinking water", "W": "drinking water", "T": "drinking water", "H": "heating water", "B": "ground brine",
    "D": "discharge or condensate", "K": "discharge or condensate", "P": "pool water", "R": "refrigerant",
}  # fmt: skip
_WORDS = {
    "C": "cold water", "W": "hot water", "T": "tempered water", "H": "heating water", "B": "ground brine",
    "D": "discharge", "K": "condensate", "P": "pool water", "R": "refrigerant",
}  # fmt: skip


def check(facts):
    told = set()
    for ports, letters in _joined(facts):
        clash = _clash(facts, ports, letters)
        if clash and not told & {clash[0].tag, clash[1].tag}:
            told |= {clash[0].tag, clash[1].tag}
            yield _fault(facts, *clash)


def _joined(facts):
    """Plain pipework port by port with the letters as they are, then whole sections with their families."""
    seen: set[PortId] = set()
    for port in facts.network.ports():
        if port in seen or not facts.is_piped(port):
            continue
        header = facts.reach.header(port)
        seen |= header
        yield sorted(header), set
    for section in facts.reach.sections:
        if len(section.ports) > 1:
            yield section.ports, lambda m: {_FAMILIES[letter] for letter in m}


def _clash(facts, ports, letters):
    """The first two openings that ask for waters with nothing in common."""
    asked = None
    first = None
    circulated = facts.once(into_cold_inlet)
    for port in ports:
        spec = facts.spec(port)
        if spec.need not in ("must", "may") or not _ANY.isdisjoint(spec.media) or not facts.is_piped(port):
            continue
        if port in circulated:
            continue
        mine = letters(spec.media)
        if asked is None:
            asked, first = mine, port
        elif not asked & mine:
            return first, port
        else:
            asked &= mine
    return None


def _fault(facts, a: PortId, b: PortId) -> Fault:
    pipes = {pipe.index: pipe for pipe in (facts.pipe_at(a), facts.pipe_at(b))}
    said = [" or ".join(_WORDS[letter] for letter in facts.spec(port).media) for port in (a, b)]
    return Fault(
        f"{a} carries {said[0]} but is joined to {b}, which carries {said[1]}",
        f"move the pipe at {a} or {b} to an opening of the same water, or put an exchanger between",
        parts=(a.tag, b.tag),
        pipes=pipes.values(),
        ports=(a, b),
    )
