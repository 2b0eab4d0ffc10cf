"""What the command ends with, and what it says, when a verb is not carried out.

Exit status: 0 fine; 1 findings of severity error; 2 the list could not be read or the call was wrong;
3 a fault of ours.
"""

import errno
import os

import typer

from schemagen.cli.terminal import Refused, say


def status_of(e: Exception) -> int:
    """The exit status for what ended a verb; what the caller can mend is said in plain words."""
    from schemagen.joblist.joblist import ListUnreadable
    from schemagen.joblist.write import NoSuchForm
    from schemagen.parts.library import SymbolError
    from schemagen.sheets.sheet import CannotDraw

    match e:
        case typer.Exit():
            return e.exit_code
        case typer.Abort():
            return 130
        case _ if hasattr(e, "show") and hasattr(e, "exit_code"):
            e.show()
            return e.exit_code
        case ListUnreadable():
            for error in e.errors:
                say(f"{error.place}: {error.message}")
                say(f"    cure: {error.cure}")
            return 2
        case Refused() | SymbolError() | CannotDraw() | NoSuchForm():
            say(f"schemagen: {e}")
            return 2
        case OSError():
            say(f"schemagen: {e.filename or 'output'}: {_PLAIN.get(e.errno) or e.strerror or e}")
            return 2
    if os.environ.get("SCHEMAGEN_TRACE"):
        raise e
    say(
        f"schemagen: internal fault ({type(e).__name__}: {e}). "
        "Set SCHEMAGEN_TRACE=1 and run again, then report it with the list."
    )
    return 3


_PLAIN = {
    errno.ENOENT: "there is no such folder to write to; make it first, or name another",
    errno.ENOTDIR: "what should be a folder is a file; name another",
    errno.EACCES: "you may not write there; name another folder, or ask for the right to write to this one",
    errno.EPERM: "you may not write there; name another folder, or ask for the right to write to this one",
    errno.EROFS: "nothing can be written there; name another folder",
    errno.EBUSY: "the folder is in use and cannot be replaced; name another",
    errno.ENOSPC: "the disk is full; make room, or name a folder on another disk",
    errno.ENAMETOOLONG: "the name is too long; give a shorter one",
}
"""Refusals of the system in plain words, with the cure."""
