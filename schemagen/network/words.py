"""How tags, kinds and ports are compared, and which written word looks most like a wrong one."""

import difflib
import re
import unicodedata
from collections.abc import Iterable

_DASHES = str.maketrans({c: "-" for c in "\u2010\u2011\u2012\u2013\u2014\u2015\u2212"})
_SEPARATORS = re.compile(r"[\s\-_]+")
_LETTER_THEN_DIGIT = re.compile(r"(?<=[^\W\d_])-(?=\d)")


def word(text: str) -> str:
    """A kind, port or field as its files spell it: small letters, hyphens for blanks and underscores."""
    plain = unicodedata.normalize("NFKC", text).translate(_DASHES).strip().casefold()
    return _SEPARATORS.sub("-", plain)


def tag_key(tag: str) -> str:
    """Equal for tags that mean the same part: case, blanks, hyphens and underscores make no difference.

    Between two digits a separator counts: "R 1-1" is not "R11", but "V-101", "v 101" and "V101" are one tag.
    """
    return _LETTER_THEN_DIGIT.sub("", word(tag))


def near(wrong: str, words: Iterable[str]) -> str:
    """The word that looks most like the wrong one, or "" if none does. For short lists of words."""
    found = difflib.get_close_matches(word(wrong), list(words), n=1, cutoff=0.6)
    return found[0] if found else ""


class NearTags:
    """Finds tags one slip of the pen away (a letter missing, added, changed, or two exchanged) in constant time."""

    def __init__(self, tags: Iterable[str]) -> None:
        self._tags: dict[str, str] = {}
        for tag in tags:
            for form in _one_less(tag_key(tag)):
                self._tags.setdefault(form, tag)

    def near(self, wrong: str) -> str:
        """The first tag of the list that is one slip away, or ""."""
        return next((self._tags[form] for form in _one_less(tag_key(wrong)) if form in self._tags), "")


def _one_less(key: str) -> list[str]:
    if not 3 <= len(key) < 60:
        return [key]
    return [key, *(key[:i] + key[i + 1 :] for i in range(len(key)))]
