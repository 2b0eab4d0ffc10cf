"""A pack: the handover set of a list as values; output/pack_files.py makes the files of it."""

from collections.abc import Sequence
from dataclasses import dataclass

from schemagen.papers.paper import Paper
from schemagen.schedules.dossier import Dossier
from schemagen.sheets.sheet import Sheet


@dataclass(frozen=True)
class Pack:
    """`list_text` is the list as YAML, `list_hash` its SHA-256, `version` that of the program."""

    title: str
    list_name: str
    list_text: str
    list_hash: str
    version: str
    dossier: Dossier
    sheets: Sequence[Sheet]
    papers: Sequence[Paper]
