"""What a connection may say of its pipes: its fields, and the words for what runs in it."""

from schemagen.parts.kind import MEDIA, Attribute

PIPE_ATTRIBUTES: dict[str, Attribute] = {
    a.name: a
    for a in (
        Attribute("size", "length", "nominal size", unit="mm"),
        Attribute("medium", "word", "what runs in it"),
        Attribute("length", "length", "length of the whole run", unit="m"),
        Attribute("bends", "count", "number of bends"),
        Attribute("heights", "lengths", "heights along the pipe, in order", unit="m"),
        Attribute("fall", "ratio", "fall along the pipe, such as 1:200"),
        Attribute("drop", "length", "vertical length before the first bend", unit="mm"),
        Attribute("place", "text", "indoor, unheated, outdoor, or the name of a place"),
        Attribute("material", "text", "what the pipe is made of"),
        Attribute("max-temperature", "temperature", "what the pipe stands", unit="°C"),
        Attribute("frost-protection", "text", "independent: trace heating with its own supply"),
        Attribute("gravity", "flag", "the water moves by itself, without a pump"),
        Attribute("label", "text", "name printed at the pipe"),
        Attribute("note", "text", "remark"),
    )
}
"""Fields that a connection may carry."""

MEDIUM_WORDS = {
    **{m: m for m in MEDIA.values()},
    "antifreeze-mix": "antifreeze-mix",
    **{w: "cold" for w in ("cold-main", "cold-stored", "cold-water", "mains-cold")},
    **{w: "hot" for w in ("hot-wholesome", "hot-water")},
    **{w: "tempered" for w in ("tempered-water", "blended", "mixed")},
    **{w: "heating-water" for w in ("heating", "water")},
    **{w: "antifreeze-mix" for w in ("antifreeze", "glycol", "solar-fluid")},
    "brine": "ground-brine",
    "waste": "discharge",
    "pool": "pool-water",
}
"""The medium that each word for it means."""
