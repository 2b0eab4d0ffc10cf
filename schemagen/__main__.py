"""`python -m schemagen` is the `schemagen` command."""

from schemagen.cli import main

main()
