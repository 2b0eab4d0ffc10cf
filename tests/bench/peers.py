"""The same networks laid out by general graph-drawing engines, as plans that the audit can measure.

Each engine gets the same symbol sizes and ports and the same help: return pipes are laid against the flow. Captions get
room below their symbols in elkjs, and in dot if that is asked for; without it dot shows how small and straight a
drawing without texts can be. An engine that is not installed is None.
"""

import json
import shutil
import subprocess
import time
import warnings
from dataclasses import replace
from pathlib import Path

from schemagen.base.geometry import Box, Point
from schemagen.layout.captions import caption_lines, caption_size
from schemagen.layout.placement import Placed, PlacedPort, Plan, Route
from schemagen.network.network import Network, PortId
from schemagen.network.waters import Waters

HERE = Path(__file__).resolve().parent
TEE = 20
_SIDES = "LRTB"


def wet(network: Network) -> list[str]:
    """Tags of parts that have a pipe; the others have no place that an engine could choose."""
    piped = {end.tag for pipe in network.pipes for end in (pipe.start, pipe.end)}
    return [tag for tag in network.parts if tag in piped]


def prepared(network: Network, waters: Waters) -> dict:
    """Sizes, ports and pipes under plain names: parts n0…, ports n0_0…, pipes e0…"""
    names = {tag: f"n{i}" for i, tag in enumerate(wet(network))}
    port = {}
    parts = []
    for tag, name in names.items():
        kind = network.parts[tag].kind
        tee = kind.name == "tee"
        lines = caption_lines(network.parts[tag])
        ports = []
        for n, spec in enumerate(kind.ports.values()):
            port[PortId(tag, spec.name)] = f"{name}_{n}"
            ports.append({"id": f"{name}_{n}", "x": spec.at.x, "y": spec.at.y, "side": spec.side})
        label = list(caption_size(lines)) if lines else None
        parts.append({"id": name, "w": kind.symbol.w, "h": kind.symbol.h, "tee": tee, "ports": ports, "label": label})
    pipes = [
        {
            "id": f"e{pipe.index}",
            "from": port[pipe.start],
            "to": port[pipe.end],
            "back": waters.section[pipe.index].endswith("return") or waters.section[pipe.index] == "circulation",
        }
        for pipe in network.pipes
    ]
    return {"parts": parts, "pipes": pipes, "names": names}


def elk(network: Network, waters: Waters, modules: Path | None) -> tuple[Plan, float] | None:
    """elkjs layered, from a folder that holds node_modules/elkjs; None if node or elkjs is not there."""
    if modules is None or not shutil.which("node") or not (modules / "node_modules" / "elkjs").is_dir():
        return None
    system = prepared(network, waters)
    done = subprocess.run(
        ["node", str(HERE / "elk.mjs")],
        input=json.dumps(system),
        capture_output=True,
        text=True,
        cwd=modules,
        timeout=300,
    )
    if done.returncode:
        return None
    out = json.loads(done.stdout)
    return _plan(network, system, out["at"], out["routes"]), out["seconds"]


def dot(network: Network, waters: Waters, captions: bool) -> tuple[Plan, float] | None:
    """Graphviz dot with splines=ortho; ports are cells of fixed-size tables, left by compass points.

    With `captions` each part has room for its caption below its symbol.
    """
    import pygraphviz

    system = prepared(network, waters)
    room = {part["id"]: _room(part, captions) for part in system["parts"]}
    source = _dot_source(system, room)
    start = time.perf_counter()
    with warnings.catch_warnings():
        warnings.simplefilter("ignore")
        drawn = json.loads(pygraphviz.AGraph(string=source).draw(format="json0", prog="dot"))
    seconds = time.perf_counter() - start
    height = float(drawn["bb"].split(",")[3])
    size = {p["id"]: p for p in system["parts"]}
    at = {}
    for node in drawn["objects"]:
        x, y = map(float, node["pos"].split(","))
        part = size[node["name"]]
        at[part["id"]] = (x - part["w"] / 2, height - y - room[part["id"]][1] / 2)
    back = {p["id"]: p["back"] for p in system["pipes"]}
    routes = {}
    for edge in drawn.get("edges", []):
        knots = [t for t in edge["pos"].split() if not t.startswith(("s,", "e,"))][::3]
        points = [tuple(map(float, t.split(",")[-2:])) for t in knots]
        points = [(x, height - y) for x, y in points]
        routes[edge["id"]] = points[::-1] if back[edge["id"]] else points
    plan = _plan(network, system, at, routes)
    box = plan.box
    for part in system["parts"]:
        (x, y), (w, h) = at[part["id"]], room[part["id"]]
        box = box.joined(Box(round(x + (part["w"] - w) / 2), round(y), w, h))
    return replace(plan, box=box), seconds


def _room(part: dict, captions: bool) -> tuple[int, int]:
    """Width and height of a part's node: of its symbol, with its caption below if it is to have one."""
    w, h = part["label"] if captions and part["label"] else (0, 0)
    return max(part["w"], w), part["h"] + h


def _plan(network: Network, system: dict, at: dict, routes: dict) -> Plan:
    parts = {}
    for tag, name in system["names"].items():
        kind = network.parts[tag].kind
        x, y = (round(v) for v in at[name])
        ports = {n: PlacedPort(Point(x + p.at.x, y + p.at.y), p.side) for n, p in kind.ports.items()}
        parts[tag] = Placed(tag, Box(x, y, kind.symbol.w, kind.symbol.h), 0, False, ports)
    drawn = {pipe.index: Route(_clean(routes[f"e{pipe.index}"])) for pipe in network.pipes}
    _let_tees_open_where_pipes_end(network, parts, drawn)
    box = next(iter(parts.values())).box
    for placed in parts.values():
        box = box.joined(placed.box)
    for route in drawn.values():
        for p in route.points:
            box = box.joined(Box(p.x, p.y, 0, 0))
    return Plan(parts, drawn, (), (), box)


def _clean(points: list) -> tuple[Point, ...]:
    """Whole units, without repeated points and without points on a straight line."""
    whole: list[Point] = []
    for x, y in points:
        p = Point(round(x), round(y))
        if whole and p == whole[-1]:
            continue
        if len(whole) > 1 and (whole[-2].x == whole[-1].x == p.x or whole[-2].y == whole[-1].y == p.y):
            whole.pop()
        whole.append(p)
    return tuple(whole)


def _let_tees_open_where_pipes_end(network: Network, parts: dict, drawn: dict) -> None:
    """A tee's openings are wherever the engine brought its pipes, so that no end there counts as off its port."""
    for pipe in network.pipes:
        for end, point in ((pipe.start, drawn[pipe.index].points[0]), (pipe.end, drawn[pipe.index].points[-1])):
            placed = parts[end.tag]
            if network.parts[end.tag].kind.name == "tee":
                ports = dict(placed.ports) | {end.port: PlacedPort(point, placed.ports[end.port].side)}
                parts[end.tag] = Placed(placed.tag, placed.box, 0, False, ports)


def _dot_source(system: dict, room: dict) -> str:
    lines = [
        "digraph G {",
        "graph [rankdir=LR, splines=ortho, nodesep=0.35, ranksep=0.45];",
        'node [shape=none, margin=0, fixedsize=true, label=""]; edge [arrowhead=none];',
    ]
    compass = {"L": "w", "R": "e", "T": "n", "B": "s"}
    side = {port["id"]: port["side"] for part in system["parts"] for port in part["ports"]}
    tee = {part["id"]: part["tee"] for part in system["parts"]}
    for part in system["parts"]:
        w, h = room[part["id"]]
        label = 'shape=box, label=""' if part["tee"] else f"label=<{_with_caption(_table(part), w, h - part['h'])}>"
        lines.append(f"{part['id']} [width={w / 72:.4f}, height={h / 72:.4f}, {label}];")
    for pipe in system["pipes"]:
        ends = [
            name if tee[name := port.partition("_")[0]] else f"{name}:{port}:{compass[side[port]]}"
            for port in (pipe["from"], pipe["to"])
        ]
        a, b = ends[::-1] if pipe["back"] else ends
        lines.append(f'{a} -> {b} [id="{pipe["id"]}"];')
    return "\n".join([*lines, "}"])


def _with_caption(symbol: str, w: int, h: int) -> str:
    """A symbol's table above room of that width and height."""
    if not h:
        return symbol
    return (
        f'<TABLE BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"><TR><TD>{symbol}</TD></TR>'
        f'<TR><TD FIXEDSIZE="TRUE" WIDTH="{w}" HEIGHT="{h}"></TD></TR></TABLE>'
    )


def _table(part: dict) -> str:
    """A fixed-size table with one 2 × 2 cell per port on its side."""
    w, h = part["w"], part["h"]
    by = {
        s: sorted((p["y"] if s in "LR" else p["x"], p["id"]) for p in part["ports"] if p["side"] == s) for s in _SIDES
    }
    bare = 'BORDER="0" CELLBORDER="0" CELLSPACING="0" CELLPADDING="0"'

    def cell(width: float, height: float, name: str = "") -> str:
        port = f' PORT="{name}"' if name else ""
        return f'<TD{port} FIXEDSIZE="TRUE" WIDTH="{width:g}" HEIGHT="{height:g}"></TD>'

    def strip(ports: list, length: float, start: float, upright: bool) -> str:
        cells, at = [], start
        for v, name in ports:
            if v - 1 > at:
                cells.append(cell(2, v - 1 - at) if upright else cell(v - 1 - at, 2))
            cells.append(cell(2, 2, name))
            at = v + 1
        if length > at:
            cells.append(cell(2, length - at) if upright else cell(length - at, 2))
        rows = "".join(f"<TR>{c}</TR>" for c in cells) if upright else f"<TR>{''.join(cells)}</TR>"
        return f"<TABLE {bare}>{rows}</TABLE>"

    return (
        f'<TABLE {bare} FIXEDSIZE="TRUE" WIDTH="{w}" HEIGHT="{h}">'
        f'<TR><TD COLSPAN="3">{strip(by["T"], w, 0, False)}</TD></TR>'
        f"<TR><TD>{strip(by['L'], h - 2, 2, True)}</TD>{cell(w - 4, h - 4)}"
        f"<TD>{strip(by['R'], h - 2, 2, True)}</TD></TR>"
        f'<TR><TD COLSPAN="3">{strip(by["B"], w, 0, False)}</TD></TR></TABLE>'
    )
