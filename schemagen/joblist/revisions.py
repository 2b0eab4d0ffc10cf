"""The revisions of a sheet: index, date, what was done and by whom, and their canonical text in the list.

`sheet:` may carry `revisions:`, the oldest first:

    revisions:
      - {index: A, date: 2025-03-17, what: First issue, by: K. Lund}

In tables each revision is a row with the key `revisions` and the value "index: A, date: 2025-03-17, what: …, by: …".
"""

import re
from dataclasses import dataclass

REVISIONS = "revisions"
KEYS = ("index", "date", "what", "by")
_KEY = re.compile(rf"(?:^|, )({'|'.join(KEYS)}): ")
_DAY = re.compile(r"\d{4}-\d\d-\d\d")


@dataclass(frozen=True, slots=True)
class Revision:
    """One issue of a sheet. What nobody wrote is ""."""

    index: str = ""
    date: str = ""
    what: str = ""
    by: str = ""


def pieces_of(text: str) -> list[dict[str, str]]:
    """Each revision of a canonical text by its keys, in the order of the list.

    A revision begins with `index`, or with a key that the one before has already. Text without a key is what was done.
    """
    found = list(_KEY.finditer(text))
    begins = [m.end() for m in found]
    ends = [m.start() for m in found[1:]] + [len(text)]
    head = text[: found[0].start()] if found else text
    out: list[dict[str, str]] = [{"what": head}] if head else []
    current: dict[str, str] | None = None
    for m, begin, end in zip(found, begins, ends, strict=False):
        if current is None or m[1] == "index" or m[1] in current:
            current = {}
            out.append(current)
        current[m[1]] = text[begin:end]
    return out


def text_of_pieces(pieces: list[dict[str, str]]) -> str:
    """The canonical text of revisions."""
    return ", ".join(f"{key}: {value}" for piece in pieces for key, value in piece.items())


def revisions_of(text: str) -> tuple[Revision, ...]:
    """The revisions of a canonical text, the newest first: by date if each has one of the form 2025-03-17."""
    found = [Revision(**piece) for piece in reversed(pieces_of(text))]
    if all(_DAY.fullmatch(revision.date) for revision in found):
        found.sort(key=lambda revision: revision.date, reverse=True)
    return tuple(found)
