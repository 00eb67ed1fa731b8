"""The SVG file: valid, accessible, self-contained, the same every time, and safe with whatever a name holds.

Its lettering has tests of its own, in test_letters.
"""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from lxml import etree

from pneudraw.circuit.model import Circuit
from pneudraw.drawing import SheetOptions, draw, to_svg
from pneudraw.drawing.shapes import Group, Sheet, Text
from pneudraw.drawing.tints import Badge
from pneudraw.layout import lay_out
from pneudraw.layout.from_circuit import problem
from tests.drawing.scene import circuit, laid_out, part, training_rig
from tests.drawing.tints_of_rig import APPLY

SVG = "{http://www.w3.org/2000/svg}"
HOSTILE = (
    '</text><script>alert("1")</script>',
    "\"'&<>",
    "]]></style><script/>",
    "a\x00b\x07c\ud800d",
    "\u202erelay\u2066",
    "javascript:alert(1)",
    "#set page(width: 1pt)",
    "&#x26;lt;!ENTITY x SYSTEM 'file:///etc/passwd'>",
)


def parsed(text: str) -> etree._Element:
    return etree.fromstring(text.encode("utf-8"), etree.XMLParser(resolve_entities=False, no_network=True))


def rig_svg() -> str:
    return to_svg(draw(training_rig(), laid_out(), SheetOptions(), APPLY))


def one_text(words: str) -> Sheet:
    shapes = (Group("part", words, (Text((5, 5), words, 2.5),), words, words),)
    return Sheet("x", words, words, 50, 20, 2.5, "bare", shapes)


def test_it_is_well_formed_and_has_its_size_in_millimetres() -> None:
    root = parsed(rig_svg())
    assert root.tag == f"{SVG}svg"
    width, height = root.get("width", ""), root.get("height", "")
    assert width.endswith("mm")
    assert height.endswith("mm")
    assert root.get("viewBox") == f"0 0 {width[:-2]} {height[:-2]}"


def test_it_says_what_it_shows_to_those_who_cannot_see_it() -> None:
    """WAI-ARIA Graphics Module: role, and a title and a description that the root points to."""
    root = parsed(rig_svg())
    assert root.get("role") == "graphics-document document"
    named = root.get("aria-labelledby", "").split()
    found = {element.get("id"): element for element in (root[0], root[1])}
    assert list(found) == named
    assert [etree.QName(element).localname for element in (root[0], root[1])] == ["title", "desc"]
    assert found[named[0]].text == "Training rig with relay valve"


def test_every_part_and_line_is_a_group_with_a_title() -> None:
    root = parsed(rig_svg())
    by_id = {element.get("id"): element for element in root.iter(f"{SVG}g")}
    for item in training_rig().parts:
        assert by_id[f"part-{item.tag}"][0].text == f"{item.tag}: {item.name}"
    for line in training_rig().lines:
        group = by_id[f"line-{line.tag}"]
        assert group[0].tag == f"{SVG}title"
        assert line.ends[0].name in (group[0].text or "")


def test_ids_are_unique() -> None:
    ids = [element.get("id") for element in parsed(rig_svg()).iter() if element.get("id")]
    assert len(ids) == len(set(ids))


def test_several_pictures_on_a_page_keep_their_ids_apart() -> None:
    sheet = draw(training_rig(), laid_out())
    ids = [
        e.get("id") for prefix in ("a-", "b-") for e in parsed(to_svg(sheet, prefix)).iter() if e.get("id")
    ]
    assert len(ids) == len(set(ids))


def test_it_needs_nothing_from_outside() -> None:
    text = rig_svg()
    assert "url(" not in text
    root = parsed(text)
    ids = {element.get("id") for element in root.iter()}
    targets = [
        value for element in root.iter() for name, value in element.attrib.items() if "href" in str(name)
    ]
    assert targets
    assert all(str(target)[0] == "#" and str(target)[1:] in ids for target in targets)


def test_it_has_no_script_and_no_date() -> None:
    root = parsed(rig_svg())
    kinds = {etree.QName(element).localname for element in root.iter()}
    assert kinds <= {"svg", "title", "desc", "defs", "g", "path", "circle", "rect", "text", "use"}
    assert not [name for element in root.iter() for name in element.attrib if str(name).startswith("on")]
    shown = " ".join("".join(element.itertext()) for element in root.iter(f"{SVG}text"))
    assert not re.search(r"\b20\d\d\b", shown)


def test_numbers_have_two_decimals_at_most() -> None:
    text = re.sub(r"scale\(0\.\d{7}\)", "", rig_svg())  # from font units to mm
    assert not re.search(r"\d\.\d{3,}", text)
    assert not re.search(
        r"\de-?\d|nan|inf\b", re.sub(r"<(title|desc|text)[^<]*<", "<", text).split("<path", 1)[1]
    )


@pytest.mark.parametrize("words", HOSTILE)
def test_hostile_names_are_only_text(words: str) -> None:
    root = parsed(to_svg(one_text(words)))
    kinds = {etree.QName(element).localname for element in root.iter()}
    assert kinds <= {"svg", "title", "desc", "defs", "g", "path", "rect", "text", "use"}
    (shown,) = ["".join(element.itertext()) for element in root.iter(f"{SVG}text")]
    assert not set(shown) & set("\x00\x07\u202e\u2066")
    for piece in ("script", "alert", "javascript"):
        assert (piece in shown) == (piece in words)


@settings(max_examples=60, deadline=None)
@given(words=st.text(max_size=80))
def test_any_name_gives_a_valid_file_with_a_valid_id(words: str) -> None:
    root = parsed(to_svg(one_text(words)))
    for element in root.iter():
        name = element.get("id")
        assert name is None or re.fullmatch(r"[A-Za-z][A-Za-z0-9_.~-]*", name)


@pytest.mark.parametrize("words", HOSTILE)
def test_a_circuit_with_hostile_names_is_drawn_and_exported(words: str) -> None:
    from pneudraw.drawing import to_pdf

    parts = [part("s", "reservoir", words), part("g", "gauge", words)]
    made = circuit(words, parts, ["x: s.a g.1"])
    sheet = draw(made, lay_out(problem(made)), SheetOptions(owner=words, notes=(words,)))
    parsed(to_svg(sheet))
    assert to_pdf(sheet).startswith(b"%PDF")


def test_a_very_long_name_stays_in_its_field() -> None:
    long = dataclasses.replace(training_rig(), title="Brake " * 2000)
    sheet = draw(long, laid_out(), SheetOptions(owner="Owner " * 500, notes=("word" * 200,)))
    assert len(to_svg(sheet)) < 500_000


def test_the_same_circuit_gives_the_same_bytes_in_another_process() -> None:
    code = (
        "import sys; sys.path.insert(0, '.');"
        "from tests.drawing.test_svg import rig_svg; import hashlib;"
        "print(hashlib.sha256(rig_svg().encode()).hexdigest())"
    )
    hashes = {
        subprocess.run(
            [sys.executable, "-c", code],
            capture_output=True,
            text=True,
            check=True,
            env={"PYTHONHASHSEED": seed},
        ).stdout
        for seed in ("1", "2")
    }
    assert len(hashes) == 1


def test_badges_are_escaped_too() -> None:
    tints = dataclasses.replace(APPLY, badges=(Badge("lr", "<b>8 bar</b> & more"),))
    root = parsed(to_svg(draw(training_rig(), laid_out(), SheetOptions(), tints)))
    assert "<b>8 bar</b> & more" in ["".join(e.itertext()) for e in root.iter(f"{SVG}text")]


def test_a_circuit_without_lines_is_still_a_drawing() -> None:
    made: Circuit = circuit("Alone", [part("r", "reservoir")], [])
    assert "part-r" in to_svg(draw(made, lay_out(problem(made))))
