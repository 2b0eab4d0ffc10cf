"""What every verb needs between the caller and the call: to refuse, to say, to show that it works.

Results go to standard output by the verbs; all that is said here goes to the error stream.
"""

import sys
from collections.abc import Iterable
from contextlib import contextmanager


class Refused(Exception):
    """The call cannot be carried out; the text says why and what to do. Ends with status 2."""


def say(text: str) -> None:
    """One line to the error stream."""
    print(text, file=sys.stderr)


@contextmanager
def working(what: str):
    """A spinner on a terminal's error stream while something takes long; silent elsewhere.

    Gives a function that changes what it says.
    """
    if not sys.stderr.isatty():
        yield lambda text: None
        return
    from rich.console import Console

    with Console(stderr=True).status(what) as spinner:
        yield spinner.update


def readable(sources: Iterable[str]) -> list[str]:
    """The lists named, if they can all be read: standard input can be read once only."""
    sources = list(sources)
    if sources.count("-") > 1:
        raise Refused("standard input can be read once only; name - once")
    return sources


def counted(n: int, word: str) -> str:
    """For example "1 finding" and "2 findings"."""
    return f"{n} {word}{'' if n == 1 else 's'}"
