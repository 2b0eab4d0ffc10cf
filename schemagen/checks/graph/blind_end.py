"""blind-end (warning)

What: a pipe ends in a cap or in a part whose far side is plugged, with nothing beyond that needs it.
    Advice where the water is not for drinking.
Why: water stands in a capped stub: in drinking water bacteria grow there; in heating it collects air or sludge.
Cure: cut back to the tee.
Source: HSE guidance HSG274 part 2 calls a redundant closed pipe a dead or blind end (as summarised);
    BS 8558 and BS EN 806, and the figure of two pipe diameters, from memory
Caution: legionella

Wrong:
    parts:
      M1: {kind: cold-main}
      T1: {kind: tee}
      X1: {kind: cap}
      O1: {kind: cold-outlet}
    connections:
      - [M1.out, T1.a]
      - [T1.b, O1.in]
      - {run: [T1.branch, X1], length: 2 m}

Right:
    parts:
      M1: {kind: cold-main}
      O1: {kind: cold-outlet}
    connections:
      - [M1.out, O1.in]
"""

from schemagen.checks.fault import Fault

STAGE = "shape"
_DIAMETERS = 2
_WHOLESOME = ("cold", "cold-main", "cold-stored", "hot", "hot-wholesome", "tempered")


def check(facts):
    for part in facts.network.parts.values():
        ports = facts.wet_ports(part)
        piped = [port for port in ports if facts.is_piped(port)]
        plugged = part.kind.name == "cap" or (
            not part.kind.still and len(ports) == 2 and len(piped) == 1 and part.capped and not part.kind.takes
        )
        if not plugged or len(piped) != 1:
            continue
        pipe = facts.pipe_at(piped[0])
        length = pipe.values.get("length")
        if length is not None and pipe.size and length <= _DIAMETERS * pipe.size:
            continue
        wholesome = facts.waters.medium[pipe.index] in _WHOLESOME
        yield Fault(
            f"the pipe to {part.tag} is a blind end",
            f"take {part.tag} and its pipe out, back to the tee",
            parts=(part.tag,),
            pipes=[pipe],
            severity=None if wholesome else "advice",
        )
