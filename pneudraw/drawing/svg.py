"""The sheet as SVG: the only file that imports svgwrite.

Valid, self-contained and the same bytes every time: text that shows on a machine without fonts, coordinates in mm with
two decimals, ids from our names, no date, no scripts. Whatever stands in a netlist is text here and nothing else.
"""

from __future__ import annotations

import math
import re
from typing import Any, assert_never

import svgwrite

from pneudraw.drawing import animation, shapes
from pneudraw.drawing.decimals import number
from pneudraw.drawing.letters import Lettering, Letters
from pneudraw.drawing.shapes import Group, Shape, Sheet, leaves
from pneudraw.lettering import STACK, font_face, plain


def to_svg(
    sheet: Sheet,
    prefix: str = "",
    lettering: Lettering = "outlines",
    size: tuple[str, str] | None = None,
    animate: bool = False,
) -> str:
    """Return the sheet as an SVG document.

    ``prefix`` goes before every id, for several pictures on one page. ``lettering``: ``outlines``, which show
    everywhere; ``editable`` in a drawing program, the font embedded for browsers; or ``bare``, where the page (or the
    program that shows the picture) has the font. ``size`` stretches the sheet to another width and height, in any
    units of SVG. ``animate``: air moves along the lines that carry it, in the order of arrival; without scripts, and
    not for readers who asked for less motion, nor in print.
    """
    turns = animation.orders(sheet)
    writer = _Writer(prefix, turns if animate else None, lettering)
    own_size = (f"{number(sheet.width)}mm", f"{number(sheet.height)}mm")
    drawing = svgwrite.Drawing(size=size or own_size, profile="full", debug=False)
    if size is not None:
        drawing["preserveAspectRatio"] = "none"
    drawing["viewBox"] = f"0 0 {number(sheet.width)} {number(sheet.height)}"
    drawing["role"] = (
        "graphics-document document"  # not "img", which would hide the words and the groups' titles
    )
    title, desc = writer.id("title"), writer.id("desc")
    drawing["aria-labelledby"] = f"{title} {desc}"
    drawing["font-family"] = STACK
    drawing["stroke-linejoin"] = "miter"
    drawing.set_desc(plain(sheet.title), plain(sheet.desc))
    for element, name in zip(drawing.elements, (title, desc), strict=False):
        element.xml.set("id", name)
    if lettering == "editable":
        drawing.defs.add(drawing.style(_faces(sheet)))
    if animate:
        drawing.defs.add(drawing.style(animation.rules(sheet, turns, prefix)))
    paper = drawing.rect((0, 0), (number(sheet.width), number(sheet.height)), fill="#ffffff")
    drawing.add(paper)
    for shape in sheet.shapes:
        for element in writer.elements(drawing, shape):
            drawing.add(element)
    for definition in writer.letters.definitions(drawing):
        drawing.defs.add(definition)
    return str(drawing.tostring())


class _Writer:
    def __init__(self, prefix: str, turns: dict[int, int] | None, lettering: Lettering) -> None:
        self._prefix = prefix
        self._turns = turns
        self._used: dict[str, int] = {}
        self.letters = Letters(lettering, self.id)

    def id(self, name: str) -> str:
        """A valid id from any name, unlike all given before."""
        safe = self._prefix + re.sub(r"[^A-Za-z0-9.-]", lambda match: f"_{ord(match[0]):x}_", name)
        count = self._used.get(safe, 0)
        self._used[safe] = count + 1
        return self.id(f"{name}~{count + 1}") if count else safe

    def elements(self, drawing: Any, shape: Shape) -> list[Any]:
        """The elements that show a shape, from the back to the front."""
        match shape:
            case shapes.Strokes():
                data = " ".join(_chain(chain) for chain in shape.chains)
                return [drawing.path(data, fill="none", **_stroke(shape.colour, shape.width))]
            case shapes.Polygon():
                ink = _stroke(shape.colour, shape.width)
                return [drawing.path(f"{_chain(shape.points)}Z", fill=shape.fill or "none", **ink)]
            case shapes.Circle():
                centre = (number(shape.centre[0]), number(shape.centre[1]))
                ink = _stroke(shape.colour, shape.width)
                return [drawing.circle(centre, number(shape.radius), fill=shape.fill or "none", **ink)]
            case shapes.Arc():
                return [drawing.path(_arc(shape), fill="none", **_stroke(shape.colour, shape.width))]
            case shapes.Text():
                return self.letters.elements(drawing, shape)
            case Group():
                name = f"{shape.role}-{shape.name}" if shape.name else shape.role
                group = drawing.g(id=self.id(name))
                group["class"] = shape.role
                if shape.title:
                    group.set_desc(plain(shape.title), plain(shape.desc) or None)
                for item in shape.items:
                    for element in self.elements(drawing, item):
                        group.add(element)
                return [group]
            case shapes.Moving():
                if self._turns is None:
                    return []  # only a moving picture has it
                turn = self._turns.get(shape.order or 0, 0)
                way = drawing.path(_chain(shape.points), fill="none", **_stroke(shape.colour, shape.size))
                way["class"] = animation.classes(turn, self._prefix)
                return [way]
            case _:
                assert_never(shape)


def _faces(sheet: Sheet) -> str:
    texts = [item for item in leaves(sheet.shapes) if isinstance(item, shapes.Text)]
    faces = []
    for bold in (False, True):
        used = [text.text for text in texts if text.bold is bold]
        if used:
            faces.append(font_face(used, bold))
    return "".join(faces)


def _stroke(colour: str, width: float) -> dict[str, str]:
    return {"stroke": colour, "stroke_width": number(width)} if width else {}


def _chain(points: tuple[shapes.Point, ...]) -> str:
    return "M" + "L".join(f"{number(x)} {number(y)}" for x, y in points)


def _arc(arc: shapes.Arc) -> str:
    sweep = arc.end - arc.start
    if abs(sweep) >= 360:
        half = arc.start + 180
        first = shapes.Arc(arc.centre, arc.radius, arc.start, half, arc.width)
        second = shapes.Arc(arc.centre, arc.radius, half, arc.start + 360, arc.width)
        return _arc(first) + _arc(second)
    a, b = (math.radians(angle) for angle in (arc.start, arc.end))
    x, y = arc.centre
    start = f"{number(x + arc.radius * math.cos(a))} {number(y + arc.radius * math.sin(a))}"
    end = f"{number(x + arc.radius * math.cos(b))} {number(y + arc.radius * math.sin(b))}"
    radius = number(arc.radius)
    return f"M{start}A{radius} {radius} 0 {int(abs(sweep) > 180)} {int(sweep > 0)} {end}"
