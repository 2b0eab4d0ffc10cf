"""YAML: read from the parser's events, so that every scalar stays as typed and nothing else is built."""

import re

from ruamel.yaml import YAML
from ruamel.yaml.error import MarkedYAMLError, YAMLError
from ruamel.yaml.events import (
    AliasEvent,
    DocumentStartEvent,
    MappingEndEvent,
    MappingStartEvent,
    ScalarEvent,
    SequenceEndEvent,
    SequenceStartEvent,
)

from schemagen.base.place import Place
from schemagen.joblist.joblist import ListError
from schemagen.joblist.tree import DEEPEST, Items, Node, Table, Text

_NULLS = {"", "~", "null", "Null", "NULL"}
_MOST_RETRIES = 20
_RETRY_LIMIT = 200_000
_CURE_FLAT = "write it flat, as `schemagen new` shows"
_ANCHOR = "a list has no anchors, aliases or merge keys"

_MEANINGS: tuple[tuple[str, str, str], ...] = (
    (
        "mapping values are not allowed",
        "there is a second colon in one line",
        'quote a text that holds a colon, as in label: "Zone 2: upstairs", and give each key its own line',
    ),
    (
        "but got ':'",
        "inside brackets or braces there is a colon too many, or one of them is not closed before this line",
        'quote a text that holds a colon, as in {label: "Zone 2: upstairs"}, and close every [ and every {',
    ),
    (
        "expected ',' or",
        "a bracket or brace is not closed, or a comma is missing",
        "close every [ with ] and every { with }, and put a comma between items; "
        "a # after a blank starts a remark, so quote a text that holds one",
    ),
    (
        "could not find expected ':'",
        "a key without a colon, or a dash without a blank after it",
        "write `key: value` with a colon and a blank, and `- item` with a dash and a blank",
    ),
    (
        "expected <block end>, but found '<block",
        "the line is not indented like its neighbours",
        "begin lines of one level in the same column, with blanks",
    ),
    (
        "expected <block end>, but found '<scalar>'",
        "there is more text after a closing quote",
        "put the whole text inside the quotes, and inside '…' write '' for one '",
    ),
    (
        "expected <block end>",
        "a bracket, brace, dash or comma stands where none belongs",
        "close each [ or { exactly once, and quote a text that begins or ends with one",
    ),
    (
        "expected a comment or a line break",
        "a text begins with > or |",
        "write the text in quotes",
    ),
    (
        "while scanning a quoted scalar",
        "a quotation mark is not closed",
        "close the quote; for inches write 3/4 in, or put the whole text in single quotes: '3/4\"'",
    ),
    (
        "while scanning a double-quoted scalar",
        "a backslash in double quotes means a special character",
        "use single quotes, where a backslash is a backslash",
    ),
    (
        "cannot start any token",
        "a text begins with a character that YAML keeps for itself (@ ` %)",
        "put the text in quotes",
    ),
    (
        "expected '<document start>'",
        "more text follows where the list should have ended",
        "indent all lines of one level alike; a list is one document",
    ),
)


def read_yaml(text: str, file: str) -> tuple[Node | None, list[ListError]]:
    """The tree of a YAML text and what is wrong with it; the tree is None after a syntax error.

    After a syntax error the line is left out and the rest parsed once more, so that one run reports them all.
    """
    errors: list[ListError] = []
    lines = text.split("\n")
    for _ in range(_MOST_RETRIES):
        try:
            builder = _Builder(text, file)
            tree = builder.build()
        except MarkedYAMLError as e:
            first, last = _faulty_lines(e, len(lines))
            errors.append(_explained(e, first, last, file))
            lines[first : last + 1] = [""] * (last + 1 - first)
            if len(text) > _RETRY_LIMIT or not any(lines):
                break
            text = "\n".join(lines)
        except YAMLError as e:
            return None, [ListError(Place(file), f"this is no YAML: {str(e).splitlines()[0]}", "save it as UTF-8 text")]
        else:
            return None if errors else tree, _sorted(errors + builder.errors)
    return None, _sorted(errors)


def _sorted(errors: list[ListError]) -> list[ListError]:
    return sorted(errors, key=lambda e: e.place.line or 0)


def _faulty_lines(e: MarkedYAMLError, count: int) -> tuple[int, int]:
    problem = min(e.problem_mark.line if e.problem_mark else 0, count - 1)
    opened = e.context_mark.line if e.context_mark and "flow" in (e.context or "") else problem
    if "quoted" in (e.context or ""):
        return min(e.context_mark.line, problem), problem
    if "simple key" in (e.context or ""):
        return e.context_mark.line, e.context_mark.line
    return opened, problem


def _explained(e: MarkedYAMLError, first: int, last: int, file: str) -> ListError:
    at = Place(file, first + 1)
    told = f"{e.context or ''} {e.problem or ''}"
    if "'\\t'" in told:
        return ListError(Place(file, last + 1), "there is a tab", "indent with blanks; YAML does not take tabs")
    for sign, message, cure in _MEANINGS:
        if sign in told:
            return ListError(at, message, cure)
    return ListError(at, f"this is not YAML: {e.problem}", "compare the line with the list that `schemagen new` writes")


class _Builder:
    """Turns one run of the parser's events into a tree, without recursion."""

    def __init__(self, text: str, file: str) -> None:
        self.text, self.file = text, file
        self.errors: list[ListError] = []

    def build(self) -> Node | None:
        root: list[Node] = []
        levels: list[_Level] = [_Level(Place(self.file, 1), False, False, root)]
        documents = 0
        place = levels[0].place
        for event in YAML(typ="safe", pure=True).parse(self.text):
            line = event.start_mark.line + 1
            if line != place.line:
                place = Place(self.file, line)
            if isinstance(event, ScalarEvent):
                self._refuse_specials(event, place)
                levels[-1].nodes.append(self._scalar(event, place, levels[-1]))
            elif isinstance(event, (MappingStartEvent, SequenceStartEvent)):
                self._refuse_specials(event, place)
                if len(levels) > DEEPEST:
                    self._wrong(place, f"the list is nested more than {DEEPEST} deep", _CURE_FLAT)
                    break
                levels.append(_Level(place, isinstance(event, MappingStartEvent), bool(event.flow_style), []))
            elif isinstance(event, (MappingEndEvent, SequenceEndEvent)):
                done = levels.pop()
                levels[-1].nodes.append(self._node(done))
            elif isinstance(event, DocumentStartEvent):
                documents += 1
                if documents > 1:
                    self._wrong(place, "a second document begins here", "keep one list in one file; take out the ---")
                    break
            elif isinstance(event, AliasEvent):
                cure = "write the value out, or quote a text that begins with *"
                self._wrong(place, f"*{event.anchor} is an alias; {_ANCHOR}", cure)
                levels[-1].nodes.append(Text("", place))
        return root[0] if root else None

    def _wrong(self, place: Place, message: str, cure: str) -> None:
        self.errors.append(ListError(place, message, cure))

    def _refuse_specials(self, event, place: Place) -> None:
        if event.anchor:
            cure = "take it out, or quote a text that begins with &"
            self._wrong(place, f"&{event.anchor} is an anchor; {_ANCHOR}", cure)
        if event.tag:
            cure = "take it out, or quote a text that begins with !"
            self._wrong(place, f"{event.tag} is a YAML tag; a list has none", cure)

    def _scalar(self, event: ScalarEvent, place: Place, level: "_Level") -> Text:
        text = event.value
        if event.style is None or event.style == "":
            if level.wants_key and text == "<<":
                self._wrong(place, f"<< is a merge key; {_ANCHOR}", "write the keys out")
            if level.is_map and level.flow and not level.wants_key and text == "":
                self._explain_missing(event, place, level)
            if text in _NULLS and not level.wants_key:
                text = ""
        return Text(text, place)

    def _explain_missing(self, event: ScalarEvent, place: Place, level: "_Level") -> None:
        """A key in braces without a colon: nearly always a comma that cut a text in two."""
        before = self.text[: event.start_mark.index].rstrip()
        if before.endswith(":"):
            return
        key = level.nodes[-1]
        rest = key.text if isinstance(key, Text) else ""
        earlier = level.nodes[-3:-1]
        if ":" in rest:
            name, _, value = rest.partition(":")
            self._wrong(place, f"{rest!r} has no blank after the colon", f"write {name}: {value.strip()}")
        elif len(earlier) == 2 and all(isinstance(n, Text) for n in earlier):
            name, value = earlier[0].text, earlier[1].text
            joined = f"{value},{rest}" if re.search(r"\d$", value) and re.match(r"\d", rest) else f"{value}, {rest}"
            point = f" or {name}: {joined.replace(',', '.')}" if ", " not in joined else ""
            message = f"a comma inside braces cuts the text of {name!r} in two: {value!r} and {rest!r}"
            self._wrong(place, message, f'write {name}: "{joined}"{point}')
        else:
            self._wrong(
                place, f"{rest!r} has no value", f"write {rest}: with a value, or quote a text that holds a comma"
            )
        level.dropped.add(len(level.nodes) - 1)

    def _node(self, level: "_Level") -> Node:
        if not level.is_map:
            return Items(tuple(level.nodes), level.place)
        pairs = []
        for n in range(0, len(level.nodes) - 1, 2):
            key, value = level.nodes[n], level.nodes[n + 1]
            if not isinstance(key, Text):
                cure = "write `key: value`; quote a text that begins with [ or {"
                self._wrong(key.place, "a key is not a plain word", cure)
            elif n not in level.dropped:
                pairs.append((key, value))
        return Table(tuple(pairs), level.place)


class _Level:
    """One open bracket: what has been read inside it so far."""

    __slots__ = ("place", "is_map", "flow", "nodes", "dropped")

    def __init__(self, place: Place, is_map: bool, flow: bool, nodes: list[Node]) -> None:
        self.place, self.is_map, self.flow, self.nodes = place, is_map, flow, nodes
        self.dropped: set[int] = set()

    @property
    def wants_key(self) -> bool:
        return self.is_map and len(self.nodes) % 2 == 0
