"""The drawing as one page for a browser: self-contained, interactive, and complete as a text where scripts do not run.

The first sheet is the plain drawing, the others are its states. The page asks no network for anything: its content
security policy allows only the one style sheet and the one script in it, by their hashes.
"""

import base64
import hashlib
from collections.abc import Sequence
from dataclasses import replace
from importlib.resources import files

from schemagen.drawing.drawing import Drawing
from schemagen.output.page import told
from schemagen.output.page.data import page_data
from schemagen.output.page.html import tag, words
from schemagen.output.page.look import style_sheet
from schemagen.output.page.order import reading_order
from schemagen.output.page.picture import page_picture
from schemagen.sheets.sheet import Sheet

STATES = True

_VIEWS = (
    ("in", "+", "Zoom in"), ("out", "−", "Zoom out"), ("fit", "Fit", "Fit the whole drawing"),
    ("left", "←", "Move the view left"), ("right", "→", "Move the view right"),
    ("up", "↑", "Move the view up"), ("down", "↓", "Move the view down"),
)  # fmt: skip

_HINT = (
    "Point at a part or pipe, tap it, or walk to it with the arrow keys: what the list says of it, its neighbours and "
    "the findings there are told here."
)

_KEYS = (
    ("→ ←", "along the water: downstream, upstream"),
    ("↑ ↓", "on a pipe: the other branches; on a part: the one before or after it in reading order"),
    ("Home", "the first source"),
    ("Enter", "details of this part or pipe"),
    ("Esc", "back to where you were"),
    ("1 … 9, 0", "a state; the drawing as listed"),
    ("B", "next step of the build-up"),
    ("+ − F", "zoom in, zoom out, fit"),
    ("Shift and an arrow", "move the view"),
)


def encode(sheets: Sequence[Sheet], dpi: int = 0) -> tuple[bytes, ...]:
    """One file for all sheets. `dpi` is for formats made of dots."""
    return (page_text(sheets).encode("utf-8"),)


def page_text(sheets: Sequence[Sheet]) -> str:
    """The page as text."""
    order = reading_order(sheets[0].drawing)
    plain = replace(sheets[0], drawing=order.of(sheets[0].drawing))
    states = [order.of(sheet.drawing) for sheet in sheets[1:]]
    style = style_sheet(plain.onto.style)
    script = (files("schemagen.output.page") / "page.js").read_text(encoding="utf-8")
    head = tag(
        "head",
        tag("meta", charset="utf-8"),
        tag("meta", http_equiv="Content-Security-Policy", content=_policy(style, script)),
        tag("meta", name="viewport", content="width=device-width, initial-scale=1"),
        tag("meta", name="color-scheme", content="light dark"),
        words("title", plain.title),
        f"<style>{style}</style>",
    )
    data = f'<script type="application/json" id="data">{page_data(plain, states)}</script>'
    body = tag("body", _body(plain, states), data, f"<script>{script}</script>")
    return f'<!DOCTYPE html>\n<html lang="en">\n{head}\n{body}\n</html>\n'


def _policy(style: str, script: str) -> str:
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "img-src data:; font-src data:; base-uri 'none'; form-action 'none'"
    )


def _hash(text: str) -> str:
    return f"sha256-{base64.b64encode(hashlib.sha256(text.encode('utf-8')).digest()).decode()}"


def _body(plain: Sheet, states: Sequence[Drawing]) -> str:
    drawing, style = plain.drawing, plain.onto.style
    chapters = [
        ("states", "What happens in each state", told.states(states)),
        ("findings", _findings_title(plain), told.findings(plain)),
        ("cautions", "Cautions", told.cautions(plain)),
        ("in-words", "The drawing in words", told.twin(drawing, style)),
        ("section-key", "Sections", told.section_key(drawing, style)),
        ("symbol-key", "Symbols", told.symbol_key(drawing, style)),
        ("reading", "How to read the drawing", told.reading_rules(bool(states))),
    ]
    chapters = [chapter for chapter in chapters if chapter[2]]
    return "\n".join(
        (
            words("a", "To the drawing", href="#stage", class_="skip"),
            _header(plain, chapters),
            tag("main", _work(plain, states), *(_chapter(*chapter) for chapter in chapters)),
        )
    )


def _findings_title(plain: Sheet) -> str:
    count = len(plain.words.findings)
    return f"Findings ({count})" if count else "Findings"


def _header(plain: Sheet, chapters: Sequence[tuple[str, str, str]]) -> str:
    second = plain.words.data.get("subtitle", "")
    links = [tag("li", words("a", title, href=f"#{name}")) for name, title, _ in chapters]
    return tag(
        "header",
        words("h1", plain.title),
        words("p", second, class_="subtitle") if second else "",
        told.sheet_data(plain),
        tag("nav", tag("ul", *links), aria_label="On this page"),
    )


def _chapter(name: str, title: str, inside: str) -> str:
    return tag("section", words("h2", title, id=f"{name}-title"), inside, id=name, aria_labelledby=f"{name}-title",
               class_="chapter")  # fmt: skip


def _work(plain: Sheet, states: Sequence[Drawing]) -> str:
    """The drawing and what is used with it."""
    return tag("div", _drawing(plain, states), tag("div", *_panels(plain, states), class_="panels"), class_="work")


def _drawing(plain: Sheet, states: Sequence[Drawing]) -> str:
    views = [words("button", sign, type="button", data_view=name, aria_label=said) for name, sign, said in _VIEWS]
    flow = words("button", "Animate the flow", type="button", id="flow", aria_pressed="false")
    stage = tag(
        "div", page_picture(plain.drawing, states, plain.onto.style), id="stage", role="application",
        aria_label="Drawing to walk through with the arrow keys", aria_describedby="keys",
    )  # fmt: skip
    keys = [told.entry(key, what) for key, what in _KEYS]
    return tag(
        "section",
        words("h2", "Drawing", id="drawing-title", class_="unseen"),
        tag("noscript", words("p", "Scripts are off: drawing and texts are here, switches and details are not.")),
        tag("div", tag("div", *views, role="group", aria_label="View"), flow, class_="bar needs-script"),
        stage,
        tag("div", words("p", "", id="account"), words("p", "", id="motion", class_="quiet"), role="status"),
        tag("details", words("summary", "Keys in the drawing"), tag("dl", *keys, id="keys", class_="pairs"),
            class_="needs-script"),
        aria_labelledby="drawing-title", class_="drawing",
    )  # fmt: skip


def _panels(plain: Sheet, states: Sequence[Drawing]) -> Sequence[str]:
    drawing = plain.drawing
    hint = words("p", _HINT, class_="quiet")
    steps = [
        words("button", said, type="button", data_step=name)
        for name, said in (("back", "Back"), ("on", "Next step"), ("all", "Show all"))
    ]
    switches = tag("div", told.section_switches(drawing, plain.onto.style), class_="switches")
    build_up = tag(
        "div", words("p", "", id="step", role="status"), tag("p", *steps, class_="row"), class_="steps", role="group",
        aria_label="Build-up",
    )  # fmt: skip
    panels = [
        tag("section", words("h2", "Details", id="details-title", tabindex="-1"), tag("div", hint, id="details"),
            aria_labelledby="details-title", class_="panel told needs-script")
    ]  # fmt: skip
    if plain.words.findings:
        title = words("h2", "Go to a finding", id="found-title")
        panels.append(
            tag("section", title, told.finding_buttons(plain), aria_labelledby="found-title",
                class_="panel needs-script")
        )  # fmt: skip
    if states:
        near = words("p", "", id="account-near", aria_hidden="true")
        panels.append(_fieldset("State", tag("div", told.state_switches(states), class_="switches") + near))
    if drawing.sections:
        panels.append(_fieldset("Sections", switches + build_up))
    return panels


def _fieldset(title: str, inside: str) -> str:
    return tag("fieldset", words("legend", title), inside, class_="panel needs-script")
