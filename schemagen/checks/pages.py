"""The pages of the checks: each check is one file in a folder of its group, and its docstring is its page."""

import importlib
import pkgutil
import re
from collections.abc import Callable
from dataclasses import dataclass
from functools import cache, cached_property
from types import ModuleType

from schemagen.base.finding import Severity

GROUPS: dict[str, str] = {
    "listing": "The list",
    "graph": "Joined up",
    "circulation": "Circulation",
    "sealed_and_vented": "Sealed and open-vented safety",
    "unvented": "Unvented hot water",
    "drinking_water": "Drinking water",
    "heat_pumps": "Heat pumps",
    "solid_fuel_and_solar": "Solid fuel and solar",
    "service": "Service and commissioning",
    "controls": "Controls",
    "drawing": "Drawing and data",
}
"""Folders of checks, in the order of the catalogue, with their titles."""

STAGES = ("list", "shape", "safety", "movement", "practice")
"""Running order. A check says which with STAGE; else its group does."""

_STAGE_OF_GROUP = {
    "listing": "list",
    "graph": "shape",
    "circulation": "movement",
    "heat_pumps": "movement",
    "service": "practice",
    "controls": "practice",
    "drawing": "practice",
}
_TITLE = re.compile(r"([a-z0-9]+(?:-[a-z0-9]+)*) \((error|warning|advice)\)")
_HEADING = re.compile(r"^(What|Why|Cure|Source|Caution|Regions|Wrong|Right):[ ]*", re.M)


@dataclass(frozen=True)
class Page:
    """What the docstring of a check says. `wrong` and `right` are lists in YAML; the others are one line each."""

    slug: str
    severity: Severity
    what: str
    why: str
    cure: str
    source: str
    caution: str
    regions: str
    wrong: str
    right: str


@dataclass(frozen=True)
class CheckModule:
    """A check as found: its slug, group (folder), and the module that holds it."""

    slug: str
    group: str
    module: ModuleType

    @cached_property
    def page(self) -> Page:
        return read_page(self.module.__doc__ or "", self.module.__name__)

    @property
    def run(self) -> Callable:
        return self.module.check

    @property
    def stage(self) -> str:
        return getattr(self.module, "STAGE", _STAGE_OF_GROUP.get(self.group, "safety"))

    @property
    def folds(self) -> tuple[str, ...]:
        """Slugs of findings at the same place that this check's finding explains."""
        return getattr(self.module, "FOLDS", ())


class PageError(ValueError):
    """A check's docstring lacks something; the message names the module and what."""


@cache
def all_checks() -> tuple[CheckModule, ...]:
    """Every check that is there: by stage, then group, then name."""
    found = [
        CheckModule(name.replace("_", "-"), group, importlib.import_module(f"{__package__}.{group}.{name}"))
        for group in GROUPS
        for name in _modules(group)
    ]
    return tuple(sorted(found, key=lambda c: STAGES.index(c.stage)))


def _modules(group: str) -> list[str]:
    package = importlib.import_module(f"{__package__}.{group}")
    return sorted(m.name for m in pkgutil.iter_modules(package.__path__) if not m.name.startswith("_"))


def read_page(doc: str, where: str) -> Page:
    """Reads a page from a docstring. Raises PageError."""
    title, _, body = doc.strip().partition("\n")
    m = _TITLE.fullmatch(title.strip())
    if not m:
        raise PageError(f"{where}: the first line is slug and severity, as in 'no-expansion (error)'; found {title!r}")
    slug, severity = m.groups()
    if slug.replace("-", "_") != where.rpartition(".")[2]:
        raise PageError(f"{where}: the file of {slug} is called {slug.replace('-', '_')}.py")
    marks = list(_HEADING.finditer(body))
    ends = [n.start() for n in marks[1:]] + [len(body)]
    said = {n[1]: body[n.end() : end] for n, end in zip(marks, ends, strict=True)}
    if missing := [h for h in ("What", "Why", "Cure", "Source", "Wrong", "Right") if not said.get(h, "").strip()]:
        raise PageError(f"{where}: the page lacks {', '.join(missing)}")
    line = {
        h.lower(): " ".join(said.get(h, "").split()) for h in ("What", "Why", "Cure", "Source", "Caution", "Regions")
    }
    return Page(slug=slug, severity=severity, wrong=_list(said["Wrong"]), right=_list(said["Right"]), **line)


def _list(text: str) -> str:
    lines = [line for line in text.rstrip().splitlines() if line.strip()]
    indent = min(len(line) - len(line.lstrip()) for line in lines)
    return "\n".join(line[indent:] for line in lines) + "\n"
