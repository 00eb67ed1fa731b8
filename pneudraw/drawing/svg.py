"""The sheet as SVG: the only file that imports svgwrite.

Valid, self-contained and the same bytes every time: real text with the font embedded, coordinates in mm with
two decimals, ids from our names, no date, no scripts. Whatever stands in a netlist is text here and nothing
else.
"""

from __future__ import annotations

import math
import re
from typing import Any, assert_never

import svgwrite

from pneudraw.drawing import animation, shapes
from pneudraw.drawing.shapes import BLACK, Group, Shape, Sheet, leaves
from pneudraw.lettering import CAP_HEIGHT, STACK, font_face, plain


def to_svg(
    sheet: Sheet,
    prefix: str = "",
    font: bool = True,
    size: tuple[str, str] | None = None,
    animate: bool = False,
) -> str:
    """Return the sheet as an SVG document.

    ``prefix`` goes before every id, for several pictures on one page; without ``font`` the page (or the
    program that shows the picture) has to bring the font itself. ``size`` stretches the sheet to another width and
    height, in any units of SVG. ``animate``: air moves along the lines that carry it, in the order of arrival; without
    scripts, and not for readers who asked for less motion, nor in print.
    """
    turns = animation.orders(sheet)
    writer = _Writer(prefix, turns if animate else None)
    own_size = (f"{_number(sheet.width)}mm", f"{_number(sheet.height)}mm")
    drawing = svgwrite.Drawing(size=size or own_size, profile="full", debug=False)
    if size is not None:
        drawing["preserveAspectRatio"] = "none"
    drawing["viewBox"] = f"0 0 {_number(sheet.width)} {_number(sheet.height)}"
    drawing["role"] = "img"
    title, desc = writer.id("title"), writer.id("desc")
    drawing["aria-labelledby"] = f"{title} {desc}"
    drawing["font-family"] = STACK
    drawing["stroke-linejoin"] = "miter"
    drawing.set_desc(plain(sheet.title), plain(sheet.desc))
    for element, name in zip(drawing.elements, (title, desc), strict=False):
        element.xml.set("id", name)
    if font:
        drawing.defs.add(drawing.style(_faces(sheet)))
    if animate:
        drawing.defs.add(drawing.style(animation.rules(sheet, turns, prefix)))
    paper = drawing.rect((0, 0), (_number(sheet.width), _number(sheet.height)), fill="#ffffff")
    drawing.add(paper)
    for shape in sheet.shapes:
        if writer.shows(shape):
            drawing.add(writer.element(drawing, shape))
    return str(drawing.tostring())


class _Writer:
    def __init__(self, prefix: str, turns: dict[int, int] | None) -> None:
        self._prefix = prefix
        self._turns = turns
        self._used: dict[str, int] = {}

    def id(self, name: str) -> str:
        """A valid id from any name, unlike all given before."""
        safe = self._prefix + re.sub(r"[^A-Za-z0-9.-]", lambda match: f"_{ord(match[0]):x}_", name)
        count = self._used.get(safe, 0)
        self._used[safe] = count + 1
        return self.id(f"{name}~{count + 1}") if count else safe

    def shows(self, shape: Shape) -> bool:
        """False for what only a moving picture has, in a still one."""
        return self._turns is not None or not isinstance(shape, shapes.Moving)

    def element(self, drawing: Any, shape: Shape) -> Any:
        match shape:
            case shapes.Strokes():
                data = " ".join(_chain(chain) for chain in shape.chains)
                return drawing.path(data, fill="none", **_stroke(shape.colour, shape.width))
            case shapes.Polygon():
                ink = _stroke(shape.colour, shape.width)
                return drawing.path(f"{_chain(shape.points)}Z", fill=shape.fill or "none", **ink)
            case shapes.Circle():
                x, y = shape.centre
                ink = _stroke(shape.colour, shape.width)
                return drawing.circle(
                    (_number(x), _number(y)), _number(shape.radius), fill=shape.fill or "none", **ink
                )
            case shapes.Arc():
                return drawing.path(_arc(shape), fill="none", **_stroke(shape.colour, shape.width))
            case shapes.Text():
                return _text(drawing, shape)
            case Group():
                name = f"{shape.role}-{shape.name}" if shape.name else shape.role
                group = drawing.g(id=self.id(name))
                group["class"] = shape.role
                if shape.title:
                    group.set_desc(plain(shape.title), plain(shape.desc) or None)
                for item in shape.items:
                    if self.shows(item):
                        group.add(self.element(drawing, item))
                return group
            case shapes.Moving():
                turn = (self._turns or {}).get(shape.order or 0, 0)
                way = drawing.path(_chain(shape.points), fill="none", **_stroke(shape.colour, shape.size))
                way["class"] = animation.classes(turn, self._prefix)
                return way
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


def _text(drawing: Any, text: shapes.Text) -> Any:
    x, y = (_number(value) for value in text.at)
    element = drawing.text(plain(text.text), insert=(x, y))
    element["font-size"] = _number(text.height / CAP_HEIGHT)
    if text.anchor != "start":
        element["text-anchor"] = text.anchor
    if text.bold:
        element["font-weight"] = "bold"
    if text.colour != BLACK:
        element["fill"] = text.colour
    if text.upward:
        element["transform"] = f"rotate(-90 {x} {y})"
    return element


def _stroke(colour: str, width: float) -> dict[str, str]:
    return {"stroke": colour, "stroke_width": _number(width)} if width else {}


def _chain(points: tuple[shapes.Point, ...]) -> str:
    return "M" + "L".join(f"{_number(x)} {_number(y)}" for x, y in points)


def _arc(arc: shapes.Arc) -> str:
    sweep = arc.end - arc.start
    if abs(sweep) >= 360:
        half = arc.start + 180
        first = shapes.Arc(arc.centre, arc.radius, arc.start, half, arc.width)
        second = shapes.Arc(arc.centre, arc.radius, half, arc.start + 360, arc.width)
        return _arc(first) + _arc(second)
    a, b = (math.radians(angle) for angle in (arc.start, arc.end))
    x, y = arc.centre
    start = f"{_number(x + arc.radius * math.cos(a))} {_number(y + arc.radius * math.sin(a))}"
    end = f"{_number(x + arc.radius * math.cos(b))} {_number(y + arc.radius * math.sin(b))}"
    radius = _number(arc.radius)
    return f"M{start}A{radius} {radius} 0 {int(abs(sweep) > 180)} {int(sweep > 0)} {end}"


def _number(value: float) -> str:
    """At most two decimals, no trailing zeros, no negative zero."""
    text = f"{value:.2f}".rstrip("0").rstrip(".")
    return "0" if text in ("-0", "") else text
