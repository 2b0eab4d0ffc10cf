"""Times the whole command against the bare import of its libraries, in one run, since machines are noisy.

    python tests/bench/bench_command.py [LIST]

Prints the median of each and their ratio: list to SVG as a process of its own ÷ importing networkx, pydantic, typer and
pygraphviz in a process of its own.
"""

import statistics
import subprocess
import sys
import tempfile
import time
from pathlib import Path

EXAMPLES = Path(__file__).resolve().parent.parent.parent / "examples"
BARE = "import networkx, pydantic, typer, pygraphviz"
RUNS = 9


def seconds(arguments: list[str]) -> float:
    start = time.perf_counter()
    subprocess.run([sys.executable, *arguments], check=True, capture_output=True)
    return time.perf_counter() - start


def main() -> None:
    source = sys.argv[1] if len(sys.argv) > 1 else str(next(EXAMPLES.glob("03_*")))
    with tempfile.TemporaryDirectory() as folder:
        drawn = ["-m", "schemagen", "draw", source, "-o", f"{folder}/out.svg"]
        for warm in (drawn, ["-c", BARE]):
            seconds(warm)
        pairs = [(seconds(drawn), seconds(["-c", BARE])) for _ in range(RUNS)]
    ours, bare = (statistics.median(column) for column in zip(*pairs, strict=True))
    print(f"{source}: draw {ours:.3f} s, bare import {bare:.3f} s, ratio {ours / bare:.2f} (median of {RUNS} pairs)")


if __name__ == "__main__":
    main()
