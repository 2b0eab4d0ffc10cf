"""From the tree of any form to the JobList: shapes checked, every value in its canonical text, all faults gathered."""

import difflib
from collections.abc import Sequence
from pathlib import Path, PurePosixPath

from schemagen.base.place import Place
from schemagen.joblist.joblist import ConnectionLine, Entry, JobList, ListError, ListUnreadable, PartLine, Row
from schemagen.joblist.revisions import REVISIONS
from schemagen.joblist.tree import Items, Node, Table, Text, numbered, plain
from schemagen.joblist.words import (
    TABLES,
    clean_text,
    clean_word,
    hyphened,
    key_and_unit,
    stops_of,
    unprintable,
    with_unit,
)

_ROW_NAME = {"states": "name", "accept": "check", "fluids": "fluid"}
_HOW = {
    "": (
        "the list is no table of keys",
        "begin with `parts:` and `connections:`; `schemagen new` writes a starter list",
    ),
    "sheet": ("`sheet` is no table of short texts", "write `title: …` and `number: …` below it"),
    "parts": (
        "a part is not written as the list wants it",
        "write `TAG: {kind: …}`, for example `R1: {kind: radiator}`",
    ),
    "connections": (
        "a connection is not written as the list wants it",
        "write `[A.flow, B.in]`, or `{run: [A.flow, T1, B.in], size: 28 mm}`",
    ),
    "states": ("a state is not written as the list wants it", "write `NAME: {calling: [RT1], positions: {DV1: b}}`"),
    "accept": (
        "an accepted finding is not written as the list wants it",
        "write `- {check: …, parts: [TAG], reason: …}`",
    ),
    "fluids": ("a fluid is not written as the list wants it", "write `heating-water: {content: 230 L}`"),
    REVISIONS: (
        "a revision is not written as the list wants it",
        "write `- {index: B, date: 2025-05-02, what: …, by: …}`",
    ),
    "symbols": ("`symbols` is no folder name", "write the name of a folder beside the list: `symbols: my-kinds`"),
}

_LONGEST_TEXT = 10_000
_LONGEST_WORD = 200
_CURE_TAG = "write `tag: …`, a name of your own such as HP1"
_CURE_KIND = "write `kind: …`; `schemagen kinds` lists the kinds"


def job_of(
    tree: Node | None,
    errors: Sequence[ListError],
    name: str,
    file: str,
    folder: str | None = None,
    notes: Sequence[ListError] = (),
) -> JobList:
    """The JobList of a tree. `errors` and `notes` were found before, `folder` is where the list stands.

    Raises ListUnreadable with all faults.
    """
    if tree is None and errors:
        raise ListUnreadable(tuple(errors))
    if tree is None or isinstance(tree, Text) and not tree.text:
        raise ListUnreadable(
            (ListError(Place(file), "the list is empty", "`schemagen new FILE` writes a starter list"),)
        )
    if not isinstance(tree, Table):
        raise ListUnreadable((ListError(tree.place, *_HOW[""]),))
    gather = _Gather(errors)
    tops = gather.tops(tree)
    gather.check_texts(tree)
    if "parts" not in tops:
        raise gather.unreadable()
    nodes = gather.sound({key: node for key, (_, node) in tops.items()})
    job = JobList(
        name=name,
        folder=folder,
        sheet=gather.sheet(nodes.get("sheet")),
        parts=gather.parts(nodes["parts"]),
        connections=gather.connections(nodes.get("connections")),
        states=gather.rows(nodes.get("states"), "states"),
        accept=gather.rows(nodes.get("accept"), "accept"),
        fluids=gather.rows(nodes.get("fluids"), "fluids"),
        symbols=gather.symbols(nodes.get("symbols"), folder),
        notes=tuple(notes),
    )
    if gather.errors:
        raise gather.unreadable()
    return job


class _Gather:
    """Reads the tables of one list and keeps what is wrong with them."""

    def __init__(self, errors: Sequence[ListError]) -> None:
        self.errors = list(errors)

    def wrong(self, place: Place, message: str, cure: str) -> None:
        self.errors.append(ListError(place, message, cure))

    def unreadable(self) -> ListUnreadable:
        distinct = dict.fromkeys(self.errors)
        return ListUnreadable(tuple(sorted(distinct, key=lambda e: (e.place.file, e.place.line or 0))))

    def tops(self, tree: Table) -> dict[str, tuple[Text, Node]]:
        """The tables by the list's own word; unknown words and words written twice are faults."""
        tops: dict[str, tuple[Text, Node]] = {}
        for key, node in tree.pairs:
            word = TABLES.get(hyphened(key.text))
            if word is None:
                self.wrong(key.place, f"`{shown(key.text)}` is no part of a list", near(key.text, list(_HOW)[1:]))
            elif word in tops:
                self.twice(key, tops[word][0])
            elif not (isinstance(node, Text) and not node.text):
                tops[word] = (key, node)
            elif word == "parts":
                tops[word] = (key, Table((), node.place))
        if "parts" not in tops:
            self.wrong(tree.place, "the list has no parts", "write `parts:` with a line for each part")
        return tops

    def check_texts(self, node: Node) -> None:
        if isinstance(node, Text):
            if char := unprintable(node.text):
                self.wrong(node.place, f"the text holds the unprintable character U+{ord(char):04X}", "take it out")
            if len(node.text) > _LONGEST_TEXT:
                self.wrong(node.place, f"a text has {len(node.text)} characters", "is a quotation mark left open?")
        elif isinstance(node, Items):
            for child in node.items:
                self.check_texts(child)
        else:
            for key, value in node.pairs:
                if len(key.text) > _LONGEST_WORD:
                    self.wrong(
                        key.place, f"a word has {len(key.text)} characters", f"at most {_LONGEST_WORD} are taken"
                    )
                self.check_texts(key)
                self.check_texts(value)

    def sound(self, tops: dict[str, Node]) -> dict[str, Node]:
        """The tables without what has a wrong shape, which is told."""
        from schemagen.joblist.door import faults

        paths = faults({word: plain(_keyed(word, node)) for word, node in tops.items()})
        lost: dict[str, set[str | int]] = {}
        for word in dict.fromkeys(str(path[0]) for path in paths):
            inside = _children(tops[word])
            for path in paths:
                if path[0] == word:
                    key, node = inside[path[1]] if len(path) > 1 else ("", tops[word])
                    self.wrong(*self.fault(word, key, node, path[2:]))
                    lost.setdefault(word, set()).update(path[1:2])
        return {word: _left(node, lost.get(word)) for word, node in tops.items()}

    def fault(self, word: str, key: str, node: Node, inner: tuple[str | int, ...]) -> tuple[Place, str, str]:
        """What is wrong with one row: its place, message and cure; `inner` leads to the value that is at fault."""
        if word == "sheet" and key == REVISIONS:
            return node.place, *_HOW[REVISIONS]
        if inner and isinstance(node, Table):
            name, value = _children(node)[inner[0]]
            message = f"the value of `{shown(name)}` is nested too deep"
            return value.place, message, "write a text, [a, b] or {a: x, b: y} of plain texts"
        if word == "parts" and isinstance(node, Table):
            named = self.named(node, "parts")
            tag = key or (canonical(named["tag"]) if "tag" in named else "")
            if "kind" not in named:
                return node.place, f"part {shown(tag)} has no kind" if tag else "a part has no kind", _CURE_KIND
            return node.place, "a part has no tag", _CURE_TAG
        return node.place, *_HOW[word]

    def twice(self, key: Text, first: Text) -> None:
        where = f"line {first.place.line}" if first.place.line else f"cell {first.place.cell}"
        self.wrong(key.place, f"`{shown(key.text)}` is written twice, first in {where}", "keep one of the two")

    def entries(self, table: Table, sort: str, without: tuple[str, ...] = ()) -> tuple[Entry, ...]:
        """The entries of a table, sorted by key so that every form gives the same; those of a sheet as they stand."""
        found: dict[str, tuple[Text, Entry]] = {}
        for key, node in table.pairs:
            name, unit = key_and_unit(key.text, sort)
            if name in found:
                self.twice(key, found[name][0])
            elif not name:
                self.wrong(key.place, "a key is empty", "write a word before the colon")
            else:
                place = node.place if isinstance(node, Text) else key.place
                found[name] = (key, Entry(name, with_unit(canonical(node), unit), place))
        for _, entry in found.values():
            if len(entry.text) > _LONGEST_TEXT:
                self.wrong(entry.place, f"`{entry.key}` has {len(entry.text)} characters", "is a bracket left open?")
        entries = [entry for name, (_, entry) in found.items() if entry.text and name not in without]
        return tuple(entries if sort == "sheet" else sorted(entries, key=lambda e: e.key))

    def sheet(self, node: Node | None) -> tuple[Entry, ...]:
        return self.entries(node, "sheet") if isinstance(node, Table) else ()

    def parts(self, node: Node) -> tuple[PartLine, ...]:
        if isinstance(node, Items):
            return tuple(self.part(None, item) for item in node.items)
        return tuple(self.part(key, value) for key, value in node.pairs)

    def part(self, key: Text | None, node: Node) -> PartLine:
        if isinstance(node, Text):
            node = Table(((Text("kind", node.place), node),), node.place)
        named = self.named(node, "parts")
        if key is not None and "tag" in named:
            self.wrong(node.place, f"part {shown(key.text)} has a second tag", "take `tag` out; the key is the tag")
        tag = key if key is not None else named.get("tag")
        place = tag.place if tag is not None else node.place
        text = canonical(tag) if tag is not None else ""
        kind = hyphened(canonical(named["kind"]))
        if not clean_word(text):
            self.wrong(node.place, "a part has no tag", _CURE_TAG)
        if not kind:
            self.wrong(node.place, f"part {shown(text)} has no kind", _CURE_KIND)
        return PartLine(clean_word(text), kind, self.entries(node, "parts", ("tag", "kind")), place)

    def named(self, table: Table, sort: str) -> dict[str, Node]:
        return {key_and_unit(key.text, sort)[0]: node for key, node in reversed(table.pairs)}

    def connections(self, node: Node | None) -> tuple[ConnectionLine, ...]:
        lines = (self.connection(item) for item in node.items) if isinstance(node, Items) else ()
        return tuple(line for line in lines if line is not None)

    def connection(self, node: Node) -> ConnectionLine | None:
        entries: tuple[Entry, ...] = ()
        stops = node
        if isinstance(node, Table):
            entries = self.entries(node, "connections", ("from", "to", "run"))
            named = self.named(node, "connections")
            ends = [named[word] for word in ("from", "to") if word in named and canonical(named[word])]
            run = named.get("run")
            if (run is not None and canonical(run) != "") == bool(ends):
                self.wrong(node.place, "a connection needs either `run`, or `from` and `to`", _HOW["connections"][1])
                return None
            stops = Items(tuple(ends), node.place) if ends else run
        texts = [stops.text] if isinstance(stops, Text) else [canonical(item) for item in stops.items]
        found = [stop for text in texts for stop in stops_of(text)]
        if len(found) < 2:
            self.wrong(node.place, "a connection needs two ends at least", _HOW["connections"][1])
            return None
        if not all(found):
            self.wrong(
                node.place, "a stop of the run is empty", "write a tag, a port or a kind's name between two arrows"
            )
            return None
        return ConnectionLine(tuple(found), entries, node.place)

    def rows(self, node: Node | None, sort: str) -> tuple[Row, ...]:
        if node is None:
            return ()
        if isinstance(node, Items):
            rows = (self.row(None, item, sort) for item in node.items)
            return tuple(row for row in rows if row.name or row.entries)
        seen: dict[str, Text] = {}
        for key, _ in node.pairs:
            if key.text in seen:
                self.twice(key, seen[key.text])
            seen.setdefault(key.text, key)
        return tuple(self.row(key, value, sort) for key, value in node.pairs)

    def row(self, key: Text | None, node: Node, sort: str) -> Row:
        if isinstance(node, Text):
            reason = Table(((Text("reason", node.place), node),), node.place)
            return Row(clean_word(key.text), self.entries(reason, sort), key.place)
        name = _ROW_NAME[sort]
        entries = self.entries(node, sort, (name,))
        named = self.named(node, sort).get(name)
        if key is not None and named is not None:
            self.wrong(node.place, f"{shown(key.text)} has a second name", f"take `{name}` out; the key is the name")
        text = key.text if key is not None else canonical(named) if named is not None else ""
        return Row(clean_word(text), entries, key.place if key is not None else node.place)

    def symbols(self, node: Node | None, folder: str | None) -> str | None:
        """The folder as written, if it lies inside the list's own, links followed."""
        if not isinstance(node, Text):
            return None
        text = clean_text(node.text).replace("\\", "/")
        path = PurePosixPath(text)
        if path.is_absolute() or ".." in path.parts or ":" in text or text.startswith("~") or _leaves(folder, text):
            message = f"the symbols folder {shown(text)} leads out of the list's own folder"
            self.wrong(node.place, message, "name a folder beside the list")
        return str(path) if text else None


def _leaves(folder: str | None, inside: str) -> bool:
    return folder is not None and not (Path(folder) / inside).resolve().is_relative_to(Path(folder).resolve())


def canonical(node: Node) -> str:
    """One text for a value: items joined by ", ", tables as "key: value" joined by ", "."""
    if isinstance(node, Text):
        return clean_text(node.text)
    if isinstance(node, Items):
        return ", ".join(filter(None, (canonical(item) for item in node.items)))
    return ", ".join(f"{clean_word(key.text)}: {canonical(value)}" for key, value in node.pairs)


def _left(node: Node, lost: set[str | int] | None) -> Node:
    """A table or list without the rows of those names or numbers; nothing of it if none are named."""
    if lost is None:
        return node
    if isinstance(node, Items):
        return Items(tuple(item for n, item in enumerate(node.items) if n not in lost), node.place)
    pairs = numbered(node) if isinstance(node, Table) and lost else ()
    return Table(tuple((key, value) for name, key, value in pairs if name not in lost), node.place)


def _keyed(table: str, node: Node) -> Node:
    """The keys of each row as the models know them."""
    if table not in ("parts", "connections"):
        return node
    if isinstance(node, Items):
        return Items(tuple(_renamed(item, table) for item in node.items), node.place)
    if isinstance(node, Table):
        return Table(tuple((key, _renamed(value, table)) for key, value in node.pairs), node.place)
    return node


def _renamed(node: Node, table: str) -> Node:
    if not isinstance(node, Table):
        return node
    return Table(tuple((Text(key_and_unit(k.text, table)[0], k.place), v) for k, v in node.pairs), node.place)


def _children(node: Node) -> dict[str | int, tuple[str, Node]]:
    """Key and node by the step that leads to it in the plain form of a tree."""
    if isinstance(node, Items):
        return {n: ("", item) for n, item in enumerate(node.items)}
    return {name: (key.text, value) for name, key, value in numbered(node)} if isinstance(node, Table) else {}


def near(word: str, known: list[str]) -> str:
    """A cure that names what looks like the word, or all that is known."""
    close = difflib.get_close_matches(hyphened(word), known, n=1, cutoff=0.6)
    return f"did you mean `{close[0]}`?" if close else f"a list has {', '.join(known)}"


def shown(text: str) -> str:
    """A word in a message: short, on one line."""
    text = clean_text(text)
    return text if len(text) <= 60 else text[:57] + "…"
