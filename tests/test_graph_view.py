"""The plain graph of a network: Graphviz reads it back as the parts and pipes of the list, whatever the list says."""

import os
import subprocess
import sys
from pathlib import Path
from xml.etree import ElementTree

import pygraphviz
import pytest

from schemagen.output.graph_view import graph_bytes, graph_text
from schemagen.pipeline import read

EXAMPLES = sorted(p for p in (Path(__file__).parent.parent / "examples").iterdir() if p.name[:2].isdigit())
HOSTILE = """
parts:
  "B\\"1": {kind: system-boiler, label: "<script>alert(1)</script> \\\\N \\\\G {x|y}"}
  "R<1>&": {kind: radiator}
connections:
  - ['B"1.flow', 'R<1>&.a']
  - ['R<1>&.b', 'B"1.return']
sheet: {title: "a\\\\lb \\"c\\" <b>"}
"""


def graph_of(source) -> tuple[pygraphviz.AGraph, object]:
    job = read(source)
    return pygraphviz.AGraph(string=graph_text(job.network, job.waters)), job.network


@pytest.mark.parametrize("example", EXAMPLES, ids=lambda p: p.name)
def test_graphviz_reads_a_node_for_each_part_and_an_edge_for_each_pipe_between_its_ports(example):
    graph, network = graph_of(example)
    tags = dict(zip((f"n{n}" for n in range(len(network.parts))), network.parts, strict=True))
    assert {tags[n] for n in graph.nodes()} == set(network.parts)
    pipes = [e for e in graph.edges(keys=True) if graph.get_edge(*e).attr["style"] != "dashed"]

    def end(node, port):
        tag = tags[node]
        return tag, list(network.parts[tag].kind.ports)[int(port[1:])]

    edges = [(a, b, graph.get_edge(a, b, k).attr) for a, b, k in pipes]
    found = [(end(a, attr["tailport"]), end(b, attr["headport"])) for a, b, attr in edges]
    assert sorted(found) == sorted((tuple(p.start), tuple(p.end)) for p in network.pipes)


def test_controls_point_at_what_they_switch():
    graph, network = graph_of(EXAMPLES[0])
    dashed = [e for e in graph.edges(keys=True) if graph.get_edge(*e).attr["style"] == "dashed"]
    assert len(dashed) == sum(len(p.value("switches", ())) for p in network.parts.values()) > 0


def test_any_text_is_shown_as_text(tmp_path):
    (tmp_path / "x.yaml").write_text(HOSTILE, encoding="utf-8")
    job = read(tmp_path / "x.yaml")
    root = ElementTree.fromstring(graph_bytes(job.network, job.waters, ".svg"))
    words = "".join(root.itertext())
    assert 'B"1' in words and "R<1>&" in words and 'a\\lb "c" <b>' in words
    assert not [e for e in root.iter() if e.tag.endswith("script")]


def test_the_text_is_the_same_in_every_run():
    code = (
        "from schemagen.pipeline import read; from schemagen.output.graph_view import graph_text;"
        f"j = read({str(EXAMPLES[0])!r}); print(hash('x') % 7, end=''); print(graph_text(j.network, j.waters))"
    )
    command = [sys.executable, "-c", code]
    runs = [
        subprocess.run(command, capture_output=True, env=os.environ | {"PYTHONHASHSEED": seed}, check=True)
        for seed in ("1", "2")
    ]
    assert runs[0].stdout[1:] == runs[1].stdout[1:]
