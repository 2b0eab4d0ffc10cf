"""Text that a file format may hold: what a list says, without the characters that mean something to a machine."""

import unicodedata


def plain(text: str) -> str:
    """One line: every run of white space and controls is a space; halves of surrogate pairs and non-characters go."""
    return " ".join("".join(map(_sign, text)).split())


def _sign(sign: str) -> str:
    category = unicodedata.category(sign)
    if category in ("Cc", "Zl", "Zp"):
        return " "
    broken = category == "Cs" or (category == "Cn" and (ord(sign) & 0xFFFE == 0xFFFE or 0xFDD0 <= ord(sign) <= 0xFDEF))
    return "" if broken else sign
