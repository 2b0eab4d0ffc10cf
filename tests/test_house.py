"""The house keeps its own rules.

One-way imports, one place per thing, nothing at the top level that does not belong.
"""

import ast
import re
import subprocess
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
PACKAGE = ROOT / "schemagen"
LADDER = (
    "base parts joblist network operation sizing layout routing checks faults drawing schedules sheets changes papers "
    "lessons output pipeline cli"
).split()


def modules():
    return sorted(p for p in PACKAGE.rglob("*.py"))


def rung(path: Path) -> str:
    first = path.relative_to(PACKAGE).parts[0]
    return first.removesuffix(".py")


def imports_of(path: Path) -> set[str]:
    found = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.ImportFrom) and node.module and node.module.startswith("schemagen"):
            found.add(node.module)
        elif isinstance(node, ast.Import):
            found.update(a.name for a in node.names if a.name.startswith("schemagen"))
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_a_module_imports_only_from_its_own_folder_and_from_rungs_to_its_left(path):
    own = rung(path)
    if own in ("__init__", "__main__"):
        return
    for module in imports_of(path):
        parts = module.split(".")
        assert len(parts) > 1, f"{path} imports the package itself"
        assert LADDER.index(parts[1]) <= LADDER.index(own), f"{path} reaches right: {module}"


def test_every_module_says_what_it_is():
    for path in modules():
        assert ast.get_docstring(ast.parse(path.read_text(encoding="utf-8"))), f"{path} has no docstring"


def tracked() -> list[str]:
    listing = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True)
    if listing.returncode:
        pytest.skip("not a git checkout")
    return listing.stdout.splitlines()


def test_the_top_level_holds_only_what_a_person_should_see():
    top = {name.split("/")[0] for name in tracked()}
    shown = {name for name in top if not name.startswith(".")}
    assert shown <= {"README.md", "DEVELOPERS.md", "pyproject.toml", "schemagen", "symbols", "tests", "examples"}


def test_no_tracked_file_is_large():
    for name in tracked():
        path = ROOT / name
        if path.is_file():
            assert path.stat().st_size < 1_000_000, name


def test_every_example_named_in_the_readme_exists():
    for name in re.findall(r"examples/[\w./-]+", (ROOT / "README.md").read_text(encoding="utf-8")):
        assert (ROOT / name.rstrip(".")).exists(), name


def test_no_line_of_code_is_longer_than_a_hundred_and_twenty_letters():
    files = [path for folder in (PACKAGE, ROOT / "tests") for path in folder.rglob("*.py")]
    lines = ((path, n, line) for path in files for n, line in enumerate(path.read_text("utf-8").splitlines(), 1))
    assert [f"{path.relative_to(ROOT)}:{n}" for path, n, line in lines if len(line) > 120] == []
