"""The command: turns arguments into one call and an exit status.

Everything heavy is imported inside the verb that needs it, so that `--help` stays quick.
"""

import gc
import os
import sys

import typer

from schemagen.cli.documents import draw, graph, lesson, pack
from schemagen.cli.figures import sizes, states
from schemagen.cli.findings import check, why
from schemagen.cli.lists import convert, kinds, new
from schemagen.cli.status import status_of
from schemagen.cli.versions import compare

app = typer.Typer(
    help="Turns a parts list and a connections list into a checked, labelled piping schematic.",
    no_args_is_help=True,
    add_completion=False,
    pretty_exceptions_enable=False,
    rich_markup_mode=None,
)

VERBS = (
    (draw, "draw examples/01_one_radiator_circuit.yaml -o circuit.svg"),
    (lesson, "lesson examples/01_one_radiator_circuit.yaml -o lesson --papers 2"),
    (pack, "pack examples/03_heat_pump_buffer_cylinder.yaml -o handover"),
    (check, "check examples/09_heat_pump_with_mistakes.yaml --format text"),
    (why, "why coil-one-side"),
    (states, "states examples/03_heat_pump_buffer_cylinder.yaml"),
    (sizes, "sizes examples/03_heat_pump_buffer_cylinder.yaml --why EV1"),
    (graph, "graph examples/01_one_radiator_circuit.yaml -o network.svg"),
    (kinds, "kinds diverter-valve"),
    (compare, "compare examples/03_heat_pump_buffer_cylinder.yaml examples/04_heat_pump_combined_casing.xlsx"),
    (convert, "convert examples/01_one_radiator_circuit.yaml -o circuit.xlsx"),
    (new, "new house.yaml"),
)
"""Every verb in the order of the help, each with the example that ends its page."""

for _verb, _example in VERBS:
    app.command(epilog=f"Example: schemagen {_example}")(_verb)

YOUNG = 100_000
"""New objects after which garbage is looked for: a command is short, and most of what it makes it keeps to its end.

At the end what is left is frozen, since looking for garbage in it would take as long as checking a small list.
"""


def main() -> None:
    """Entry point of the `schemagen` command."""
    gc.set_threshold(YOUNG)
    os.environ.setdefault("PYDANTIC_DISABLE_PLUGINS", "__all__")
    try:
        sys.exit(app(standalone_mode=False) or 0)
    except SystemExit:
        raise
    except KeyboardInterrupt:
        sys.exit(130)
    except BrokenPipeError:
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        sys.exit(0)
    except Exception as e:
        sys.exit(status_of(e))
    finally:
        gc.freeze()
