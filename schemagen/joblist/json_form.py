"""JSON, read by a small scanner of our own: it keeps line numbers, numbers as typed, and keys written twice."""

import json
import re
from bisect import bisect_right

from schemagen.base.place import Place
from schemagen.joblist.joblist import ListError
from schemagen.joblist.tree import DEEPEST, Items, Node, Table, Text

_TOKEN = re.compile(
    r'[ \t\r\n]*(?:(?P<mark>[{}\[\]:,])|(?P<string>"[^"\\\x00-\x1f]*(?:\\.[^"\\\x00-\x1f]*)*")'
    r"|(?P<number>-?(?:0|[1-9]\d*)(?:\.\d+)?(?:[eE][+-]?\d+)?)(?![\w.+-])|(?P<word>true|false|null)\b|(?P<end>\Z))"
)
_WORDS = {"true": "yes", "false": "no", "null": ""}


class _Wrong(Exception):
    pass


def read_json(text: str, file: str) -> tuple[Node | None, list[ListError]]:
    """The tree of a JSON text, or None with the first syntax error."""
    starts = [0] + [m.end() for m in re.finditer("\n", text)]

    def place(offset: int) -> Place:
        return Place(file, bisect_right(starts, offset))

    levels: list[tuple[str, list, Place]] = [("top", [], place(0))]
    offset, previous = 0, ""
    while True:
        m = _TOKEN.match(text, offset)
        at = len(text) - len(text[offset:].lstrip()) if m is None else m.start(m.lastgroup)
        where = place(at)
        if m is None:
            return None, [ListError(where, *_reason(text, at))]
        sort, token, offset = m.lastgroup, m[m.lastgroup], m.end()
        kind, nodes, began = levels[-1]
        try:
            if sort == "end":
                if len(levels) > 1:
                    raise _Wrong(f"the {kind} of line {began.line} is not closed", "close it")
                if not nodes:
                    return None, []
                return nodes[0], []
            _expect(sort, token, kind, nodes, previous)
            if sort == "mark" and token in "{[":
                if len(levels) > DEEPEST:
                    cure = "write it flat, as `schemagen new` shows"
                    raise _Wrong(f"the list is nested more than {DEEPEST} deep", cure)
                levels.append((token, [], where))
            elif sort == "mark" and token in "}]":
                levels.pop()
                levels[-1][1].append(_node(kind, nodes, began))
            elif sort == "string":
                nodes.append(Text(json.loads(token), where))
            elif sort == "number":
                nodes.append(Text(token, where))
            elif sort == "word":
                nodes.append(Text(_WORDS[token], where))
        except _Wrong as e:
            return None, [ListError(where, *e.args)]
        except ValueError:
            message = "a backslash in a text is followed by a wrong character"
            return None, [ListError(where, message, r"write \\ for a backslash")]
        previous = "value" if sort != "mark" or token in "}]" else token


def _node(kind: str, nodes: list, began: Place) -> Node:
    if kind == "[":
        return Items(tuple(nodes), began)
    return Table(tuple(zip(nodes[::2], nodes[1::2], strict=True)), began)


def _expect(sort: str, token: str, kind: str, nodes: list, previous: str) -> None:
    """Raises _Wrong if the token may not stand here."""
    closes = {"{": "}", "[": "]"}.get(kind)
    after_value = previous == "value"
    if kind == "top":
        if after_value:
            raise _Wrong("more text follows the end of the list", "keep one list in one file")
        if sort == "mark" and token not in "{[":
            raise _Wrong(f"unexpected {token}", "begin the list with {")
        return
    wants_key = kind == "{" and len(nodes) % 2 == 0
    if sort == "mark" and token in "}]":
        if token != closes:
            raise _Wrong(f"{token} closes what {kind} opened", f"write {closes}")
        if previous == ",":
            raise _Wrong(f"there is a comma before {token}", "take the last comma out")
        if previous == ":" or kind == "{" and len(nodes) % 2:
            raise _Wrong("a key has no value", 'write "key": "value"')
    elif sort == "mark" and token == ",":
        if not after_value or kind == "{" and len(nodes) % 2:
            raise _Wrong("unexpected comma", "put one comma between two values")
    elif sort == "mark" and token == ":":
        if not (kind == "{" and after_value and len(nodes) % 2):
            raise _Wrong("unexpected colon", 'write "key": "value" inside { }')
    elif after_value:
        raise _Wrong("a comma or a colon is missing", 'write "key": "value", with a comma between pairs')
    elif wants_key and sort != "string":
        raise _Wrong("a key is not in double quotes", 'write "key": "value"')


def _reason(text: str, at: int) -> tuple[str, str]:
    rest = text[at : at + 20]
    if rest.startswith("'"):
        return "a text is in single quotes", 'write double quotes: "text"'
    if rest.startswith('"'):
        return "a text is not closed, or runs over the end of the line", 'close it with "'
    if rest.startswith(("//", "#", "/*")):
        return "JSON has no remarks", "take the remark out, or write the list as YAML"
    word = re.split(r"[\s,:\]}]", rest)[0] or rest[:1]
    if rest[:1].isdigit() or rest[:1] in "-+.":
        return f"{word!r} is no number of JSON", 'put the value in double quotes, as in "28 mm"'
    return f"{word!r} is not in double quotes", f'write "{word}"'
