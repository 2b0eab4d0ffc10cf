"""The page for a browser: one file that asks for nothing, where text is only ever text, and that works by keyboard."""

import base64
import hashlib
import json
import os
import re
import shutil
from contextlib import contextmanager
from functools import cache
from html.parser import HTMLParser
from pathlib import Path
from xml.etree import ElementTree

import pytest

from schemagen.joblist.read import read_text
from schemagen.network.waters import SECTIONS
from schemagen.output.as_html import page_text
from schemagen.output.as_svg import part_svg, svg_text
from schemagen.output.page.look import DARK_PAPER, contrast, lighter
from schemagen.output.page.order import tag_of
from schemagen.output.page.picture import page_onto
from schemagen.pipeline import Job, draw, job_of, read
from schemagen.sheets.section_words import PURPOSE

EXAMPLES = Path(__file__).parent.parent / "examples"
STATES, FAULTY = "03_heat_pump_buffer_cylinder.yaml", "09_heat_pump_with_mistakes.yaml"
SVG = "{http://www.w3.org/2000/svg}"
NO_TEXT = re.compile(r"(<(?:style|script)[^>]*>).*?(</(?:style|script)>)", re.S)


@cache
def job(name: str) -> Job:
    return read(EXAMPLES / name)


@cache
def sheets(name: str):
    return job(name).bare_sheets(job(name).states)


@cache
def page(name: str) -> str:
    return page_text(sheets(name))


def tree(text: str) -> ElementTree.Element:
    """The page as XML, without what stands in its style sheet and scripts."""
    return ElementTree.fromstring(NO_TEXT.sub(r"\1\2", text).removeprefix("<!DOCTYPE html>\n"))


def data_of(text: str) -> dict:
    return json.loads(re.search(r'<script type="application/json" id="data">(.*?)</script>', text, re.S)[1])


def of_class(root, name):
    return [e for e in root.iter() if name in (e.get("class") or "").split()]


# the file


@pytest.mark.parametrize("name", [STATES, FAULTY])
def test_the_page_is_well_formed_and_every_id_in_it_stands_for_one_element(name):
    root = tree(page(name))
    ids = [e.get("id") for e in root.iter() if e.get("id")]
    assert len(ids) == len(set(ids))
    named = [v for e in root.iter() for k in ("aria-labelledby", "aria-describedby") for v in e.get(k, "").split()]
    links = [e.get("href") for e in root.iter("a")]
    assert links and all(link.startswith("#") for link in links)
    assert {*named, *(link[1:] for link in links)} <= set(ids)


def test_the_policy_allows_only_the_style_sheet_and_the_script_that_stand_in_the_page():
    text = page(STATES)
    (meta,) = (e for e in tree(text).iter("meta") if e.get("http-equiv") == "Content-Security-Policy")
    said = dict(part.strip().split(" ", 1) for part in meta.get("content").split(";"))
    (style,) = re.findall(r"<style>(.*?)</style>", text, re.S)
    (script,) = re.findall(r"<script>(.*?)</script>", text, re.S)
    assert said["default-src"] == "'none'"
    for directive, inside in (("style-src", style), ("script-src", script)):
        digest = base64.b64encode(hashlib.sha256(inside.encode()).digest()).decode()
        assert said[directive] == f"'sha256-{digest}'"
    assert "unsafe" not in meta.get("content")
    assert not [e for e in tree(text).iter() if any(k.startswith("on") or k == "style" for k in e.attrib)]


def test_nothing_in_the_page_points_outside_it():
    text = page(STATES)
    assert not re.search(r"https?://(?!www\.w3\.org/2000/svg)", text)
    assert not re.search(r"@import|\bsrc=|url\((?!data:)", text)


def test_the_same_list_gives_the_same_bytes():
    again = read(EXAMPLES / FAULTY)
    assert page_text(again.bare_sheets(again.states)) == page(FAULTY)


def test_a_schematic_saved_as_a_page_has_its_states(tmp_path):
    (written,) = draw(job(FAULTY)).save(tmp_path / "x.html")
    assert written.read_text(encoding="utf-8") == page(FAULTY)


def test_a_page_without_states_has_no_switch_for_them():
    root = tree(page_text(sheets(FAULTY)[:1]))
    assert not [e for e in root.iter("input") if e.get("name") == "state"]
    assert not [e for e in root.iter() if e.get("id") == "states"]


# what is in it


@pytest.mark.parametrize("name", [STATES, FAULTY])
def test_the_picture_keeps_the_anatomy_of_the_svg_file(name):
    """Parts, ports, pipes, arrows, marks and texts are those of the file, and so are the data that they carry."""
    svg = ElementTree.fromstring(svg_text(sheets(name)[0]).encode())
    (picture,) = (e for e in tree(page(name)).iter(f"{SVG}svg") if e.get("id") == "picture")

    def carried(root, kind):
        drawn = [e for e in of_class(root, kind) if not (e.get("data-extra") or e.get("data-states"))]
        return sorted(
            sorted((k, v) for k, v in e.attrib.items() if k.startswith("data-")) for e in drawn
        )

    for kind in ("part", "port", "pipe", "arrow", "finding", "place", "tag", "code"):
        assert carried(picture, kind) == carried(svg, kind), kind
    for e in (*of_class(picture, "part"), *of_class(picture, "pipe")):
        assert e.find(f"{SVG}title").text and e.find(f"{SVG}desc").text and e.get("aria-label")
    assert not [e for e in picture.iter(f"{SVG}g") if e.get("transform")]


def test_the_ink_of_every_part_in_every_state_is_that_of_the_state_s_own_drawing():
    text = page(STATES)
    plain, *states = (sheet.drawing for sheet in sheets(STATES))
    onto = page_onto(plain, states, sheets(STATES)[0].onto.style)
    drawn = {e.get("data-part"): e for e in of_class(tree(text), "part")}
    changed = 0
    for name, drawing in (("plain", plain), *((str(n), d) for n, d in enumerate(states))):
        for part in drawing.parts:
            expected = ElementTree.fromstring(f'<svg xmlns="{SVG[1:-1]}">{part_svg(part, onto)}</svg>')[0]
            inks = of_class(drawn[part.tag], "ink")
            shown = [i for i in inks if name in i.get("data-states").split()]
            assert len(shown) == (1 if inks else 0)
            changed += len(inks) > 1
            assert _shapes(shown[0] if inks else drawn[part.tag]) == _shapes(expected), (name, part.tag)
    assert changed


def _shapes(group) -> list:
    words = (f"{SVG}title", f"{SVG}desc")
    kept = [e for e in group if e.tag not in words and e.get("class") not in ("body", "port", "ink", "ink off")]
    return [(e.tag, sorted(e.attrib.items()), e.text) for e in kept]


def test_each_state_tells_its_account_and_which_way_water_moves_in_every_pipe():
    data, states = data_of(page(STATES)), sheets(STATES)[1:]
    assert [s["name"] for s in data["states"]] == [s.drawing.state for s in states]
    for told, sheet in zip(data["states"], states, strict=True):
        assert told["account"] == sheet.drawing.account
        words = {"f": "forward", "b": "backward", ".": "still"}
        moves = {p["name"]: words[m] for p, m in zip(data["pipes"], told["moves"], strict=True)}
        assert moves == {pipe.name: pipe.moves for pipe in sheet.drawing.pipes}


def test_a_pipe_that_water_passes_only_while_filling_has_an_arrow_kept_for_that():
    extra = {e.get("data-pipe") for e in tree(page(STATES)).iter(f"{SVG}path") if e.get("data-extra")}
    plain, *states = (sheet.drawing for sheet in sheets(STATES))
    ever = {pipe.name for drawing in states for pipe in drawing.pipes if pipe.moves != "still"}
    assert extra == ever - {arrow.pipe for arrow in plain.arrows} != set()


def test_all_that_the_sheet_says_in_words_is_there():
    sheet = sheets(FAULTY)[0]
    said = " ".join("".join(tree(page(FAULTY)).itertext()).split())
    for finding in sheet.words.findings:
        assert finding.message in said and finding.cure in said and finding.source in said
    assert len(sheet.words.findings) == 5
    for text in (*sheet.words.cautions, sheet.words.data["number"], sheet.words.data["title"]):
        assert text in said
    assert sheet.words.checked[1:] in said


def test_the_drawing_in_words_names_every_part_with_its_settings_and_every_pipe():
    drawing = sheets(STATES)[0].drawing
    (chapter,) = (e for e in tree(page(STATES)).iter("section") if e.get("id") == "in-words")
    said = "".join(chapter.itertext())
    named = {e.text for e in chapter.iter("a")}
    for part in drawing.parts:
        assert part.tag in named if part.kind != "tee" else re.search(rf"\b{part.tag}\b", said)
        assert all(text in said for _, text in part.facts)
    assert {f"{p.start} to {p.end}" for p in drawing.pipes} <= named


def test_circuits_are_told_in_the_order_in_which_water_passes_them():
    drawing = sheets(STATES)[0].drawing
    (chapter,) = (e for e in tree(page(STATES)).iter("section") if e.get("id") == "in-words")
    lists = [[li.find("a").text for li in e.findall("li")] for e in chapter.findall("ol")]
    kinds = {part.tag: part.kind for part in drawing.parts}
    assert lists[: len(drawing.circuits)] == [[t for t in c if kinds[t] != "tee"] for c in drawing.circuits]


def test_pipes_are_read_section_by_section_and_downstream_within_one():
    pipes = data_of(page("01_one_radiator_circuit.yaml"))["pipes"]
    ranks = [SECTIONS.index(p["section"]) for p in pipes]
    assert ranks == sorted(ranks)
    flow = [p for p in pipes if p["section"] == "heating-flow"]
    reached = {tag_of(flow[0]["from"])}
    for pipe in flow:
        assert tag_of(pipe["from"]) in reached, pipe["name"]
        reached.add(tag_of(pipe["to"]))


def test_every_section_has_its_sentence_of_twenty_words_at_most():
    assert set(PURPOSE) == set(SECTIONS)
    assert all(len(text.split()) <= 20 and text.endswith(".") for text in PURPOSE.values())


# colours


def test_the_contrast_of_two_colours_is_the_one_that_the_guidelines_state():
    """Known pairs: black on white is 21 : 1, #767676 the lightest grey of 4.5 : 1 on white."""
    assert contrast("#000000", "#ffffff") == pytest.approx(21)
    assert contrast("#767676", "#ffffff") >= 4.5 > contrast("#777777", "#ffffff")


def test_every_line_and_letter_of_the_drawing_is_seen_well_on_dark_paper():
    style = sheets(STATES)[0].onto.style
    colours = {s.pen.colour for s in style.sections.values()} | {style.colours["still"], "#000000"}
    assert all(contrast(lighter(colour), DARK_PAPER) >= 4.5 for colour in colours)
    text = page(STATES)
    assert all(f'[stroke="{colour}"]' in text for colour in colours)


# hostile text

NASTY = (
    "<script>owned=1</script>",
    "</script><script>owned=1</script>",
    "<!--<script>",
    "]]>&lt;&amp;",
    "\"' onload=owned=1 x='",
    "<img src=x onerror=owned=1>",
    "</style></svg></title>",
    "\u202eשלום\u2028owned\u2029=1",
    "javascript:owned=1",
    "{{7*7}}${owned=1}",
)


def hostile(text: str) -> tuple:
    """The sheets of a list that says this in every field that is free text, and in a tag."""
    tag = "T" + re.sub(r"[\s.,:>\[\]{}]", "", text)[:30]
    listed = {
        "sheet": dict.fromkeys(("title", "subtitle", "client", "site", "number", "drawn"), text),
        "parts": {
            "B1": {"kind": "system-boiler", "output": "12 kW", "label": text, "place": text, "note": text},
            tag: {"kind": "radiator", "output": "1.5 kW", "label": text},
            "RT1": {"kind": "room-thermostat", "label": text, "switches": "B1"},
        },
        "connections": [["B1.flow", f"{tag}.a"], [f"{tag}.b", "B1.return"]],
        "states": {text[:200]: {"calling": ["RT1"]}},
        "accept": [{"check": "no-expansion", "reason": text, "by": text}],
    }
    whole = job_of(read_text(json.dumps(listed), "json"))
    return whole.bare_sheets(whole.states)


class Elements(HTMLParser):
    """What a browser's reader of HTML would make of a page: names of elements and attributes, and the text."""

    def __init__(self, text: str) -> None:
        super().__init__(convert_charrefs=True)
        self.names: list[str] = []
        self.attributes: list[str] = []
        self.text: list[str] = []
        self.feed(text)

    def handle_starttag(self, tag, attrs):
        self.names.append(tag)
        self.attributes += [name for name, _ in attrs]

    def handle_data(self, data):
        self.text.append(data)


@pytest.mark.parametrize("text", NASTY)
def test_hostile_text_stays_text_in_every_field(text):
    drawn = hostile(text)
    written = page_text(drawn)
    tree(written)
    kept = next(dict(part.facts)["label"] for part in drawn[0].drawing.parts if part.tag == "B1")
    seen, usual = Elements(written), Elements(page_text(hostile("plain words")))
    assert set(seen.names) == set(usual.names) and seen.names.count("script") == 2 and seen.names.count("style") == 1
    assert set(seen.attributes) == set(usual.attributes)
    assert sum(kept in part for part in seen.text) >= 10
    assert len(data_of(written)["pipes"]) == 2
    assert sum(kept == value for part in data_of(written)["parts"] for _, value in part["facts"]) >= 3


# in a real browser

AXE = os.environ.get("SCHEMAGEN_AXE")


@pytest.fixture(scope="module")
def chromium():
    playwright = pytest.importorskip("playwright.sync_api", reason="pip install playwright to test in a browser")
    path = shutil.which("chromium") or shutil.which("chromium-browser")
    with playwright.sync_playwright() as p:
        path = path or p.chromium.executable_path
        if not Path(path).exists():
            pytest.skip("there is no Chromium on this machine: playwright install chromium")
        browser = p.chromium.launch(executable_path=path, args=["--no-sandbox"])
        yield browser
        browser.close()


@pytest.fixture(scope="module")
def written(tmp_path_factory):
    """Writes a page once and gives its address."""
    folder = tmp_path_factory.mktemp("pages")

    @cache
    def write(name: str) -> str:
        path = folder / f"{name}.html"
        path.write_text(page(name), encoding="utf-8")
        return path.as_uri()

    return write


@pytest.fixture
def opened(chromium, written):
    """Opens a page without a network. At the end there must be no error and no request but for the page itself."""
    contexts, complaints, requests = [], [], []

    def open_page(name: str, address: str | None = None, **options):
        context = chromium.new_context(**{"viewport": {"width": 1440, "height": 900}, "offline": True} | options)
        contexts.append(context)
        tab = context.new_page()
        tab.on("console", lambda message: complaints.append(message.text))
        tab.on("pageerror", lambda error: complaints.append(str(error)))
        tab.on("dialog", lambda dialog: (complaints.append(dialog.message), dialog.dismiss()))
        tab.on("request", lambda request: requests.append(request.url))
        tab.goto(address or written(name))
        return tab

    yield open_page
    for context in contexts:
        context.close()
    assert complaints == []
    assert [url for url in requests if not url.startswith(("file:", "data:font/"))] == []
    assert len([url for url in requests if url.startswith("file:")]) == len(contexts)


def focused(tab) -> str:
    return tab.evaluate("document.activeElement.id || document.activeElement.tagName")


def tag_in_focus(tab) -> str | None:
    return tab.evaluate("document.activeElement.dataset.part ?? null")


def pipe_in_focus(tab) -> tuple[str, str]:
    return tuple(tab.evaluate("[document.activeElement.dataset.from, document.activeElement.dataset.to]"))


def seen(tab, selector: str) -> list[str]:
    """The data of the elements that are shown."""
    return tab.eval_on_selector_all(
        selector, "all => all.filter(e => getComputedStyle(e).display != 'none').map(e => e.dataset.pipe ?? e.id)"
    )


def test_a_state_shows_its_positions_arrows_and_still_pipes_and_tells_its_account(opened):
    tab = opened(STATES)
    for n, sheet in enumerate(sheets(STATES)[1:]):
        drawing = sheet.drawing
        tab.check(f'input[name="state"][value="{n}"]')
        said = tab.inner_text("#account")
        assert drawing.account in said and said.startswith(drawing.state)
        moving = sum(p.moves != "still" for p in drawing.pipes)
        assert f"moves in {moving} of {len(drawing.pipes)} pipes" in said
        told = tab.eval_on_selector_all(".pipe", "all => all.map(e => [e.dataset.from, e.dataset.to, e.dataset.moves])")
        assert sorted(map(tuple, told)) == sorted((p.start, p.end, p.moves) for p in drawing.pipes)
        assert sorted(seen(tab, "#picture .arrow")) == sorted(a.pipe for a in drawing.arrows)
        figures = {t.text for label in drawing.labels for t in label.texts}
        written = tab.eval_on_selector_all(
            "#picture .labels text", "all => all.filter(e => e.getClientRects().length).map(e => e.textContent)"
        )
        assert set(written) == figures
        inks = tab.eval_on_selector_all(".ink:not(.off)", "all => all.map(e => e.dataset.states.split(' '))")
        assert inks and all(str(n) in states for states in inks)
    assert tab.evaluate("document.getElementById('account').closest('[role=status]') != null")
    tab.click('[data-state="1"]')
    assert tab.is_checked('input[name="state"][value="1"]')
    tab.check('input[name="state"][value="plain"]')
    assert sorted(seen(tab, "#picture .arrow")) == sorted(a.pipe for a in sheets(STATES)[0].drawing.arrows)


def test_arrows_point_the_way_they_do_on_the_drawing_of_the_state(opened):
    """The tip of an arrow that is turned round stands where the state's own drawing has it."""
    tab = opened(STATES)
    names = [s.drawing.state for s in sheets(STATES)[1:]]
    turned = 0
    for n, sheet in enumerate(sheets(STATES)[1:]):
        backward = {p.name for p in sheet.drawing.pipes if p.moves == "backward"}
        tab.check(f'input[name="state"][value="{n}"]')
        back = tab.eval_on_selector_all(".arrow.back", "all => all.map(e => e.dataset.pipe)")
        assert set(back) == backward, names[n]
        turned += len(back)
        if back:
            angle = tab.eval_on_selector(".arrow.back", "e => getComputedStyle(e).transform")
            assert angle.startswith("matrix(-1, 0, 0, -1")
    assert turned or not any(p.moves == "backward" for s in sheets(STATES)[1:] for p in s.drawing.pipes)


def test_a_section_that_is_switched_off_goes_faint_in_more_than_its_colour(opened):
    tab = opened(STATES)
    section = "heating-return"
    before = tab.eval_on_selector(f'.pipe[data-section="{section}"]', "e => getComputedStyle(e).strokeDasharray")
    tab.uncheck(f'input[name="section"][value="{section}"]')
    faint = tab.eval_on_selector_all(".pipe.faint", "all => all.map(e => e.dataset.section)")
    assert faint and set(faint) == {section}
    after = tab.eval_on_selector(".pipe.faint", "e => getComputedStyle(e).strokeDasharray")
    assert after != before
    arrows = set(seen(tab, "#picture .arrow"))
    drawing = sheets(STATES)[0].drawing
    assert arrows == {a.pipe for a in drawing.arrows if a.section != section}
    tab.check(f'input[name="section"][value="{section}"]')
    assert tab.locator(".faint").count() == 0


def test_the_build_up_shows_one_section_after_the_other_with_a_sentence_each(opened):
    tab = opened(STATES)
    sections = sheets(STATES)[0].drawing.sections
    for n, section in enumerate(sections, 1):
        tab.click('[data-step="on"]')
        assert PURPOSE[section] in tab.inner_text("#step")
        shown = tab.eval_on_selector_all(".pipe:not(.faint)", "all => all.map(e => e.dataset.section)")
        assert set(shown) == set(sections[:n])
    tab.click('[data-step="back"]')
    assert PURPOSE[sections[-2]] in tab.inner_text("#step")
    tab.click('[data-step="all"]')
    assert tab.locator(".faint").count() == 0


def test_arrow_keys_walk_along_the_water_and_escape_goes_back(opened):
    tab = opened("01_one_radiator_circuit.yaml")
    drawing = sheets("01_one_radiator_circuit.yaml")[0].drawing
    ends = {(p.start, p.end) for p in drawing.pipes}
    tab.focus('#picture [tabindex="0"]')
    tab.keyboard.press("Home")
    start = tag_in_focus(tab)
    kinds = {part.tag: part.kind for part in drawing.parts}
    assert "boiler" in kinds[start]
    for _ in range(6):
        before = tag_in_focus(tab)
        tab.keyboard.press("ArrowRight")
        pipe = pipe_in_focus(tab)
        assert pipe in ends and tag_of(pipe[0]) == before
        tab.keyboard.press("ArrowRight")
        assert tag_in_focus(tab) == tag_of(pipe[1])
    tab.keyboard.press("ArrowLeft")
    assert tag_of(pipe_in_focus(tab)[1]) == tag_of(pipe[1])
    tab.keyboard.press("Escape")
    assert tag_in_focus(tab) == tag_of(pipe[1])
    tab.keyboard.press("Enter")
    assert focused(tab) == "details-title"
    assert tag_of(pipe[1]) in tab.inner_text("#details")
    tab.keyboard.press("Escape")
    assert tag_in_focus(tab) == tag_of(pipe[1])


def test_up_and_down_on_a_pipe_change_to_the_other_branches_of_a_tee(opened):
    tab = opened(STATES)
    drawing = sheets(STATES)[0].drawing
    starts = [tag_of(pipe.start) for pipe in drawing.pipes]
    tee = next(part.tag for part in drawing.parts if part.kind == "tee" and starts.count(part.tag) == 2)
    joined = {(p.start, p.end) for p in drawing.pipes if tee in (tag_of(p.start), tag_of(p.end))}
    tab.focus(f'[data-part="{tee}"]')
    tab.keyboard.press("ArrowRight")
    visited = set()
    for _ in joined:
        visited.add(pipe_in_focus(tab))
        tab.keyboard.press("ArrowDown")
    assert visited == joined


def test_the_focus_reaches_every_part_by_keys_and_the_drawing_is_one_tab_stop(opened):
    tab = opened(STATES)
    tags = {part.tag for part in sheets(STATES)[0].drawing.parts}
    assert tab.locator('#picture [tabindex="0"]').count() == 1
    tab.focus('#picture [tabindex="0"]')
    reached = set()
    for _ in tags:
        reached.add(tag_in_focus(tab))
        tab.keyboard.press("ArrowDown")
    assert reached == tags
    assert tab.locator('#picture [tabindex="0"]').count() == 1
    tab.keyboard.press("Tab")
    assert not tab.evaluate("document.activeElement.closest('#picture')")
    tab.keyboard.press("Shift+Tab")
    assert tag_in_focus(tab)


def test_the_focus_can_be_seen(opened):
    tab = opened(STATES)
    stage = tab.locator("#stage")
    before = stage.screenshot()
    tab.focus('#picture [tabindex="0"]')
    tab.keyboard.press("ArrowDown")
    assert stage.screenshot() != before
    frame, body = tab.evaluate("""(() => {
        const sides = (e) => { const b = e.getBBox(); return [b.x, b.y, b.x + b.width, b.y + b.height]; };
        return [document.querySelector('#rings .frame'), document.activeElement.querySelector('.body')].map(sides);
    })()""")
    assert frame == pytest.approx([body[0] - 1, body[1] - 1, body[2] + 1, body[3] + 1], abs=0.01)


def test_number_keys_choose_states_and_b_builds_up(opened):
    tab = opened(STATES)
    tab.focus('#picture [tabindex="0"]')
    tab.keyboard.press("2")
    assert tab.is_checked('input[name="state"][value="1"]')
    tab.keyboard.press("0")
    assert tab.is_checked('input[name="state"][value="plain"]')
    tab.keyboard.press("b")
    assert tab.inner_text("#step").startswith("Step 1 of")


def test_a_finding_jumps_to_its_place_and_back(opened):
    tab = opened(FAULTY)
    findings = sheets(FAULTY)[0].words.findings
    for number, finding in enumerate(findings, 1):
        tab.click(f'#finding-{number} [data-finding]')
        assert finding.message in tab.inner_text("#account")
        tag, pipe = tag_in_focus(tab), pipe_in_focus(tab)
        assert tag in finding.parts or pipe in finding.pipes
        inside = tab.evaluate("""(() => {
            const shape = document.activeElement.querySelector('.body') ?? document.activeElement;
            const item = shape.getBoundingClientRect();
            const stage = document.getElementById('stage').getBoundingClientRect();
            const x = item.x + item.width / 2, y = item.y + item.height / 2;
            return x > stage.left && x < stage.right && y > stage.top && y < stage.bottom
                && y > 0 && y < innerHeight && x > 0 && x < innerWidth;
        })()""")
        assert inside, finding.check
        tab.click(f'#details button:text-is("Finding {number}")')
        assert focused(tab) == f"finding-{number}"


def test_a_mark_on_the_drawing_leads_to_its_finding(opened):
    tab = opened(FAULTY)
    tab.click('.finding[data-number="2"] text')
    assert sheets(FAULTY)[0].words.findings[1].message in tab.inner_text("#account")


def test_pointing_at_a_part_shows_its_data_and_neighbours(opened):
    tab = opened(STATES)
    tab.hover('[data-part="P1"] .body', force=True)
    said = tab.inner_text("#details")
    assert "P1" in said and "Circulating pump" in said and "V4" in said and "V5" in said
    tab.click('#details button:has-text("V5, isolating")')
    assert tag_in_focus(tab) == "V5"


def test_wheel_buttons_and_keys_zoom_and_the_view_never_leaves_the_drawing(opened):
    tab = opened(STATES)

    def zoom() -> float:
        return tab.evaluate("new DOMMatrix(getComputedStyle(picture).transform).a")

    assert zoom() == 1
    tab.hover("#stage")
    tab.mouse.wheel(0, -200)
    tab.wait_for_function("new DOMMatrix(getComputedStyle(picture).transform).a > 1")
    tab.click('[data-view="in"]')
    tab.click('[data-view="left"]')
    left, top = tab.evaluate("(() => { const s = stage.getBoundingClientRect(), p = picture.getBoundingClientRect();"
                             " return [p.left - s.left, p.top - s.top] })()")  # fmt: skip
    assert left <= 2 and top <= 2
    tab.focus('#picture [tabindex="0"]')
    before = zoom()
    tab.keyboard.press("+")
    assert zoom() > before
    tab.keyboard.press("f")
    assert zoom() == 1


def test_two_fingers_zoom_and_one_finger_scrolls_the_page_until_then(opened):
    tab = opened(STATES, has_touch=True, viewport={"width": 412, "height": 800})
    assert tab.eval_on_selector("#stage", "e => getComputedStyle(e).touchAction") == "pan-y"
    tab.evaluate("""(() => {
        const box = stage.getBoundingClientRect(), y = box.top + 80;
        const send = (type, id, x, on) => on.dispatchEvent(new PointerEvent(type,
            {pointerId: id, pointerType: 'touch', clientX: box.left + x, clientY: y, bubbles: true, cancelable: true}));
        send('pointerdown', 1, 150, stage); send('pointerdown', 2, 200, stage);
        send('pointermove', 1, 100, window); send('pointermove', 2, 250, window);
        send('pointerup', 1, 100, window); send('pointerup', 2, 250, window);
    })()""")
    assert tab.evaluate("new DOMMatrix(getComputedStyle(picture).transform).a") == pytest.approx(3, rel=0.1)
    assert tab.eval_on_selector("#stage", "e => getComputedStyle(e).touchAction") == "none"


def test_a_tap_beside_a_part_finds_the_nearest_one(opened):
    tab = opened(STATES, has_touch=True, viewport={"width": 412, "height": 800})
    box = tab.locator('[data-part="HP1"] .body').bounding_box()
    tab.touchscreen.tap(box["x"] - 6, box["y"] + box["height"] / 2)
    assert tag_in_focus(tab) == "HP1"


@pytest.mark.parametrize("name", [STATES, FAULTY, "08_four_flats_on_risers.xlsx"])
@pytest.mark.parametrize("width", [360, 320])
def test_nothing_makes_a_narrow_screen_scroll_sideways(opened, name, width):
    """320 pixels is a screen of 1280 at a zoom of 400 %."""
    tab = opened(name, viewport={"width": width, "height": 640})
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    tab.locator('#picture [tabindex="0"]').focus()
    tab.keyboard.press("ArrowRight")
    assert tab.evaluate("document.documentElement.scrollWidth") <= width
    small = tab.eval_on_selector_all(
        "button, .switches label, nav a",
        "all => all.map(e => [e.textContent, e.getBoundingClientRect()])"
        ".filter(([, r]) => r.width && (r.width < 24 || r.height < 24)).map(([text]) => text)",
    )
    assert small == []


def test_flow_is_off_at_first_runs_when_asked_and_can_be_paused(opened):
    tab = opened(STATES)
    assert not tab.is_visible("#flows path")
    tab.click("#flow")
    assert tab.inner_text("#flow") == "Pause the flow"
    names = tab.eval_on_selector_all("#flows path", "all => all.map(e => getComputedStyle(e).animationName)")
    assert names and set(names) == {"run"}
    assert len(names) == len({a.pipe for a in sheets(STATES)[0].drawing.arrows})
    moving = tab.locator("#stage").screenshot()
    tab.wait_for_timeout(450)
    assert tab.locator("#stage").screenshot() != moving
    tab.click("#flow")
    assert tab.locator("#flows path").count() == 0


def test_nothing_moves_where_less_motion_is_asked_for(opened):
    tab = opened(STATES, reduced_motion="reduce")
    stage = tab.locator("#stage")
    plain = stage.screenshot()
    tab.click("#flow")
    marked = stage.screenshot()
    tab.wait_for_timeout(1000)
    assert stage.screenshot() == marked != plain
    assert tab.inner_text("#motion")


def test_the_print_has_the_drawing_first_then_states_findings_and_cautions_and_no_controls(opened):
    pypdf = pytest.importorskip("pypdf")
    import io

    tab = opened(FAULTY)
    tab.click('[data-view="in"]')
    pdf = pypdf.PdfReader(io.BytesIO(tab.pdf(prefer_css_page_size=True)))
    sizes = {tuple(round(float(side) / 72 * 25.4) for side in p.mediabox[2:]) for p in pdf.pages}
    assert sizes == {(420, 297)}
    texts = [" ".join(p.extract_text().split()) for p in pdf.pages]
    sheet, *states = sheets(FAULTY)
    assert sheet.title in texts[0]
    assert all(part.tag in texts[0] for part in sheet.drawing.parts if part.kind != "tee")
    rest = " ".join(texts[1:])
    places = [rest.index(text) for text in (states[0].drawing.state, sheet.words.findings[0].message, "Cautions")]
    assert places == sorted(places)
    assert all(word not in " ".join(texts) for word in ("Animate", "Next step", "Show finding", "Keys in the drawing"))


def test_what_is_printed_is_the_whole_drawing_in_paper_colours_even_in_dark_mode(opened):
    tab = opened(FAULTY, color_scheme="dark")
    dark = tab.eval_on_selector(".pipe", "e => getComputedStyle(e).stroke")
    tab.click('[data-view="in"]')
    tab.emulate_media(media="print", color_scheme="dark")
    assert tab.eval_on_selector(".pipe", "e => getComputedStyle(e).stroke") != dark
    assert tab.eval_on_selector("html", "e => getComputedStyle(e).color") == "rgb(20, 24, 27)"
    assert tab.eval_on_selector("#picture", "e => getComputedStyle(e).transform") == "none"


def test_with_forced_colours_no_line_of_the_drawing_vanishes(opened):
    tab = opened(STATES, forced_colors="active")
    canvas, strokes = tab.evaluate("""(() => {
        const probe = document.createElement('div');
        document.body.append(probe);
        probe.style.color = 'Canvas';
        const canvas = getComputedStyle(probe).color;
        const strokes = [...document.querySelectorAll('.pipe, .part [stroke]')].map((e) => getComputedStyle(e).stroke);
        probe.remove();
        return [canvas, [...new Set(strokes)]];
    })()""")
    assert strokes and canvas not in strokes
    white = tab.eval_on_selector_all('.part [fill="#ffffff"]', "all => all.map(e => getComputedStyle(e).fill)")
    assert white and set(white) == {canvas}


@pytest.mark.parametrize("parts", [{}, {"B1": {"kind": "system-boiler"}}], ids=["nothing", "one part"])
def test_a_list_without_pipes_opens_too(opened, tmp_path, parts):
    whole = job_of(read_text(json.dumps({"parts": parts, "connections": []}), "json"))
    path = tmp_path / "bare.html"
    path.write_text(page_text(whole.bare_sheets(whole.states)), encoding="utf-8")
    tab = opened("bare", path.as_uri())
    tab.keyboard.press("Tab")
    if parts:
        tab.focus('#picture [tabindex="0"]')
        for key in ("ArrowRight", "ArrowDown", "b", "1", "+"):
            tab.keyboard.press(key)
        assert tag_in_focus(tab) == "B1"


@contextmanager
def without_scripts(chromium, address: str):
    context = chromium.new_context(java_script_enabled=False, viewport={"width": 800, "height": 600})
    tab = context.new_page()
    tab.goto(address)
    yield tab
    context.close()


def test_without_scripts_drawing_and_texts_are_there_and_no_dead_switch(chromium, written):
    with without_scripts(chromium, written(FAULTY)) as tab:
        assert tab.is_visible("#picture") and tab.is_visible("#in-words") and tab.is_visible("#finding-1")
        assert not tab.is_visible("#flow") and not tab.is_visible('input[name="section"]')
        assert "Scripts are off" in tab.inner_text("main")


@pytest.mark.parametrize("text", [NASTY[1], NASTY[5], "W" * 10_000], ids=["script", "image", "long"])
def test_hostile_text_is_shown_and_never_run(opened, tmp_path, text):
    path = tmp_path / "hostile.html"
    path.write_text(page_text(hostile(text)), encoding="utf-8")
    tab = opened("hostile", path.as_uri(), viewport={"width": 360, "height": 800})
    tab.check('input[name="state"][value="0"]')
    tab.focus('[data-part="B1"]')
    tab.keyboard.press("ArrowRight")
    tab.keyboard.press("ArrowLeft")
    assert text in tab.inner_text("#details")
    assert tab.evaluate("typeof owned") == "undefined"
    assert tab.locator("img").count() == 0
    assert tab.evaluate("document.documentElement.scrollWidth") <= 360


@pytest.mark.skipif(not AXE, reason="SCHEMAGEN_AXE does not name axe.min.js (npm install axe-core)")
@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("width", [1440, 360])
@pytest.mark.parametrize("name", [STATES, FAULTY])
def test_an_audit_finds_no_barrier(opened, name, scheme, width):
    tab = opened(name, color_scheme=scheme, viewport={"width": width, "height": 800})
    tab.check('input[name="state"][value="1"]')
    tab.click('[data-step="on"]')
    tab.focus('#picture [tabindex="0"]')
    tab.evaluate(Path(AXE).read_text(encoding="utf-8"))
    tags = ["wcag2a", "wcag2aa", "wcag21a", "wcag21aa", "wcag22aa", "best-practice"]
    found = tab.evaluate("tags => axe.run(document, {runOnly: tags})", tags)
    assert [(v["id"], [n["html"][:120] for n in v["nodes"]][:3]) for v in found["violations"]] == []
    assert len(found["passes"]) > 20
