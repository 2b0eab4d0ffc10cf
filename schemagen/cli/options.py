"""Arguments and options that several verbs share, so that they read the same in each."""

from enum import StrEnum
from typing import Annotated

import typer

LIST_HELP = "A list: .yaml, .json, .xlsx, .ods, a folder of CSV files, or - for standard input (YAML)."
ListArgument = Annotated[str, typer.Argument(metavar="LIST", help=LIST_HELP)]


class Page(StrEnum):
    A4 = "A4"
    A3 = "A3"
    A2 = "A2"
    A1 = "A1"
    FIT = "fit"


PageOption = Annotated[Page | None, typer.Option(help="Sheet size. Without it: the smallest on which all can be read.")]
DotsOption = Annotated[int, typer.Option(min=30, max=1200, help="Dots per inch of a PNG.")]


class TextOrJson(StrEnum):
    TEXT = "text"
    JSON = "json"
