"""Other words of the trade for the kinds: what a reader may write in place of a kind's name."""

WORDS = {
    "accumulator": ("buffer-two-pipe", "thermal-store"),
    "anti-gravity-valve": ("check-valve",),
    "ashp": ("air-heat-pump",),
    "automatic-air-vent": ("air-vent",),
    "automatic-bypass-valve": ("bypass-valve",),
    "ball-valve": ("isolating-valve",),
    "blending-valve": ("thermostatic-mixing-valve", "heating-mixing-valve"),
    "circulator": ("pump", "wholesome-circulating-pump"),
    "expansion-tank": ("expansion-vessel", "feed-and-expansion-cistern"),
    "gate-valve": ("isolating-valve",),
    "gshp": ("ground-heat-pump",),
    "header-tank": ("feed-and-expansion-cistern",),
    "hydraulic-separator": ("low-loss-header",),
    "llh": ("low-loss-header",),
    "manifold": ("underfloor-manifold", "header"),
    "motorised-valve": ("zone-valve", "diverter-valve", "mid-position-valve"),
    "motorized-valve": ("zone-valve", "diverter-valve", "mid-position-valve"),
    "non-return-valve": ("check-valve",),
    "nrv": ("check-valve",),
    "pressure-reducing-valve": ("pressure-reducer",),
    "prv": ("pressure-reducer", "relief-valve"),
    "safety-valve": ("relief-valve", "expansion-relief-valve"),
    "service-valve": ("isolating-valve",),
    "sludge-filter": ("magnetic-filter",),
    "stop-valve": ("isolating-valve",),
    "stopcock": ("isolating-valve",),
    "t-and-p-valve": ("temperature-and-pressure-relief-valve",),
    "tap": ("hot-outlet", "cold-outlet", "mixer-outlet"),
    "three-port-valve": ("diverter-valve", "mid-position-valve", "heating-mixing-valve"),
    "3-port-valve": ("diverter-valve", "mid-position-valve", "heating-mixing-valve"),
    "tmv": ("thermostatic-mixing-valve",),
    "trv": ("thermostatic-radiator-valve",),
    "two-port-valve": ("zone-valve",),
    "2-port-valve": ("zone-valve",),
    "unvented-cylinder": ("indirect-unvented-cylinder", "twin-coil-unvented-cylinder", "direct-unvented-cylinder"),
}
"""Common trade terms, no source."""


def meant_by(word: str) -> tuple[str, ...]:
    """The kinds that a word of the trade stands for, the commonest first; empty if it is none."""
    return WORDS.get("-".join(word.casefold().replace("-", " ").split()), ())
