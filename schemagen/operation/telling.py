"""How things are listed and agree in the sentences about states."""

from collections.abc import Iterable
from itertools import islice

MOST_LISTED = 6
"""Of more things than this, the first ones are named and the rest counted."""


def listed(words: Iterable[str]) -> str:
    """For example "P1, P2 and P3"."""
    *head, last = list(words) or [""]
    return f"{', '.join(head)} and {last}" if head else last


def some(words: Iterable[str]) -> str:
    """As listed; of many the first few, and how many more."""
    words = list(words)
    if len(words) <= MOST_LISTED:
        return listed(words)
    return f"{', '.join(islice(words, MOST_LISTED - 1))} and {len(words) - MOST_LISTED + 1} more"


def capital(text: str) -> str:
    """With a capital first letter; a tag that begins it stays as it is."""
    return text[:1].upper() + text[1:]


def s(subjects: Iterable[str]) -> str:
    """The ending of a verb: "s" after one subject."""
    return "s" if len(list(subjects)) == 1 else ""


def is_are(subjects: Iterable[str]) -> str:
    return "is" if len(list(subjects)) == 1 else "are"
