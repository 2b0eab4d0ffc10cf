"""A sheet as DXF (R2010): model space is the sheet in millimetres, y upwards from its bottom left corner.

Layers are named after ISO 13567-2: agent H, six signs for the element, one for the presentation. Every section has a
layer and a line type, every kind a block with the attributes TAG, NAME and KIND, and every pipe says as extended data
where it leads from and to, so that the list can be had back from the file.
"""

import io
from collections import Counter
from collections.abc import Callable, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field, replace

from schemagen.base.geometry import Point
from schemagen.base.path import mapped
from schemagen.base.text import FONT_FILES
from schemagen.drawing.drawing import ArrowItem, LabelItem, MarkItem, PartItem, PipeItem, PlaceItem
from schemagen.drawing.marks import mark_shapes
from schemagen.drawing.shape import Circle, Ellipse, Onto, Path, Rect, Shape, Text, line
from schemagen.drawing.style import MM_PER_UNIT, Pen
from schemagen.output.as_svg import EMPHASIS
from schemagen.output.dxf_ink import BY_LAYER, STYLES, Vertex, add_line_type, colour, draw, flipped, polyline, written
from schemagen.output.plain_text import plain
from schemagen.sheets.sheet import CannotDraw, Sheet

VERSION = "R2010"
MILLIMETRES = 4
"""The number of the unit in the file's header."""

APPLICATION = "SCHEMAGEN"
"""Under this name pipes carry from=, to=, section=, medium= and size=, and parts what the list says of them."""

LONGEST_DATUM = 250
"""Most characters of one string of extended data; readers of the format take 255 at most."""

SYMBOLS, TAGS, FINDINGS = "H-SYMB--E-", "H-TAGS--T-", "H-FIND--K-"
PLACE_LINES, PLACE_NAMES = "H-PLACE-E-", "H-PLACE-T-"
BLOCK_LAYERS = {
    "frame": "H-SHEET-B-",
    "title-block": "H-TITLE-V-",
    "legend": "H-LEGENDV-",
    "section-key": "H-SECKEYV-",
    "findings": "H-FINDS-V-",
    "cautions": "H-CAUTN-V-",
}
OTHER_BLOCKS = "H-NOTES-V-"


def encode(sheets: Sequence[Sheet], dpi: int = 0) -> tuple[bytes, ...]:
    """A file for each sheet. `dpi` is for formats made of dots. Raises CannotDraw if the DXF library is not there."""
    try:
        import ezdxf  # noqa: F401
    except ImportError:
        raise CannotDraw("DXF needs a library: pip install 'schemagen[dxf]'") from None
    return tuple(map(_dxf_of, sheets))


def _dxf_of(sheet: Sheet) -> bytes:
    with _without_clock():
        doc = _new_file(sheet)
        _Picture(doc.modelspace(), sheet).draw()
        for name in sorted(doc.entitydb.dxf_types_in_use()):  # the library would take them in the order of a set
            doc.classes.add_class(name)
        stream = io.StringIO()
        doc.write(stream)
        return doc.encode(stream.getvalue())


@contextmanager
def _without_clock():
    """Times and identifiers in the file are constants, so that the same sheet gives the same bytes."""
    import ezdxf

    before = ezdxf.options.write_fixed_meta_data_for_testing
    ezdxf.options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        ezdxf.options.write_fixed_meta_data_for_testing = before


def _new_file(sheet: Sheet):
    import ezdxf

    doc = ezdxf.new(VERSION, units=MILLIMETRES)
    doc.header["$LTSCALE"], doc.header["$LWDISPLAY"], doc.header["$MEASUREMENT"] = 1.0, 1, 1
    doc.header.custom_vars.append("Title", plain(sheet.title)[:LONGEST_DATUM])
    doc.appids.add(APPLICATION)
    for bold, file in zip((False, True), FONT_FILES, strict=True):
        doc.styles.add(STYLES[bold], font=file.name)
    doc.set_wipeout_variables(frame=0)
    space = doc.modelspace()
    space.reset_extents((0, 0, 0), (sheet.width, sheet.height, 0))
    space.reset_limits((0, 0), (sheet.width, sheet.height))
    doc.set_modelspace_vport(sheet.height * 1.05, (sheet.width / 2, sheet.height / 2))
    _add_layers(doc, sheet)
    return doc


def _add_layers(doc, sheet: Sheet) -> None:
    for name in (SYMBOLS, TAGS, FINDINGS, PLACE_LINES, PLACE_NAMES, OTHER_BLOCKS, *BLOCK_LAYERS.values()):
        doc.layers.add(name, color=7)
    for section in dict.fromkeys(pipe.section for pipe in sheet.drawing.pipes):
        look = sheet.onto.style.sections[section]
        kind = f"PIPE-{look.code}" if look.pen.pattern else "CONTINUOUS"
        if look.pen.pattern:
            add_line_type(doc, kind, look.pen.pattern)
        weight = round(look.pen.width * 100)
        for layer in (pipe_layer(look.code), pipe_layer(look.code, "T")):
            made = doc.layers.add(layer, linetype=kind, lineweight=weight)
            made.dxf.update(colour(look.pen.colour))
            made.description = look.name


def pipe_layer(code: str, presentation: str = "E") -> str:
    """The layer of a section's lines ("E") or letters ("T"), by its code letters, of which three are taken."""
    return f"H-PIP{code[:3]:-<3}{presentation}-"


@dataclass
class _Picture:
    """One sheet on its way into a model space; `blocks` are the symbols' blocks made so far."""

    space: object
    sheet: Sheet
    blocks: dict[tuple, str] = field(default_factory=dict)
    variants: Counter = field(default_factory=Counter)

    def draw(self) -> None:
        """What lies below comes first, as in the SVG."""
        drawing = self.sheet.drawing
        for block in self.sheet.blocks:
            for shape in block.shapes:
                draw(self.space, shape, self.sheet.height, BLOCK_LAYERS.get(block.name, OTHER_BLOCKS))
        for place in drawing.places:
            self._place(place)
        self._emphasis()
        for pipe in drawing.pipes:
            self._pipe(pipe)
        for arrow in drawing.arrows:
            self._arrow(arrow)
        tags = {label.subject: label for label in drawing.labels if label.role == "tag" and label.texts}
        for part in drawing.parts:
            self._part(part, tags.get(part.tag))
        for label in drawing.labels:
            self._label(label)
        for mark in drawing.marks:
            self._mark(mark)

    def _shape(self, shape: Shape, layer: str) -> None:
        draw(self.space, self.sheet.onto.shape(shape), self.sheet.height, layer)

    def _at(self, x: float, y: float) -> tuple[float, float]:
        onto = self.sheet.onto
        return round(onto.x(x), 4), round(self.sheet.height - onto.y(y), 4)

    def _place(self, place: PlaceItem) -> None:
        for side in place.sides:
            self._shape(side, PLACE_LINES)
        self._shape(place.text, PLACE_NAMES)

    # pipes

    def _pipe(self, pipe: PipeItem) -> None:
        onto, look = self.sheet.onto, self.sheet.onto.style.sections[pipe.section]
        pen = onto.pen(pipe.pen)
        own = {}
        if pen.pattern:
            own = {"linetype": "BYLAYER", "ltscale": round(sum(pen.pattern) / sum(look.pen.pattern), 4)}
        if pen.colour == look.pen.colour:
            own["color"] = BY_LAYER
        drawn = self._line(pipe, replace(pen, pattern=()), pipe_layer(look.code), **own)
        data = {"from": pipe.start, "to": pipe.end, "section": pipe.section, "medium": pipe.medium, "size": pipe.size}
        drawn.set_xdata(APPLICATION, _data(data))

    def _line(self, pipe: PipeItem, pen: Pen, layer: str, **attributes):
        run = flipped(pipe_run(pipe, self.sheet.onto), self.sheet.height)
        return polyline(self.space, run, False, pen, layer, **attributes)

    def _arrow(self, arrow: ArrowItem) -> None:
        look = self.sheet.onto.style.sections[arrow.section]
        (x, y), (dx, dy) = arrow.tip, arrow.along
        back_x, back_y, half = x - dx * arrow.length, y - dy * arrow.length, arrow.width / 2
        corners = ((x, y), (back_x - dy * half, back_y + dx * half), (back_x + dy * half, back_y - dx * half))
        hue = {"color": BY_LAYER} if arrow.colour == look.pen.colour else colour(arrow.colour)
        self.space.add_solid([self._at(*c) for c in corners], dxfattribs={"layer": pipe_layer(look.code), **hue})

    def _emphasis(self) -> None:
        """The grey band under what a finding names."""
        onto = self.sheet.onto
        width, hue = EMPHASIS * onto.scale / MM_PER_UNIT, onto.style.colours["emphasis"]
        for box in self.sheet.drawing.flagged_parts:
            frame = onto.shape(Rect(box.x - 2, box.y - 2, box.w + 4, box.h + 4, 4))
            draw(self.space, replace(frame, pen=Pen(width, hue)), self.sheet.height, FINDINGS)
        for pipe in self.sheet.drawing.pipes:
            if pipe.flagged:
                self._line(pipe, Pen(0, hue), FINDINGS, const_width=width)

    # parts and labels

    def _part(self, part: PartItem, label: LabelItem | None) -> None:
        moved = _unmove(part)
        base = moved(*part.ports[0][1]) if part.ports else (0.0, 0.0)
        at = self._at(*part.ports[0][1]) if part.ports else self._at(part.box.x, part.box.y)
        insert = self.space.add_blockref(
            self._block(part, moved, base), at,
            dxfattribs={"layer": SYMBOLS, "rotation": -part.turn % 360, "xscale": -1 if part.mirror else 1},
        )  # fmt: skip
        insert.set_xdata(APPLICATION, _data(dict(part.facts)))
        for name, words in (("TAG", part.tag), ("NAME", part.title), ("KIND", part.kind)):
            shown = label.texts[0] if name == "TAG" and label and label.texts[0].text == part.tag else None
            attribute = insert.add_attrib(
                name, written(words), at if shown is None else self._at(shown.x, shown.y), dxfattribs={"layer": TAGS}
            )
            _set_letters(attribute, shown, self.sheet.onto.scale)

    def _block(self, part: PartItem, moved: Callable, base: tuple[float, float]) -> str:
        """The block of the part's symbol as it is unturned; a new one if its kind has no block with this ink."""
        shapes = tuple(_unturned(shape, moved, part.turn % 180 == 90) for shape in part.shapes)
        key = (part.kind, base, shapes)
        if key not in self.blocks:
            self.variants[part.kind] += 1
            number = self.variants[part.kind]
            name = part.kind.upper() if number == 1 else f"{part.kind.upper()}-{number}"
            self.blocks[key] = name
            block = self.space.doc.blocks.new(name)
            scale = self.sheet.onto.scale
            onto = Onto(self.sheet.onto.style, scale, -base[0] * scale, -base[1] * scale)
            for shape in shapes:
                draw(block, onto.shape(shape), 0, "0")
            for name in ("TAG", "NAME", "KIND"):
                _set_letters(block.add_attdef(name, (0, 0), dxfattribs={"layer": TAGS, "prompt": name}), None, scale)
        return self.blocks[key]

    def _label(self, label: LabelItem) -> None:
        layer = TAGS
        if label.role == "code":
            layer = pipe_layer(self.sheet.onto.style.sections[label.section].code, "T")
        if label.leader:
            self._leader(label.leader, layer)
            self._shape(Circle(*label.leader[-1], 1.5, None, "#000000"), layer)
        is_attribute = label.role == "tag" and bool(label.texts) and label.texts[0].text == label.subject
        for text in label.texts[is_attribute:]:
            self._shape(text, layer)

    def _leader(self, points: Sequence[Point], layer: str) -> None:
        self._shape(line(points, Pen(self.sheet.onto.style.pens["leader"])), layer)

    def _mark(self, mark: MarkItem) -> None:
        if mark.leader:
            self._leader(mark.leader, FINDINGS)
        for shape in mark_shapes(mark.finding, mark.number, mark.at.x, mark.at.y):
            self._shape(shape, FINDINGS)


def _data(texts: dict[str, str]) -> list[tuple[int, str]]:
    return [(1000, f"{plain(key)}={plain(text)}"[:LONGEST_DATUM]) for key, text in texts.items()]


def _set_letters(attribute, shown: Text | None, scale: float) -> None:
    """Letters of an attribute as those of a text on the sheet; without one it is there to be read, not seen."""
    attribute.dxf.style = STYLES[shown.bold if shown else False]
    attribute.dxf.height = round((shown.cap if shown else 10) * scale, 3)
    attribute.is_invisible = shown is None
    if shown and shown.anchor != "start":
        from ezdxf.enums import TextEntityAlignment

        align = {"middle": TextEntityAlignment.CENTER, "end": TextEntityAlignment.RIGHT}[shown.anchor]
        attribute.set_placement(attribute.dxf.insert, align=align)


def pipe_run(pipe: PipeItem, onto: Onto) -> list[Vertex]:
    """A pipe's points on the sheet, y downwards; a hop is a half circle: upwards, or to the left on an upright run."""
    out: list[Vertex] = []
    for i, a in enumerate(pipe.points):
        out.append((onto.x(a.x), onto.y(a.y), 0.0))
        for hop in (h for h in pipe.hops if h.segment == i):
            b = pipe.points[i + 1]
            dx, dy = (b.x > a.x) - (b.x < a.x), (b.y > a.y) - (b.y < a.y)
            near = (onto.x(hop.at.x - dx * hop.radius), onto.y(hop.at.y - dy * hop.radius))
            far = (onto.x(hop.at.x + dx * hop.radius), onto.y(hop.at.y + dy * hop.radius))
            out += [(*near, float(dx or -dy)), (*far, 0.0)]
    return out


def _unmove(part: PartItem) -> Callable[[float, float], tuple[float, float]]:
    """Takes a point of the part as it stands to where it is on the kind's symbol: unturned, unmirrored, from 0, 0."""
    box = part.box
    w = box.h if part.turn in (90, 270) else box.w
    h = box.w if part.turn in (90, 270) else box.h

    def unmove(x: float, y: float) -> tuple[float, float]:
        x, y = x - box.x, y - box.y
        x, y = {0: (x, y), 90: (y, h - x), 180: (w - x, h - y), 270: (w - y, x)}[part.turn]
        return round(w - x if part.mirror else x, 3), round(y, 3)

    return unmove


def _unturned(shape: Shape, moved: Callable[[float, float], tuple[float, float]], lying: bool) -> Shape:
    match shape:
        case Path():
            return replace(shape, segments=mapped(shape.segments, moved))
        case Rect():
            (x1, y1), (x2, y2) = moved(shape.x, shape.y), moved(shape.x + shape.w, shape.y + shape.h)
            return replace(shape, x=min(x1, x2), y=min(y1, y2), w=abs(x2 - x1), h=abs(y2 - y1))
        case Ellipse() if lying:
            x, y = moved(shape.x, shape.y)
            return replace(shape, x=x, y=y, rx=shape.ry, ry=shape.rx)
    x, y = moved(shape.x, shape.y)
    return replace(shape, x=x, y=y)
