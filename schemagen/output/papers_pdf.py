"""Papers as one PDF: text on A4 pages, drawn sheets on pages of their own size, a bookmark for each paper.

Lengths are millimetres. Letters are never lower than 1.8 mm (the least of ISO 3098).
"""

import re
from collections.abc import Iterator, Sequence
from itertools import groupby

from schemagen.base.text import font_size_for, text_width
from schemagen.output.as_pdf import sheet_data
from schemagen.output.plain_text import plain
from schemagen.output.typesetting import typeset
from schemagen.papers.paper import (
    Fields,
    Grid,
    Heading,
    Lines,
    NewPage,
    Paper,
    Paragraph,
    Picture,
    Piece,
    Points,
)
from schemagen.sheets.typeset import shortened

MM_PER_POINT = 25.4 / 72
UPRIGHT, LANDSCAPE = 175.0, 262.0
"""Width of the text on an A4 page: 20 mm are left for filing, 15 mm at the other side."""

REMARK_SIZE, TABLE_SIZE, BODY_SIZE, TITLE_SIZE = (points * MM_PER_POINT for points in (8, 8.5, 9.5, 15))
CELL_SIDES = 3.0
"""White at the left and right of a cell's text, together."""

LEAST_COLUMN, BLANK_COLUMN, MOST_ASKED = 9.0, 20.0, 70.0
"""Least widths of a column and of one with blanks to write in; what cells ask for beyond the last goes into lines."""

LONG_CELL = 1200
"""Characters beyond which a row or a box of cautions may be broken between two pages."""

LONG_HEADING = 200
"""Characters of a column's heading beyond which the heading row is not repeated: it would leave no room for rows."""

LONGEST_FIELD, LONGEST_TITLE = 160.0, 300.0
"""Room for a value of the header and for the title, in millimetres of one line."""

DASHES = ("-", "–", "—")
"""Said in a cell where there is nothing to say."""

_NUMBER = re.compile(r"[-+−±]?\d[\d.,]*(?: ?[^\W\d]\S*| ?[%°]\S*)?")

_WORD = re.compile(r"\d[\d.,]* [^\W\d]\S*|\S+")
"""A number and its unit stay together."""

Words = list[str]
"""A text as the template takes it: lines; none is a blank. Longer ones are broken between words by the typesetter."""


def papers_pdf(papers: Sequence[Paper], title: str, language: str = "en") -> bytes:
    """The papers in their order, in one file. Raises CannotDraw if the typesetter is not installed."""
    data = {"title": plain(title), "language": language, "papers": [_paper(paper) for paper in papers]}
    return typeset("papers.typ", data)


def _paper(paper: Paper) -> dict:
    head = {key: plain(value) for key, value in paper.head.items()}
    width = LANDSCAPE if paper.landscape else UPRIGHT
    number, title = plain(paper.number), plain(paper.title)
    issue = [f"Revision {head['revision']}" if head.get("revision") else "", head.get("date", "")]
    return {
        "number": _field(number),
        "title": _words(_short(title, LONGEST_TITLE), 0.7 * width, TITLE_SIZE, bold=True),
        "bookmark": _short(" ".join(filter(None, (number, title))), LONGEST_TITLE),
        "running": _short(" ".join(filter(None, (number, title))), 0.6 * width, REMARK_SIZE),
        "issue": _short(", ".join(filter(None, issue)), 0.3 * width, REMARK_SIZE),
        "list": _short(head.get("list", ""), 0.5 * width, REMARK_SIZE),
        "head": _head(head),
        "landscape": paper.landscape,
        "pieces": list(_pieces(paper.pieces, width)),
        "sheets": [sheet_data(sheet) for sheet in paper.sheets],
    }


def _head(head: dict[str, str]) -> dict:
    """The header's fields as a sheet's title block has them."""
    values = {"status": head.get("purpose", "")} | head
    names = ("subtitle", "firm", "client", "site", "status", "drawn", "checked", "approved", "date", "revision")
    return {name: _field(values.get(name, "")) for name in names}


def _field(text: str) -> Words:
    return _words(_short(text, LONGEST_FIELD), 26, BODY_SIZE)


def _short(text: str, width: float, size: float = BODY_SIZE) -> str:
    return shortened(text, size / font_size_for(1), width)


def _pieces(pieces: Sequence[Piece], width: float) -> Iterator[dict]:
    """The pieces as the template takes them; cautions that follow each other share a box."""
    for caution, group in groupby(pieces, lambda p: isinstance(p, Paragraph) and p.style == "caution"):
        if caution:
            texts = [p.text for p in group]
            long = sum(map(len, texts)) > LONG_CELL
            yield {"is": "cautions", "texts": [_words(t, width - 15, BODY_SIZE) for t in texts], "long": long}
        else:
            yield from (_piece(p, width) for p in group)


def _piece(piece: Piece, width: float) -> dict:
    match piece:
        case Heading(text, level):
            return {"is": "heading", "text": _words(text, width, TITLE_SIZE), "level": level}
        case Paragraph(text, style):
            name = "remark" if style == "remark" else "paragraph"
            return {"is": name, "text": _words(text, width, BODY_SIZE)}
        case Points(items, mark):
            return {"is": "points", "items": [_words(t, width - 10, BODY_SIZE) for t in items], "mark": mark}
        case Grid():
            return _grid(piece, width)
        case Fields(pairs):
            room = 0.2 * width - 5
            return {"is": "fields", "pairs": [_pair(name, value, room) for name, value in pairs]}
        case Lines(count):
            return {"is": "lines", "count": count}
        case Picture(sheet, alt):
            return {"is": "picture", "sheet": sheet_data(sheet) | {"alt": plain(alt)}}
        case NewPage():
            return {"is": "new-page"}
    raise TypeError(f"no such piece: {piece!r}")


def _pair(name: str, value: str, room: float) -> dict:
    return {"name": _words(name, room, BODY_SIZE), "value": _words(value, room, BODY_SIZE)}


# tables


def _grid(grid: Grid, width: float) -> dict:
    widths = column_widths(grid, width)
    rooms = [w - CELL_SIDES for w in widths]
    heads = [_words(text, room, TABLE_SIZE, bold=True) for text, room in zip(grid.columns, rooms, strict=True)]
    return {
        "is": "grid",
        "columns": heads,
        "repeated": max(map(len, grid.columns)) <= LONG_HEADING,
        "widths": widths,
        "numeric": [_numeric(column) for column in _columns(grid)],
        "rows": [_row(row, rooms) for row in grid.rows],
        "tall": grid.tall,
    }


def _row(row: Sequence[str], rooms: Sequence[float]) -> dict:
    cells = [_words(text, room, TABLE_SIZE) for text, room in zip(row, rooms, strict=True)]
    return {"cells": cells, "blanks": not all(cells), "long": max(map(len, row), default=0) > LONG_CELL}


def _columns(grid: Grid) -> list[list[str]]:
    return [[row[i] for row in grid.rows] for i in range(len(grid.columns))]


def _numeric(cells: Sequence[str]) -> bool:
    """True for a column of numbers, each with or without a unit, and dashes: it is set to the right."""
    filled = [text for text in map(plain, cells) if text not in ("", *DASHES)]
    return bool(filled) and all(_NUMBER.fullmatch(text) for text in filled)


def column_widths(grid: Grid, width: float) -> list[float]:
    """Millimetres of each column, `width` together: the shares given, else as the cells ask for.

    A column that cannot hold its longest word takes from those that have more than theirs.
    """
    columns = [[head, *cells] for head, cells in zip(grid.columns, _columns(grid), strict=True)]
    asked = grid.widths or [_asked(cells) for cells in columns]
    widths = [share / sum(asked) * width for share in asked]
    least = [min(_longest_word(cells), width / len(columns)) for cells in columns]
    lacking = sum(max(0.0, low - w) for low, w in zip(least, widths, strict=True))
    spare = sum(max(0.0, w - low) for low, w in zip(least, widths, strict=True))
    if not lacking:
        return widths
    share = lacking / spare
    return [low if w < low else w - share * (w - low) for low, w in zip(least, widths, strict=True)]


def _asked(cells: Sequence[str]) -> float:
    """The width of the longest cell; a heading may take two lines."""
    head, *rest = (text_width(plain(text), TABLE_SIZE, bold=i == 0) for i, text in enumerate(cells))
    least = LEAST_COLUMN if all(rest) else BLANK_COLUMN
    return min(max(least, 0.6 * head, *rest), MOST_ASKED) + CELL_SIDES


def _longest_word(cells: Sequence[str]) -> float:
    words = [(word, i == 0) for i, text in enumerate(cells) for word in _WORD.findall(plain(text))]
    lengths = [text_width(word, TABLE_SIZE, bold) for word, bold in words]
    return max([LEAST_COLUMN - CELL_SIDES, *lengths]) + CELL_SIDES + 0.2


# words


def _words(text: str, room: float, size: float, bold: bool = False) -> Words:
    """The text's lines; a word wider than `room` is cut and goes on in the next line. Lines without a word go."""
    lines = (plain(line) for line in text.splitlines())
    return [piece for line in lines if line for piece in _cut(line, room, size, bold)]


def _cut(line: str, room: float, size: float, bold: bool) -> list[str]:
    out = [""]
    for word in re.split(r"(?<= )", line):
        if text_width(word.rstrip(), size, bold) <= room:
            out[-1] += word
            continue
        out += [""] if out[-1] else []
        run = 0.0
        for letter in word:
            run += text_width(letter, size, bold)
            if out[-1] and run > room:
                out.append("")
                run = text_width(letter, size, bold)
            out[-1] += letter
    return [piece.rstrip() for piece in out]
