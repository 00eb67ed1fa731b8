"""Circuits put inside others with ``use``, what repeats with ``assembly``; and what a hostile one may not do."""

from __future__ import annotations

import os
from pathlib import Path
from textwrap import dedent

import pytest

from pneudraw import api
from pneudraw.circuit import expand
from pneudraw.circuit.model import Circuit
from pneudraw.diagnostics import render_text
from tests.circuit.marks import built, check, topology

TRAILER = """
    circuit "Semitrailer"
    parts
      tank   reservoir
      relay  relay-valve
      lr     service-chamber
    lines
      tank -> relay -> lr
      signal: tank.a -> relay.4
    layout
      order: tank relay lr
    """


def write(path: Path, text: str) -> None:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_text(dedent(text), "utf-8")


def read(path: Path) -> Circuit:
    reading = api.read(path)
    assert reading.circuit is not None, "\n\n".join(render_text(d) for d in reading.diagnostics)
    return reading.circuit


# --- use --------------------------------------------------------------------------------------------


def test_a_used_circuit_comes_in_under_its_tag(tmp_path: Path) -> None:
    write(tmp_path / "semi.pneu", TRAILER)
    write(
        tmp_path / "truck.pneu",
        """
        circuit "Tractor and trailer"
        use "semi.pneu" as tl
        parts
          air  air-source
        lines
          air -> tl.tank.1
        layout
          order: air tl
        """,
    )
    circuit = read(tmp_path / "truck.pneu")
    assert circuit.title == "Tractor and trailer"
    assert [part.tag for part in circuit.parts] == ["tl.tank", "tl.relay", "tl.lr", "air"]
    assert frozenset({"air.2", "tl.tank.1"}) in topology(circuit)
    assert "tl.signal" in [line.tag for line in circuit.lines]
    assert [hint.parts for hint in circuit.hints] == [
        ("tl.tank", "tl.relay", "tl.lr"),
        ("air", "tl.tank", "tl.relay", "tl.lr"),
    ]
    assert Path(circuit.parts[0].span.source.name).name == "semi.pneu"


def test_the_same_file_can_be_used_under_two_tags(tmp_path: Path) -> None:
    write(tmp_path / "semi.pneu", TRAILER)
    write(tmp_path / "train.pneu", 'circuit "A"\nuse "semi.pneu" as one\nuse "semi.pneu" as two\n')
    circuit = read(tmp_path / "train.pneu")
    assert [part.tag for part in circuit.parts if part.kind.name == "reservoir"] == ["one.tank", "two.tank"]
    assert len({line.tag for line in circuit.lines}) == len(circuit.lines)


def test_a_used_file_finds_its_own_files_beside_itself(tmp_path: Path) -> None:
    write(tmp_path / "trailers/axles/end.pneu", 'circuit "End"\nparts\n  ch service-chamber\n')
    write(tmp_path / "trailers/semi.pneu", 'circuit "Semi"\nuse "axles/end.pneu" as left\n')
    write(tmp_path / "truck.pneu", 'circuit "A"\nuse "trailers/semi.pneu" as tl\n')
    assert [part.tag for part in read(tmp_path / "truck.pneu").parts] == ["tl.left.ch"]


def test_a_used_file_may_reach_up_within_the_folder_of_the_circuit(tmp_path: Path) -> None:
    write(tmp_path / "end.pneu", 'circuit "End"\nparts\n  ch service-chamber\n')
    write(tmp_path / "trailers/semi.pneu", 'circuit "Semi"\nuse "../end.pneu" as left\n')
    write(tmp_path / "truck.pneu", 'circuit "A"\nuse "trailers/semi.pneu" as tl\n')
    assert [part.tag for part in read(tmp_path / "truck.pneu").parts] == ["tl.left.ch"]


def test_files_outside_the_folder_of_the_circuit_cannot_be_used(tmp_path: Path) -> None:
    secret = tmp_path / "secret.pneu"
    write(secret, TRAILER)
    inner = tmp_path / "inner"
    inner.mkdir()
    (inner / "link.pneu").symlink_to(secret)
    (inner / "up").symlink_to(tmp_path)
    check(
        f"""
        circuit "A"
        use "../secret.pneu" as a
        #   ^^^^^^^^^^^^^^^^ cannot-use: lies outside the folder of the circuit
        use "x/../../secret.pneu" as b
        #   ^^^^^^^^^^^^^^^^^^^^^ cannot-use: only files beside or below it can be used
        use "{secret}" as c
        #   {"^" * (len(str(secret)) + 2)} cannot-use: outside
        use "link.pneu" as d
        #   ^^^^^^^^^^^ cannot-use: outside
        use "up/secret.pneu" as e
        #   ^^^^^^^^^^^^^^^^ cannot-use: outside
        use "" as f
        #   ^^ cannot-use
        parts
          t reservoir
        lines
          t.2 -> a.tank.1, b.tank, f.x
        """,
        inner,
    )


def test_a_file_that_cannot_be_read_is_reported_at_its_name(tmp_path: Path) -> None:
    (tmp_path / "folder.pneu").mkdir()
    (tmp_path / "semi.pneu").write_text(dedent(TRAILER), "utf-8")
    (tmp_path / "photo.pneu").write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    (tmp_path / "huge.pneu").write_bytes(b"# \n" * 400_000)
    (tmp_path / "circle.pneu").symlink_to("circle.pneu")
    os.mkfifo(tmp_path / "pipe.pneu")
    check(
        """
        circuit "A"
        use "semmi.pneu" as a
        #   ^^^^^^^^^^^^ cannot-use: no such file / did you mean `semi.pneu`?
        use "folder.pneu" as b
        #   ^^^^^^^^^^^^^ cannot-use: not a regular file
        use "photo.pneu" as c
        #   ^^^^^^^^^^^^ cannot-use: not UTF-8 text (byte 0)
        use "huge.pneu" as d
        #   ^^^^^^^^^^^ cannot-use: larger than 1000 kB
        use "circle.pneu" as e
        #   ^^^^^^^^^^^^^ cannot-use: cannot read `circle.pneu`
        use "pipe.pneu" as f
        #   ^^^^^^^^^^^ cannot-use: not a regular file
        lines
          a.tank.2 -> b.x, c.x
        """,
        tmp_path,
    )


def test_a_text_that_is_no_file_can_use_none() -> None:
    check("""
        circuit "A"
        use "semi.pneu" as tl
        #   ^^^^^^^^^^^ cannot-use: a netlist that is not a file cannot use other files
        """)


@pytest.mark.parametrize("names", [("a",), ("a", "b"), ("a", "b", "c")])
def test_a_circuit_used_inside_itself_is_reported_once(tmp_path: Path, names: tuple[str, ...]) -> None:
    for name, following in zip(names, (*names[1:], names[0]), strict=True):
        write(
            tmp_path / f"{name}.pneu",
            f'circuit "{name}"\nuse "{following}.pneu" as x\nparts\n  t reservoir\n',
        )
    found = api.read(tmp_path / "a.pneu").diagnostics
    assert [(d.code, d.message) for d in found] == [("cannot-use", "`a.pneu` is used inside itself")]
    assert Path(found[0].at.span.source.name).name == f"{names[-1]}.pneu"


def test_files_nested_too_deep_are_refused(tmp_path: Path) -> None:
    for n in range(20):
        write(tmp_path / f"f{n}.pneu", f'circuit "{n}"\nuse "f{n + 1}.pneu" as x\nparts\n  t reservoir\n')
    found = api.read(tmp_path / "f0.pneu").diagnostics
    assert [d.code for d in found] == ["cannot-use"]
    assert "nested more than" in found[0].message


def test_a_mistake_in_a_used_file_is_told_once_and_in_that_file(tmp_path: Path) -> None:
    write(
        tmp_path / "semi.pneu",
        'circuit "Semi"\nparts\n  t resrvoir\n  u reservoir volume=3\nlines\n  t -> u -> v\n',
    )
    write(tmp_path / "truck.pneu", 'use "semi.pneu" as a\nuse "semi.pneu" as b\nlines\n  a.t.2 -> b.t.2\n')
    found = api.read(tmp_path / "truck.pneu").diagnostics
    assert [(d.code, Path(d.at.span.source.name).name, d.at.span.line, d.at.span.column) for d in found] == [
        ("unknown-kind", "semi.pneu", 3, 5),
        ("bad-value", "semi.pneu", 4, 22),
        ("unknown-part", "semi.pneu", 6, 13),
    ]


def test_names_in_a_used_circuit_are_looked_up_inside_it(tmp_path: Path) -> None:
    write(tmp_path / "semi.pneu", TRAILER)
    check(
        """
        circuit "A"
        use "semi.pneu" as tl
        parts
          air  air-source
        lines
          air -> tl
        #        ^^ unknown-part: say which part inside it: tl.tank, tl.relay, tl.lr
          air -> tl.tnk.1
        #        ^^^^^^ unknown-part: did you mean `tl.tank`?
          air -> tl.valve
        #        ^^^^^^^^ unknown-part: there is no part `valve` in `tl`
          air -> tl.relay.7
        #                 ^ unknown-port: relay valve `tl.relay` has no port `7`
          air -> tank
        #        ^^^^ unknown-part: did you mean `tl.tank`?
        states
          a from ready: tl 30%
        #               ^^ unknown-part: `tl` is several parts
        layout
          order: air tll
        #            ^^^ unknown-part
        """,
        tmp_path,
    )


# --- assembly ---------------------------------------------------------------------------------------


def test_an_assembly_is_unfolded_for_every_tag_with_its_parameters() -> None:
    circuit = built("""
        circuit "Rear axle"
        assembly wheel-end  type=24  hose=1m
          parts
            ch  service-chamber  type=type
            qr  quick-release
          lines
            feed: qr.21 -> ch  length=hose
        parts
          relay        relay-valve
          left, right  wheel-end  type=30
          tag          wheel-end  hose=2m
        lines
          relay.2 -> left.qr.1, right.qr.1, tag.qr.1
        """)
    assert [part.tag for part in circuit.parts] == [
        "relay", "left.ch", "left.qr", "right.ch", "right.qr", "tag.ch", "tag.qr",
    ]  # fmt: skip
    assert {part.tag: part.values["type"].value for part in circuit.parts if "ch" in part.tag} == {
        "left.ch": 30, "right.ch": 30, "tag.ch": 24,
    }  # fmt: skip
    assert {line.tag: str(line.length) for line in circuit.lines if line.length} == {
        "left.feed": "1m", "right.feed": "1m", "tag.feed": "2m",
    }  # fmt: skip


def test_assemblies_may_hold_others_whatever_the_order() -> None:
    circuit = built("""
        circuit "A"
        parts
          rear  axle
        assembly axle
          parts
            left, right  wheel-end
        assembly wheel-end
          parts
            ch  service-chamber
        """)
    assert [part.tag for part in circuit.parts] == ["rear.left.ch", "rear.right.ch"]


def test_a_mistake_in_an_assembly_is_told_once_however_often_it_is_used() -> None:
    check("""
        circuit "A"
        assembly wheel-end  type=24
          parts
            ch  service-chamber  tpye=type
        #                        ^^^^ unknown-parameter: did you mean `type`?
            qr  quick-relaese
        #       ^^^^^^^^^^^^^ unknown-kind: did you mean `quick-release`?
          lines
            ch.2 -> qr.1
        #      ^ unknown-port: service brake chamber `ch` has no port `2`
            ch.1 -> zz
        #           ^^ unknown-part
            ch -> ch
        #         ^^ joined-to-itself: `ch.1`
        parts
          a, b, c, d  wheel-end
        """)


def test_assemblies_are_known_by_name_and_parameter() -> None:
    check("""
        circuit "A"
        assembly wheel-end  type=24
          parts
            ch  service-chamber  type=type
        assembly wheel-end
        #        ^^^^^^^^^ name-taken: defined twice
          parts
            ch  service-chamber
        assembly reservoir
        #        ^^^^^^^^^ name-taken: `reservoir` is a kind of part already
          parts
            ch  service-chamber
        parts
          a  whel-end
        #    ^^^^^^^^ unknown-kind: did you mean `wheel-end`?
          b  wheel-end  tpe=20
        #               ^^^ unknown-parameter: did you mean `type`?
          c  wheel-end  type=21
        #                    ^^ bad-value: it can be
          d  wheel-end
          d  wheel-end
        # ^ duplicate-tag
          c  governor
        # ^ duplicate-tag
        lines
          a.ch -> d.ch
        """)


def test_an_assembly_that_holds_itself_is_refused() -> None:
    check("""
        circuit "A"
        assembly ring
          parts
            again, twice  ring
        #                 ^^^^ too-deep: an assembly may hold others, but not itself
            ch            service-chamber
        parts
          a  ring
        """)


# --- bounds -----------------------------------------------------------------------------------------


def bomb(levels: int, width: int, leaf: str) -> str:
    """An assembly of assemblies: each level has ``width`` of the next, so that there are width**levels at the end."""
    tags = ", ".join(f"t{n}" for n in range(width))
    out = ['circuit "Bomb"']
    for level in range(levels):
        below = f"a{level + 1}" if level < levels - 1 else leaf
        out.append(f"assembly a{level}\n  parts\n    {tags}  {below}\n  lines\n    t0.x.1 -> t1.x.2")
    return "\n".join([*out, "parts\n  root  a0\n"])


@pytest.mark.parametrize("leaf", ["reservoir", "a0", "nothing"])
def test_an_assembly_bomb_is_stopped_with_few_words(leaf: str) -> None:
    found = api.read_text(bomb(6, 60, leaf)).diagnostics
    assert 1 <= len(found) <= 20
    assert "too-large" in [d.code for d in found]


def test_a_bomb_without_any_part_in_it_is_stopped_too() -> None:
    text = bomb(6, 60, "a6") + "assembly a6\n  lines\n    x.1 -> y.1\n"
    assert "too-large" in [d.code for d in api.read_text(text).diagnostics]


def test_a_bomb_of_lines_and_hints_is_stopped() -> None:
    lines = "\n".join("    ch.1 -> ch.1" for _ in range(2000))
    hints = "\n".join("    order: ch ch ch" for _ in range(2000))
    many = "\n".join(f"  t{n}  a" for n in range(900))
    inner = f"  parts\n    ch service-chamber\n  lines\n{lines}\n  layout\n{hints}\n"
    text = f"assembly a\n{inner}parts\n{many}\n"
    found = api.read_text(text).diagnostics
    assert {"too-large", "joined-to-itself", "too-many-errors"} == {d.code for d in found}
    assert len(found) <= 502


def test_a_bomb_of_files_is_stopped(tmp_path: Path) -> None:
    for n in range(6):
        uses = "\n".join(f'use "f{n + 1}.pneu" as t{k}' for k in range(50))
        write(tmp_path / f"f{n}.pneu", uses + "\n")
    write(tmp_path / "f6.pneu", "parts\n  t reservoir\n")
    found = api.read(tmp_path / "f0.pneu").diagnostics
    assert [d.code for d in found] == ["too-large"]


def test_the_bounds_are_said_in_the_message() -> None:
    tags = "\n".join(f"  t{n} reservoir" for n in range(expand.MOST_PARTS + 5))
    found = api.read_text(f'circuit "A"\nparts\n{tags}\nlines\n  t3003.2 -> t0.1\n').diagnostics
    assert [(d.code, d.at.span.text) for d in found] == [("too-large", f"t{expand.MOST_PARTS}")]
    assert str(expand.MOST_PARTS) in found[0].message


@pytest.mark.parametrize(
    "text",
    [
        "parts\n" + "".join(f"  tag{n:05} kind{n:05}\n" for n in range(19_000)),
        "parts\n" + "".join(f"  t{n} gauge\n" for n in range(3000)) + "lines\n" + "  tx -> ty\n" * 16_000,
        "parts\n  g gauge\nstates\n" + "".join(f"  s{n} from s{n + 1}\n" for n in range(18_000)),
        "parts\n  g gauge\nlayout\n" + "".join(f"  order: {'a' * 900} b{n}\n" for n in range(900)),
        "parts\n"
        + "".join(f"  {'a' * 300}{n} gauge\n" for n in range(1000))
        + "lines\n"
        + f"  {'a' * 301} -> b\n" * 1000,
    ],
    ids=["kinds", "parts", "states", "hints", "long names"],
)
def test_a_megabyte_of_nothing_but_mistakes_is_answered(text: str) -> None:
    found = api.read_text(text).diagnostics
    assert 1 <= len(found) <= 1002
