"""Where in a user's list something stands."""

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Place:
    """A file with a line (text forms) or a sheet and a cell (workbooks). `line` counts from 1."""

    file: str
    line: int | None = None
    sheet: str | None = None
    cell: str | None = None

    def __str__(self) -> str:
        if self.sheet is not None:
            sheet = f"{self.file}, sheet {self.sheet}"
            return f"{sheet}, cell {self.cell}" if self.cell else sheet
        return f"{self.file}:{self.line}" if self.line else self.file
