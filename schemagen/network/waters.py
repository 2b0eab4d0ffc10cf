"""The waters in a network: which medium each pipe carries, which section it belongs to, which body of water it is in."""

from dataclasses import dataclass

SECTIONS: tuple[str, ...] = (
    "cold", "hot", "circulation", "tempered",
    "primary-flow", "primary-return", "heating-flow", "heating-return",
    "solar-flow", "solar-return", "brine-flow", "brine-return",
    "pool-flow", "pool-return",
    "discharge", "condensate", "vent", "cold-feed", "filling", "refrigerant",
)  # fmt: skip
"""Sections in teaching order. Primary: between heat source and store, buffer or separator. Heating: beyond it."""


@dataclass(frozen=True)
class Waters:
    """Per pipe (by index): medium, section, and number of its body of water (pipes that share water share a number).

    `circuits` are closed loops worth naming: tags in the order in which water passes them.
    """

    medium: tuple[str, ...]
    section: tuple[str, ...]
    body: tuple[int, ...]
    circuits: tuple[tuple[str, ...], ...]
