"""The program on one screen: a list becomes a network, findings, a plan, a drawing and sheets.

    list text → JobList → Network → Waters → Plan → Drawing → Sheets → files
                  └── Findings: from every arrow, always the same type ──┘
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from functools import cached_property
from hashlib import sha256
from pathlib import Path
from typing import TYPE_CHECKING

from schemagen.base.finding import Finding
from schemagen.checks.check import Facts, Report
from schemagen.checks.check import check as run_checks
from schemagen.checks.design_facts import design_of
from schemagen.drawing.compose import compose
from schemagen.drawing.drawing import Drawing
from schemagen.joblist.joblist import JobList
from schemagen.joblist.read import read as read_list
from schemagen.layout.lay_out import lay_out
from schemagen.layout.on_sheets import CONNECTOR
from schemagen.layout.placement import Plan
from schemagen.network.build import Built, build
from schemagen.network.network import Network
from schemagen.network.waters import Waters, find_waters
from schemagen.operation.operate import Operation
from schemagen.operation.states import State
from schemagen.output.as_svg import svg_text
from schemagen.output.write import shows_states, write
from schemagen.parts.library import Library, shipped_library
from schemagen.routing.route import route
from schemagen.sheets.bare import bare_sheets
from schemagen.sheets.cut import cut_sheets
from schemagen.sheets.publish import LARGEST, DoesNotFit, publish_alike
from schemagen.sheets.sheet import Sheet

if TYPE_CHECKING:
    from schemagen.changes.changes import Changes, Version
    from schemagen.lessons.lesson import Lesson
    from schemagen.operation.state_view import StateView
    from schemagen.papers.pack import Pack
    from schemagen.sizing.sizes import Sizes


@dataclass(frozen=True)
class Job:
    """One list and all that follows from it. Each stage is worked out when it is first asked for, once."""

    list: JobList
    library: Library

    @cached_property
    def _built(self) -> Built:
        return build(self.list, self.library)

    @property
    def network(self) -> Network:
        return self._built.network

    @cached_property
    def waters(self) -> Waters:
        return find_waters(self.network)

    @cached_property
    def _facts(self) -> Facts:
        return Facts(self.list, self.library, self.network, self.waters, self._built.findings)

    @cached_property
    def report(self) -> Report:
        return run_checks(self._facts)

    @property
    def operation(self) -> Operation:
        """The operating states and where the water moves in each; worked out once for checks, drawings and tables."""
        return self._facts.operation

    @property
    def states(self) -> tuple[State, ...]:
        return self.operation.states

    @cached_property
    def sizes(self) -> "Sizes":
        """The figures of the list. Imported here, as neither drawings nor checks need them."""
        from schemagen.sizing.size import sizes_of

        return sizes_of(design_of(self._facts))

    @property
    def findings(self) -> tuple[Finding, ...]:
        return self.report.findings

    @cached_property
    def plan(self) -> Plan:
        return route(lay_out(self.network, self.waters), self.network, self.waters)

    @cached_property
    def drawing(self) -> Drawing:
        return compose(self.network, self.waters, self.plan, self.report)

    def sheets(self, page: str | None = None) -> tuple[Sheet, ...]:
        """The drawing on sheets. `page`: "A4", "A3", "A2", "A1", "fit", or None for the smallest that it fits.

        What does not fit the page asked for is cut into several sheets of it; without one, what does not fit A1 into
        sheets of A1. Raises CannotDraw if no cut helps.
        """
        return self._on_sheets([self.drawing], [None], page)

    def state_drawing(self, state: State) -> Drawing:
        """The drawing as it is in one state; everything stands where it stands on the plain one."""
        return compose(self.network, self.waters, self.plan, self.report, view=self._view(state))

    def state_sheets(self, states: Sequence[State], page: str | None = None) -> tuple[Sheet, ...]:
        """One sheet for each state, or as many as the plain drawing has; all alike in size. `page` as in sheets."""
        return self._on_sheets([self.state_drawing(s) for s in states], [self._view(s) for s in states], page)

    def bare_sheets(self, states: Sequence[State]) -> tuple[Sheet, ...]:
        """The drawing, then each state, without furniture: for formats that set the words themselves."""
        drawings = (self.drawing, *(self.state_drawing(state) for state in states))
        return bare_sheets(drawings, self.network, self.report)

    def _view(self, state: State) -> "StateView":
        from schemagen.operation.state_view import view_of
        from schemagen.sizing.shown import shown_at_pipes

        return replace(view_of(self.operation, state), figures=shown_at_pipes(design_of(self._facts), state))

    def _on_sheets(
        self, drawings: Sequence[Drawing], views: Sequence["StateView | None"], page: str | None
    ) -> tuple[Sheet, ...]:
        """Drawings of the whole on a sheet each; or, all cut alike, on several each."""
        try:
            whole = publish_alike(drawings, self.network, self.report, page)
        except DoesNotFit as refused:
            if cut := self._cut(views, page):
                return cut
            raise DoesNotFit(f"{refused}; cut into several sheets its parts are still too large for {page}") from None
        if page is None and whole[0].page == "fit":
            return self._cut(views, LARGEST) or whole
        return whole

    def _cut(self, views: Sequence["StateView | None"], page: str) -> tuple[Sheet, ...]:
        return cut_sheets(self._facts, self.report, self.library.kind(CONNECTOR), views, page)


@dataclass(frozen=True)
class Comparison:
    """Two versions of a list, what changed between them, and both on one drawing."""

    old: Job
    new: Job

    @cached_property
    def changes(self) -> "Changes":
        from schemagen.changes.changes import changes

        return changes(_version(self.old), _version(self.new))

    def sheets(self, page: str | None = None) -> tuple[Sheet, ...]:
        """The drawing with its changes marked. `page` as in Job.sheets; raises CannotDraw if it does not fit it."""
        from schemagen.changes.mark_up import marked, marks_wanted
        from schemagen.changes.sheet import comparison_sheets
        from schemagen.changes.union import united

        union = united(self.changes, shipped_library().kind("tee"))
        plan = route(lay_out(union.network, union.waters), union.network, union.waters)
        wanted, signs = marks_wanted(self.changes, union, plan)
        drawing = marked(compose(union.network, union.waters, plan, wanted), plan, self.changes, union, signs)
        return comparison_sheets(drawing, self.changes, union, page)


def _version(job: Job) -> "Version":
    from schemagen.changes.changes import Version

    return Version(job.network, job.waters, job.report, job.states)


def read(source: str | Path) -> Job:
    """Reads a list: a .yaml, .json, .xlsx, .ods or .csv file, a folder of CSV files, or "-" for standard input.

    Raises ListUnreadable with every fault found, and SymbolError for a faulty `symbols:` folder.
    """
    return job_of(read_list(source))


def job_of(job_list: JobList) -> Job:
    """The job of a list that is already in memory, with the kinds of its own `symbols:` folder, if it names one."""
    if job_list.symbols and job_list.folder is not None:
        return Job(job_list, Library(Path(job_list.folder) / job_list.symbols))
    return Job(job_list, shipped_library())


def check(source: Job | str | Path) -> tuple[Finding, ...]:
    """Every finding on a list: errors first, then warnings, then advice; accepted ones last."""
    return _job(source).findings


def draw(source: Job | str | Path, page: str | None = None) -> "Schematic":
    """The schematic of a list, ready to be shown or saved. `page` as in Job.sheets."""
    job = _job(source)
    return Schematic(job.sheets(page), job)


def lesson(
    source: Job | str | Path, seed: int = 1, papers: int = 4, difficulty: int = 2, title: str | None = None
) -> "Lesson":
    """The lesson of a list: build-up sheets, worksheets, questions on states and fault-finding papers, with their keys.

    The same list, seed and difficulty (1 to 3) give the same papers. Raises CannotDraw: see lessons.lesson.
    """
    from schemagen.joblist.write import text_of
    from schemagen.lessons.exercise import Course
    from schemagen.lessons.lesson import make_lesson
    from schemagen.operation.state_view import view_of

    job = _job(source)
    clean = Report((), (), job.report.checks_run)

    def drawn(facts: Facts, report: Report) -> tuple[Drawing, Drawing]:
        plan = route(lay_out(facts.network, facts.waters), facts.network, facts.waters)
        plain, marked = (compose(facts.network, facts.waters, plan, said) for said in (clean, report))
        return plain, marked

    return make_lesson(
        Course(
            title=title or job.network.sheet.get("title") or "Piping schematic",
            list_name=Path(job.list.name).name,
            mark=sha256(text_of(job.list, "json").encode()).hexdigest(),
            seed=seed,
            difficulty=difficulty,
            facts=job._facts,
            drawing=compose(job.network, job.waters, job.plan, clean),
            clean=clean,
            in_state=lambda state: compose(
                job.network, job.waters, job.plan, clean, view=view_of(job.operation, state)
            ),
            drawn=drawn,
        ),
        papers,
    )


def handover(source: Job | str | Path, told: Callable[[str], None] = lambda step: None) -> "Pack":
    """The handover set of a list: its papers, schedules and sheets, all as values. `told` hears what is being done."""
    from importlib.metadata import version

    from schemagen.joblist.write import text_of
    from schemagen.papers.handover import handover as papers_of
    from schemagen.papers.material import Material
    from schemagen.papers.pack import Pack
    from schemagen.schedules.dossier import Dossier
    from schemagen.sheets.zones import zones

    job = _job(source)
    text, name, program = text_of(job.list, "yaml"), Path(job.list.name).name, version("schemagen")
    mark = sha256(text.encode()).hexdigest()
    told("drawing the schematic")
    sheets = job.sheets()
    told("drawing the operating states")
    states = job.state_sheets(job.states)
    told("working out the figures")
    dossier = Dossier(job._facts, job.report, job.sizes, zones(sheets))
    told("writing the papers")
    papers = papers_of(Material(dossier, sheets, states), f"List {mark[:8]}, schemagen {program}, {name}")
    return Pack(job.drawing.title, name, text, mark, program, dossier, sheets, papers)


def _job(source: Job | str | Path) -> Job:
    return source if isinstance(source, Job) else read(source)


@dataclass(frozen=True)
class Schematic:
    """A finished schematic on one or more sheets. A notebook shows the first sheet."""

    sheets: Sequence[Sheet]
    job: Job

    def _repr_svg_(self) -> str:
        text = svg_text(self.sheets[0])
        return text[text.index("<svg") :]

    def save(self, path: str | Path, dpi: int = 200) -> tuple[Path, ...]:
        """Writes the sheets; the suffix picks the format. Returns the files written."""
        path = Path(path)
        sheets = self.job.bare_sheets(self.job.states) if shows_states(path.suffix) else self.sheets
        return write(sheets, path, dpi=dpi)
