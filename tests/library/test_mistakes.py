"""Every mistake in a kind file is a message at its place; none is an exception."""

from __future__ import annotations

from pathlib import Path

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from pneudraw.diagnostics import Severity, render_text
from pneudraw.library.locate import shipped
from pneudraw.library.reader import load, read_kind

GOOD = """title = "Test valve"
summary = "Tries the reader."
text = "Nothing else."
standard = "our own"
place = "modulation"
size = [8, 8]
turns = ["r0", "mx"]
draw = ["rect 2,2 4x4", "line 0,4 2,4", "line 6,4 8,4"]
beside = ["crack {crack}"]

[ports]
1 = { role = "supply", at = [0, 4], faces = "left", title = "in" }
2 = { role = "delivery", at = [8, 4], faces = "right", title = "out" }
3 = { role = "exhaust", at = [4, 8], faces = "down", title = "exhaust", joined = ["line 4,6 4,8"] }
4 = { role = "control", at = [4, 0], faces = "up", title = "signal", sensing = true }

[parameters.crack]
default = "4 psi"
least = "0.5 psi"
most = "20 psi"
text = "signal before anything happens"
source = "common practice, no source"

[parameters.kind]
default = 20
choices = [16, 20]
text = "size"
source = "common practice, no source"

[parameters.seat]
by = "kind"
table = { "16" = "6 L/(s.bar)", "20" = "9 L/(s.bar)" }
text = "conductance"
source = "common practice, no source"

[inputs.knob]
title = "knob"
positions = ["out", "in"]
rest = "out"
purpose = "park"

[inputs.pedal]
title = "pedal"
continuous = true
rest = "0 %"
purpose = "service-brake"

[curves.asked]
input = "pedal"
points = [["0 %", "0 bar"], ["100 %", "8 bar"]]

[memories.pushed]
start = 0
input = "knob"
to_zero = ["crack - p1"]

[[chambers]]
name = "inner"
title = "inside"
volume = "0.1 L"
swells = [{ low = "1 bar", high = "2 bar", by = "0.1 L" }]

[[passages]]
from = "1"
to = "inner"
conductance = "seat"
opens = ["p4 - p_inner - crack", { when = "asked - p_inner", band = "0.2 bar" }]
band = "0.12 bar"
combine = "any"

[[passages]]
from = "inner"
to = "2"
conductance = "seat"
opens = "pushed"

[[passages]]
from = "inner"
to = "3"
conductance = "seat * 2"
opens = "1 - pushed"

[[faults]]
name = "leaks"
title = "It leaks"
text = "A hiss."
passages = ["1-inner"]
low = 0.03

[brake]
service = { chamber = "inner", area = "20 in2", starts = "3 psi" }
"""


def messages(folder: Path, text: str) -> list[tuple[str, int, str, str]]:
    """(code, line, marked text, message) of every message."""
    path = folder / "test-valve.toml"
    path.write_text(text, encoding="utf-8")
    kind, found = read_kind(path, lambda _: None, lambda _: None)
    assert (kind is None) == any(d.severity is Severity.ERROR for d in found)
    for diagnostic in found:
        assert render_text(diagnostic)
        assert diagnostic.message
        assert not diagnostic.message.endswith(".")
        assert "\n" not in diagnostic.message
    return [(d.code, d.at.span.line, d.at.span.text, d.message) for d in found]


def line_of(text: str, part: str) -> int:
    return text[: text.index(part)].count("\n") + 1


def test_the_good_file_is_good(tmp_path: Path) -> None:
    assert messages(tmp_path, GOOD) == []


#: what is replaced, by what, the code, and the text that must be marked
CASES = [
    ('place = "modulation"', 'place = "modulaton"', "kind-value", "modulaton"),
    ('title = "Test valve"', 'title = ""', "kind-value", "title"),
    ('title = "Test valve"', "title = 7", "kind-value", "title"),
    ('summary = "Tries the reader."\n', "", "kind-key", None),
    ('standard = "our own"', 'standart = "our own"', "kind-key", "standart"),
    ("size = [8, 8]", "size = [8, 8.5]", "kind-value", "size"),
    ('turns = ["r0", "mx"]', 'turns = ["r0", "r45"]', "kind-value", "r45"),
    ('"rect 2,2 4x4"', '"rectangle 2,2 4x4"', "kind-drawing", "rectangle 2,2 4x4"),
    ('"rect 2,2 4x4"', '"rect 2,2 40x4"', "kind-drawing", "draw"),
    ('"crack {crack}"', '"crack {crak}"', "kind-name", "crak"),
    ('role = "supply"', 'role = "suply"', "kind-value", "suply"),
    ("at = [0, 4]", "at = [1, 4]", "kind-value", "at"),
    ('faces = "up"', 'faces = "north"', "kind-value", "north"),
    ('title = "signal", sensing = true', 'title = "signal"', "kind-name", "4"),
    ('joined = ["line 4,6 4,8"]', 'joined = ["line 4,6"]', "kind-drawing", "line 4,6"),
    ('default = "4 psi"', 'default = "4 pis"', "kind-value", "pis"),
    ('default = "4 psi"', 'default = "40 psi"', "kind-value", "default"),
    ('least = "0.5 psi"', 'least = "0.5 in3"', "kind-value", "0.5 in3"),
    ("default = 20", "default = 18", "kind-value", "default"),
    ('by = "kind"', 'by = "kinds"', "kind-name", "kinds"),
    ('"16" = "6 L/(s.bar)", ', "", "kind-value", "table"),
    ('rest = "out"', 'rest = "away"', "kind-value", "away"),
    ("continuous = true\n", "", "kind-key", "["),
    ('input = "pedal"', 'input = "pedl"', "kind-name", "pedl"),
    ('["100 %", "8 bar"]', '["100 %", "8 L"]', "kind-expression", "8 L"),
    ('to_zero = ["crack - p1"]', 'to_zero = ["crack - p5"]', "kind-expression", "p5"),
    ('start = 0\ninput = "knob"', 'start = 0\ninput = "pedal"', "kind-name", "pedal"),
    ('volume = "0.1 L"', 'volume = "0.1 bar"', "kind-expression", "0.1 bar"),
    ('high = "2 bar"', 'hihg = "2 bar"', "kind-key", "hihg"),
    ('to = "inner"', 'to = "iner"', "kind-name", "iner"),
    ('"p4 - p_inner - crack"', '"p4 - p_inner - seat"', "kind-expression", "p4 - p_inner - seat"),
    ('"p4 - p_inner - crack"', '"p4 - p_iner - crack"', "kind-expression", "p_iner"),
    ('"p4 - p_inner - crack"', '"p4 * p_inner"', "kind-expression", "p4 * p_inner"),
    ('band = "0.12 bar"\n', "", "kind-key", "p4 - p_inner - crack"),
    ('combine = "any"', 'combine = "one"', "kind-value", "one"),
    ('conductance = "seat * 2"', 'conductance = "p4 * 2"', "kind-expression", "p4 * 2"),
    ('from = "inner"\nto = "3"\nconductance = "seat * 2"', 'from = "inner"\nto = "3"', "kind-key", "["),
    ('passages = ["1-inner"]', 'passages = ["1-iner"]', "kind-name", "1-iner"),
    ("low = 0.03", "low = 3", "kind-value", "low"),
    ("low = 0.03", "", "kind-key", "["),
    ('passages = ["1-inner"]\nlow = 0.03', 'leak = ["inner", "outside"]', "kind-name", "outside"),
    ('passages = ["1-inner"]\nlow = 0.03', 'sets = { crak = "9 psi" }', "kind-name", "crak"),
    ('passages = ["1-inner"]\nlow = 0.03', 'sets = { crack = "9 mm" }', "kind-value", "9 mm"),
    ('name = "leaks"', 'name = "It leaks"', "kind-name", "name"),
    ('service = { chamber = "inner"', 'service = { chamber = "outer"', "kind-name", "outer"),
    ('area = "20 in2"', 'area = "20 in"', "kind-expression", "20 in"),
    ('[[chambers]]\nname = "inner"', '[[chambers]]\nname = "4"', "kind-name", None),
    ("size = [8, 8]", "size = [8, 8", "kind-syntax", None),
    ('title = "Test valve"', 'title = "Test valve', "kind-syntax", None),
    ("start = 0", "start = 2", "kind-value", "start"),
]


@pytest.mark.parametrize(("old", "new", "code", "marked"), CASES, ids=[f"{c[2]}:{c[1][:30]}" for c in CASES])
def test_each_kind_of_mistake(tmp_path: Path, old: str, new: str, code: str, marked: str | None) -> None:
    assert GOOD.count(old) >= 1
    text = GOOD.replace(old, new, 1)
    found = messages(tmp_path, text)
    assert found, "no message"
    assert code in [message[0] for message in found], found
    if marked is not None:
        hit = [message for message in found if message[0] == code and message[2] == marked]
        assert hit, found
        if new and marked in new:
            first = line_of(text, new)
            assert first <= hit[0][1] <= first + new.count("\n"), found


def test_all_mistakes_come_at_once(tmp_path: Path) -> None:
    text = GOOD
    for old, new in (
        ("crack - p1", "crack - p9"),
        ('role = "supply"', 'role = "x"'),
        ("low = 0.03", "low = 7"),
    ):
        text = text.replace(old, new)
    assert len(messages(tmp_path, text)) == 3


def test_one_wrong_default_is_one_message(tmp_path: Path) -> None:
    """What depends on it is not reported as well."""
    found = messages(tmp_path, GOOD.replace('default = "4 psi"', 'default = "4 pis"'))
    assert len(found) == 1


def test_a_missing_name_is_suggested(tmp_path: Path) -> None:
    path = tmp_path / "test-valve.toml"
    path.write_text(GOOD.replace("p4 - p_inner - crack", "p4 - p_inner - crak"), encoding="utf-8")
    _, found = read_kind(path, lambda _: None, lambda _: None)
    assert "did you mean `crack`?" in found[0].help


# --- files ------------------------------------------------------------------------------------------


def test_the_users_kind_takes_the_place_of_a_shipped_one(tmp_path: Path) -> None:
    (tmp_path / "relay-valve.toml").write_text(GOOD, encoding="utf-8")
    library, found = load([tmp_path])
    assert not found
    kind = library.get("relay-valve")
    assert kind is not None
    assert kind.title == "Test valve"
    assert library.get("check-valve") is not None


def test_the_users_elements_can_be_drawn_with(tmp_path: Path) -> None:
    (tmp_path / "_elements.toml").write_text('[elements]\nstar = ["line -1,0 1,0"]\n', encoding="utf-8")
    (tmp_path / "star.toml").write_text(
        GOOD.replace('"rect 2,2 4x4"', '"element star 4,4"'), encoding="utf-8"
    )
    library, found = load([tmp_path])
    assert not found
    assert library.get("star") is not None


def test_a_mistake_in_the_users_elements_is_reported(tmp_path: Path) -> None:
    (tmp_path / "_elements.toml").write_text('[elements]\nstar = ["lin -1,0 1,0"]\n', encoding="utf-8")
    (tmp_path / "star.toml").write_text(
        GOOD.replace('"rect 2,2 4x4"', '"element star 4,4"'), encoding="utf-8"
    )
    _, found = load([tmp_path])
    assert [(d.code, Path(d.at.span.source.name).name, d.at.span.line) for d in found] == [
        ("kind-drawing", "_elements.toml", 2)
    ]


def test_a_faulty_file_is_no_kind_but_a_message(tmp_path: Path) -> None:
    (tmp_path / "bad.toml").write_text("title = ", encoding="utf-8")
    library, found = load([tmp_path])
    assert library.get("bad") is None
    assert "bad" not in library.kinds
    assert [d.code for d in found] == ["kind-syntax"]


def test_a_folder_that_is_not_there_is_a_message(tmp_path: Path) -> None:
    _, found = load([tmp_path / "nowhere"])
    assert [d.code for d in found] == ["kind-file"]


def test_nothing_outside_the_folder_is_read(tmp_path: Path) -> None:
    outside = tmp_path / "outside.toml"
    outside.write_text(GOOD, encoding="utf-8")
    folder = tmp_path / "symbols"
    folder.mkdir()
    (folder / "sneaky.toml").symlink_to(outside)
    (folder / "folder.toml").mkdir()
    library, found = load([folder])
    assert library.get("sneaky") is None
    assert not found


def test_a_file_that_is_too_large_is_not_read(tmp_path: Path) -> None:
    (tmp_path / "large.toml").write_text(GOOD + "#" * 300_000, encoding="utf-8")
    library, found = load([tmp_path])
    assert library.get("large") is None
    assert [d.code for d in found] == ["kind-file"]


def test_a_file_that_is_not_text_is_a_message(tmp_path: Path) -> None:
    (tmp_path / "noise.toml").write_bytes(b"title = \xff\xfe")
    _, found = load([tmp_path])
    assert [d.code for d in found] == ["kind-file"]


def test_symbols_drawn_with_each_other_end(tmp_path: Path) -> None:
    for name, other in (("one", "two"), ("two", "one")):
        text = GOOD.replace('"rect 2,2 4x4"', f'"symbol {other} 0,0"')
        (tmp_path / f"{name}.toml").write_text(text, encoding="utf-8")
    library, found = load([tmp_path])
    assert library.get("one") is None
    assert {d.code for d in found} == {"kind-drawing"}


def test_deep_nesting_is_a_message(tmp_path: Path) -> None:
    (tmp_path / "deep.toml").write_text("draw = " + "[" * 20_000, encoding="utf-8")
    library, found = load([tmp_path])
    assert library.get("deep") is None
    assert [d.code for d in found] == ["kind-syntax"]


SHIPPED = sorted(path for path in shipped().iterdir() if not path.name.startswith("_"))
JUNK = st.sampled_from(
    ['"', "[", "]", "{", "}", "=", "\n", "#", "0", "-1", "nan", "[[x]]", "1e999", "''", "\\", "p9", "é"]
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_a_damaged_file_gives_messages_never_an_exception(tmp_path: Path, data: st.DataObject) -> None:
    text = data.draw(st.sampled_from(SHIPPED)).read_text(encoding="utf-8")
    for _ in range(data.draw(st.integers(1, 4))):
        start = data.draw(st.integers(0, len(text)))
        length = data.draw(st.sampled_from([0, 1, 5, 40]))
        text = text[:start] + data.draw(JUNK) + text[start + length :]
    for code, line, _, _ in messages(tmp_path, text):
        assert code.startswith("kind-")
        assert 1 <= line <= text.count("\n") + 1


JSON = st.recursive(
    st.one_of(
        st.booleans(), st.integers(-5, 99), st.floats(allow_nan=False), st.text("abp1- .%", max_size=8)
    ),
    lambda inner: st.one_of(
        st.lists(inner, max_size=3),
        st.dictionaries(st.text("abp1", min_size=1, max_size=4), inner, max_size=3),
    ),
    max_leaves=8,
)


@settings(max_examples=150, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture])
@given(data=st.data())
def test_values_of_the_wrong_sort_give_messages(tmp_path: Path, data: st.DataObject) -> None:
    """Any key of the good file may hold anything TOML can hold."""
    lines = GOOD.split("\n")
    keyed = [i for i, line in enumerate(lines) if " = " in line]
    row = data.draw(st.sampled_from(keyed))
    lines[row] = lines[row].split(" = ", 1)[0] + " = " + toml(data.draw(JSON))
    messages(tmp_path, "\n".join(lines))


def toml(value: object) -> str:
    if isinstance(value, bool):
        return "true" if value else "false"
    if isinstance(value, list):
        return "[" + ", ".join(toml(item) for item in value) + "]"
    if isinstance(value, dict):
        return "{" + ", ".join(f'"{key}" = {toml(item)}' for key, item in value.items()) + "}"
    return f'"{value}"' if isinstance(value, str) else repr(value)
