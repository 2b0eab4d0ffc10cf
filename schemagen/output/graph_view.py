"""The network as a plain graph: a box for each part with its openings, an arrow for each pipe; in the DOT language.

It shows what was understood of a list, without the drawing's symbols and ways. The text is the same everywhere; how
Graphviz lays it out may differ a little from one of its versions to the next.
"""

from html import escape

import graphviz

from schemagen.base.text import FAMILY
from schemagen.drawing.style import Style, shipped_style
from schemagen.network.network import Network, Part
from schemagen.network.waters import Waters
from schemagen.output.plain_text import plain

FORMS = (".gv", ".svg", ".png")
FONT = f"{FAMILY}, DejaVu Sans, Arial, sans-serif"


def graph_text(network: Network, waters: Waters, style: Style | None = None) -> str:
    """The graph in the DOT language: pipes as listed, in the colour of their section; controls as dashed lines."""
    style = style or shipped_style()
    name = {tag: f"n{n}" for n, tag in enumerate(network.parts)}
    port = {(tag, p): f"p{n}" for tag, part in network.parts.items() for n, p in enumerate(part.kind.ports)}
    graph = graphviz.Digraph("network")
    graph.attr(rankdir="LR", fontname=FONT, label=_text(network.sheet.get("title", "")), labelloc="t")
    graph.attr("node", shape="plain", fontname=FONT, fontsize="10")
    graph.attr("edge", fontname=FONT, fontsize="9", arrowsize="0.7")
    for tag, part in network.parts.items():
        graph.node(name[tag], f"<{_box(part, port)}>", tooltip=_text(tag))
    for pipe in network.pipes:
        section = style.sections[waters.section[pipe.index]]
        (a, p), (b, q) = pipe.start, pipe.end
        graph.edge(
            f"{name[a]}:{port[a, p]}", f"{name[b]}:{port[b, q]}",
            label=_text(f"{section.code} {pipe.size_text}".strip()), color=section.pen.colour, penwidth="1.6",
        )  # fmt: skip
    for tag, part in network.parts.items():
        for other in part.value("switches", ()):
            if other in name:
                graph.edge(name[tag], name[other], style="dashed", color=style.colours["still"], constraint="false")
    return graph.source


def graph_bytes(network: Network, waters: Waters, form: str) -> bytes:
    """The graph as a file of one of FORMS: its text, or drawn by Graphviz, which the library pygraphviz brings."""
    text = graph_text(network, waters)
    if form == ".gv":
        return text.encode("utf-8")
    import pygraphviz

    graph = pygraphviz.AGraph(string=text)
    graph.layout("dot")
    return graph.draw(format=form[1:])


def _box(part: Part, port) -> str:
    """A table: tag and kind above, below them the openings, each an anchor for its pipes."""
    cells = "".join(f'<TD PORT="{port[part.tag, p]}">{escape(p)}</TD>' for p in part.kind.ports)
    head = f"<B>{escape(plain(part.tag))}</B> {escape(plain(part.kind.title))}"
    below = f"<TR>{cells}</TR>" if cells else ""
    span = max(len(part.kind.ports), 1)
    return (
        '<TABLE BORDER="0" CELLBORDER="1" CELLSPACING="0" CELLPADDING="3">'
        f'<TR><TD COLSPAN="{span}">{head}</TD></TR>{below}</TABLE>'
    )


def _text(words: str) -> str:
    return graphviz.escape(plain(words))
