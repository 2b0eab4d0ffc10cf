"""A small heating circuit with a cold pipe across it, placed by hand, for tests that want a plan without the layout."""

from fragments import built

from schemagen.base.finding import Finding
from schemagen.base.geometry import Box, Point, turned_point, turned_side, turned_size
from schemagen.base.text import label_size
from schemagen.checks.check import Report
from schemagen.drawing.compose import compose
from schemagen.layout.placement import Label, PlaceBox, Placed, PlacedPort, Plan, Route
from schemagen.network.network import Network, Part
from schemagen.network.waters import Waters

LIST = """
parts: system-boiler B1 label: Boiler place: Kitchen; isolating-valve V1; tee T1; pump P1 label: Heating pump;
    radiator R1 label: Living room; expansion-vessel EV1; pressure-gauge G1; tee T2;
    cold-outlet C1; cold-main M1
pipes: B1.flow - V1.a 22 mm; V1.b - T1.a; T1.b - R1.a; R1.b - T2.a 22 mm; T2.b - P1.in; P1.out - B1.return 22 mm;
    T1.branch - G1.port; T2.branch - EV1.port; M1.out - C1.in 15 mm
"""

SECTIONS = (
    "heating-flow", "heating-flow", "heating-flow", "heating-return", "heating-return", "heating-return",
    "heating-flow", "heating-return", "cold",
)  # fmt: skip
MEDIA = ("heating-water",) * 8 + ("cold",)
CARRIES = (True, True, True, True, True, True, False, False, True)

AT = {
    "B1": (0, 0, 0, False),
    "V1": (120, 10, 0, False),
    "T1": (200, 10, 180, True),
    "G1": (200, -40, 0, False),
    "R1": (420, -10, 0, False),
    "T2": (260, 50, 0, True),
    "P1": (140, 40, 0, True),
    "EV1": (250, 100, 0, False),
    "M1": (260, -140, 0, False),
    "C1": (430, 120, 0, False),
}
ROUTES = {
    0: Route((Point(60, 20), Point(120, 20))),
    1: Route((Point(160, 20), Point(200, 20))),
    2: Route((Point(220, 20), Point(420, 20))),
    3: Route((Point(500, 20), Point(520, 20), Point(520, 60), Point(280, 60))),
    4: Route((Point(260, 60), Point(180, 60))),
    5: Route((Point(140, 60), Point(60, 60))),
    6: Route((Point(210, 10), Point(210, -10))),
    7: Route((Point(270, 70), Point(270, 100))),
    8: Route(
        (Point(300, -130), Point(340, -130), Point(340, 140), Point(430, 140)), hops=(Point(340, 20), Point(340, 60))
    ),
}
LABELS = {  # tag: lines, left, top, anchor
    "B1": (("B1", "Boiler"), -20, 96, "middle"),
    "V1": (("V1",), 120, -10, "middle"),
    "G1": (("G1",), 224, -34, "start"),
    "P1": (("P1", "Heating pump"), 110, 84, "middle"),
    "R1": (("R1", "Living room"), 410, -46, "middle"),
    "EV1": (("EV1",), 294, 124, "start"),
    "M1": (("M1",), 220, -139, "end"),
    "C1": (("C1",), 474, 132, "start"),
}


def hand_plan(network: Network) -> Plan:
    parts = {tag: _placed(network.parts[tag], *AT[tag]) for tag in network.parts}
    labels = tuple(_label(tag, *row) for tag, row in LABELS.items())
    kitchen = PlaceBox("Kitchen", Box(-40, -40, 130, 184), Box(-36, -38, 70, 16))
    box = Box(-40, -140, 580, 310)
    return Plan(parts, ROUTES, labels, (kitchen,), box)


def _placed(part: Part, x: int, y: int, turn: int, mirror: bool) -> Placed:
    symbol = part.kind.symbol
    box = Box(x, y, *turned_size(symbol.w, symbol.h, turn))
    ports = {}
    for name, port in part.kind.ports.items():
        at = turned_point(port.at, symbol.w, symbol.h, turn, mirror)
        ports[name] = PlacedPort(Point(at.x + x, at.y + y), turned_side(port.side, turn, mirror))
    return Placed(part.tag, box, turn, mirror, ports)


def _label(tag, lines, x, y, anchor) -> Label:
    return Label(tag, lines, Box(x, y, *label_size(lines, True)), anchor)


def hand_drawing(findings=(), checks_run: int = 42):
    """Network, report and drawing of the hand-placed circuit."""
    network = built(LIST, finished=False).network
    waters = Waters(MEDIA, SECTIONS, (0,) * 8 + (1,), (("B1", "V1", "R1", "P1"),), CARRIES)
    report = Report(tuple(findings), (), checks_run)
    return network, report, compose(network, waters, hand_plan(network), report)


FINDINGS = (
    Finding("pump-missing", "error", "Nothing moves the water of B1.", "Put a pump.", pipes=(("T2.b", "P1.in"),)),
    Finding("no-drain-point", "warning", "The circuit has no drain.", "Add a drain cock.", parts=("R1",)),
    Finding("label-missing", "advice", "V1 has no label.", "Write label: at V1.", parts=("V1",)),
    Finding("no-relief-valve", "error", "No relief valve.", "Add one.", parts=("EV1",), accepted="temporary rig"),
)
