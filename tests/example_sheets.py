"""The sheets of the lists in examples/, worked out once for all tests of formats; and words that try to be more."""

from functools import cache
from pathlib import Path
from xml.etree import ElementTree

from schemagen.output.as_svg import svg_text
from schemagen.pipeline import Job, read
from schemagen.sheets.sheet import Sheet

FOLDER = Path(__file__).parent.parent / "examples"
EXAMPLES = [path.name for path in sorted(FOLDER.glob("[0-9]*"))]
SVG = "{http://www.w3.org/2000/svg}"

HOSTILE = {
    "markup": "<script>alert(1)</script> &amp; ]]> <image href='x'/>",
    "typesetting": '#eval("1+1") #read("/etc/passwd") $x^2$ *bold* _low_ = head \\u{41} @ref <label> // no /* no',
    "drawing orders": "%%c100 %%%%d ^J ^I \\U+0041 \\P {\\C1;red} %<\\AcVar Date>%",
    "controls": "a\x00b\x01c\x1b[31md\x7fe\u2028f\x85g\r\nh\ti",
    "broken signs": "a\ud800b\udfffc\ufffed\uffffe\ufdd0f",
    "right to left": "שלום עולם مرحبا \u202egnp.exe\u202c end",
    "combining and rare": "e\u0301\u0302 \U0001f525 \u200b\u200d 漢字 \ue000",
    "long word": "W" * 10_000,
    "long text": "pump and valve " * 700,
    "nothing": " \t\n ",
}


@cache
def job_of(name: str) -> Job:
    return read(FOLDER / name)


@cache
def sheets_of(name: str) -> tuple[Sheet, ...]:
    return job_of(name).sheets()


def roots_of(sheets) -> list[ElementTree.Element]:
    return [ElementTree.fromstring(svg_text(sheet).encode()) for sheet in sheets]


def texts_on(sheets) -> list[str]:
    """Every text of the sheets in the order in which the SVG has them, white space as one blank."""
    texts = (text.text or "" for root in roots_of(sheets) for text in root.iter(f"{SVG}text"))
    return [" ".join(text.split()) for text in texts]
