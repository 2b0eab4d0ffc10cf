"""The lists in examples/: eight to learn from, free of findings, and two whose mistakes are all found."""

from pathlib import Path

import pytest

from schemagen import read
from schemagen.joblist.joblist import JobList
from schemagen.joblist.write import write

FOLDER = Path(__file__).parent.parent / "examples"
EXAMPLES = sorted(FOLDER.glob("[0-9]*"))
MISTAKES = {
    "09_heat_pump_with_mistakes": [
        "coil-one-side",  # ST1.coil-out, and with it the diverter's outlet a
        "heat-pump-no-strainer",  # MF1 stands on the flow
        "no-expansion",
        "relief-discharge-unsafe",  # RV1.outlet
        "separator-crossed",  # the load side of BU1
    ],
    "10_boiler_with_mistakes": [
        "bridged-on-one-header",  # R1
        "coil-one-side",  # TR1.b
        "filling-unprotected",  # FL1
        "nowhere-to-go-when-zones-shut",
        "relief-valve-isolated",  # V1 between B1 and RV1
    ],
}
"""What is wrong in each faulty list: every check that must speak, once for each place."""

LIST_CHECKS = {
    "duplicate-tag",
    "unknown-word",
    "unknown-end",
    "port-used-twice",
    "value-suspect",
    "control-list-broken",
}


def by_name(path: Path) -> str:
    return path.stem


def words(job: JobList) -> tuple[object, ...]:
    """All that a list says, without where it stands."""

    def entries(rows):
        return [(e.key, e.text) for e in rows]

    return (
        entries(job.sheet),
        [(p.tag, p.kind, entries(p.entries)) for p in job.parts],
        [(c.stops, entries(c.entries)) for c in job.connections],
        *([(r.name, entries(r.entries)) for r in rows] for rows in (job.states, job.accept, job.fluids)),
        job.symbols,
    )


def test_there_are_eight_lists_to_learn_from_and_two_with_mistakes():
    assert [p.name[:3] for p in EXAMPLES] == [f"{n:02}_" for n in range(1, 11)]
    assert [p.stem for p in EXAMPLES[8:]] == list(MISTAKES)


def test_the_examples_show_all_four_forms_of_a_list():
    assert {"folder" if p.is_dir() else p.suffix for p in EXAMPLES} == {".yaml", "folder", ".xlsx", ".json"}


@pytest.mark.parametrize("path", EXAMPLES, ids=by_name)
def test_each_example_says_first_what_it_shows(path):
    if path.suffix == ".yaml":
        assert path.read_text(encoding="utf-8").startswith("# ")
    else:
        assert "about" in read(path).network.sheet


@pytest.mark.parametrize("path", EXAMPLES, ids=by_name)
def test_each_example_is_a_list_without_a_slip_of_the_pen(path):
    assert [f.message for f in read(path).findings if f.check in LIST_CHECKS] == []


@pytest.mark.parametrize("path", EXAMPLES[:8], ids=by_name)
def test_the_examples_to_learn_from_have_no_finding_of_any_severity(path):
    assert [(f.check, f.severity, f.message) for f in read(path).findings] == []


@pytest.mark.parametrize("path", EXAMPLES[8:], ids=by_name)
def test_each_mistake_is_found_and_nothing_else(path):
    assert sorted(f.check for f in read(path).findings) == MISTAKES[path.stem]


@pytest.mark.parametrize("path", EXAMPLES, ids=by_name)
def test_the_four_forms_of_a_list_say_the_same(path, tmp_path):
    job = read(path).list
    for form in (".yaml", ".json", ".xlsx", ""):
        copy = tmp_path / f"copy{form}"
        write(job, copy)
        assert words(read(copy).list) == words(job), form


@pytest.mark.parametrize("path", EXAMPLES, ids=by_name)
def test_each_example_has_its_picture_in_the_readme(path):
    root = Path(__file__).resolve().parent.parent
    picture = f"examples/pictures/{path.stem if path.suffix else path.name}.svg"
    assert (root / picture).is_file()
    assert picture in (root / "README.md").read_text(encoding="utf-8")


def test_the_list_in_the_readme_is_read_and_drawn(tmp_path):
    readme = (Path(__file__).resolve().parent.parent / "README.md").read_text(encoding="utf-8")
    listed = readme.split("```yaml\n")[1].split("```")[0]
    (tmp_path / "readme.yaml").write_text(listed, encoding="utf-8")
    job = read(tmp_path / "readme.yaml")
    assert [f.message for f in job.findings if f.check in LIST_CHECKS] == []
    assert {"B1", "R1", "V1", "S1"} <= set(job.plan.parts)
