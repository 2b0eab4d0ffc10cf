"""The shape of a list, as pydantic models: they check what was read, and publish the JSON Schema for editors."""

from collections.abc import Sequence
from typing import Annotated, Any

from pydantic import BaseModel, ConfigDict, Field, TypeAdapter, ValidationError, WithJsonSchema

from schemagen.parts.library import COMMON, shipped_library

Scalar = Annotated[str, WithJsonSchema({"type": ["string", "number", "boolean", "null"]})]
Word = Annotated[str, WithJsonSchema({"type": ["string", "number"]})]
Short = dict[str, Scalar]
Value = Scalar | list[Scalar | Short] | dict[str, Scalar | list[Scalar]]


class _Open(BaseModel):
    """A table with keys of its own beside those named; the kinds say which are known."""

    model_config = ConfigDict(extra="allow", strict=True)
    __pydantic_extra__: dict[str, Value]


class PartIn(_Open):
    """One part: its kind, and whatever the kind's page lists."""

    kind: Word = Field(description="a kind of part; `schemagen kinds` lists them")


class PartRow(PartIn):
    """One part as a row of a table."""

    tag: Word = Field(description="the part's own name, such as HP1")


class ConnectionIn(_Open):
    """A run through several parts, or one pipe from a port to a port, with its size and more."""

    run: Word | list[Word] | None = Field(
        default=None, description="stops in the direction of the water: TAG.port, TAG, or a kind's name"
    )
    start: Word | None = Field(default=None, alias="from", description="where the water comes from: TAG.port")
    end: Word | None = Field(default=None, alias="to", description="where the water goes: TAG.port")


class RowIn(_Open):
    """One row of states, accept or fluids."""


Connection = (
    Annotated[str, Field(description='"A.flow > T1 > B.in"')]
    | Annotated[list[Word], Field(description="[A.flow, B.in], in the direction of the water")]
    | ConnectionIn
)


class RevisionIn(BaseModel):
    """One issue of the sheet."""

    model_config = ConfigDict(extra="forbid", strict=True)

    index: Scalar = Field(default="", description="letter or number of the revision")
    date: Scalar = Field(default="", description="date of issue, such as 2025-03-17")
    what: Scalar = Field(default="", description="what was done")
    by: Scalar = Field(default="", description="who did it")


class SheetIn(_Open):
    """What the title block says."""

    revisions: Scalar | list[Scalar | RevisionIn] = Field(
        default="", description="earlier issues and this one, the oldest first"
    )


class ListIn(BaseModel):
    """A parts list and a connections list for a piping schematic."""

    model_config = ConfigDict(extra="forbid", strict=True, title="schemagen list")

    sheet: SheetIn = Field(default=SheetIn(), description="title, number, revision and the like, for the title block")
    parts: dict[str, PartIn | Word] | list[PartRow] = Field(description="TAG: {kind: …, size: …}, or TAG: kind")
    connections: list[Connection] = Field(default=[], description="pipes, in the direction in which the water moves")
    states: dict[str, RowIn] | list[RowIn] = Field(default={}, description="operating states of your own")
    accept: dict[str, RowIn | Scalar] | list[RowIn] = Field(
        default={}, description="findings that were considered, each with a reason"
    )
    fluids: dict[str, RowIn] | list[RowIn] = Field(
        default={}, description="what fills the circuits: content, antifreeze …"
    )
    symbols: Scalar = Field(default="", description="a folder beside the list with kinds of your own")


KEYS = tuple(ListIn.model_fields)
"""The words at the top of a list."""


def faults(data: Any) -> list[tuple[str | int, ...]]:
    """Where the data have not the shape of a list: paths of keys and numbers. Empty if all is well."""
    try:
        _ADAPTER.validate_python(data)
    except ValidationError as e:
        return _shortest([_path(data, error["loc"]) for error in e.errors(include_url=False, include_input=False)])
    return []


def _path(data: Any, loc: Sequence[str | int]) -> tuple[str | int, ...]:
    """The steps of a location that lead through the data; the rest are the validator's own names."""
    path: list[str | int] = []
    for step in loc:
        if (
            isinstance(data, dict)
            and step in data
            or isinstance(data, list)
            and isinstance(step, int)
            and step < len(data)
        ):
            data = data[step]
            path.append(step)
    return tuple(path)


def _shortest(paths: list[tuple[str | int, ...]]) -> list[tuple[str | int, ...]]:
    """Of the attempts at several shapes the deepest path tells most; of equal ones only one is kept."""
    distinct = list(dict.fromkeys(paths))
    inner = {path[:n] for path in distinct for n in range(len(path))}
    return [path for path in distinct if path not in inner]


def schema() -> dict[str, Any]:
    """The JSON Schema of a list, with the names of the kinds that ship and the attributes that any part may have."""
    published = _ADAPTER.json_schema(mode="validation")
    published["$schema"] = "https://json-schema.org/draft/2020-12/schema"
    names = list(shipped_library().names)
    for name in ("PartIn", "PartRow"):
        properties = published["$defs"][name]["properties"]
        properties["kind"] = {
            "anyOf": [{"enum": names}, {"type": "string"}],
            "description": properties["kind"]["description"],
        }
        for key, attribute in COMMON.items():
            properties[key] = published["$defs"][name]["additionalProperties"] | {"description": attribute.help}
    return published


_ADAPTER = TypeAdapter(ListIn)
