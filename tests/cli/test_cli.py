"""The commands as they are typed: where results and messages go, exit status 0, 1 or 2, never a stack trace."""

from __future__ import annotations

import json
import os
import re
import shlex
from pathlib import Path

import pytest
from lxml import etree

from pneudraw.cli.main import COMMANDS
from tests.cli.commands import BROKEN, RIG, listing, pneudraw, refused

SVG = "{http://www.w3.org/2000/svg}svg"


@pytest.fixture
def rig(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> Path:
    """A folder of its own, which is the working folder, with the bench circuit in it."""
    monkeypatch.chdir(tmp_path)
    path = tmp_path / "bench.pneu"
    path.write_text(RIG, "utf-8")
    return path


# --- help -------------------------------------------------------------------------------------------


def test_the_list_of_commands_is_shown_for_help_and_without_a_command() -> None:
    shown = pneudraw("--help")
    assert shown.status == 0
    for name, line in COMMANDS.items():
        assert re.search(rf"^  {name} +{re.escape(line)}$", shown.out, re.MULTILINE)
    bare = pneudraw()
    assert "Commands:" in bare.out + bare.err


@pytest.mark.parametrize("name", COMMANDS)
def test_the_help_of_a_command_says_what_it_does_with_an_example(name: str) -> None:
    shown = pneudraw(name, "--help")
    assert shown.status == 0
    assert "Example:" in shown.out
    assert f"  pneudraw {name} " in shown.out
    assert all(len(line) <= 100 for line in shown.out.split("\n"))
    assert "--help" in shown.out


def examples() -> list[str]:
    """Every example line of every help text."""
    found = []
    for name in COMMANDS:
        found += re.findall(r"^ +(pneudraw .*\S)", pneudraw(name, "--help").out, re.MULTILINE)
    return found


def test_the_examples_of_the_help_texts_run_as_they_are_printed(rig: Path) -> None:
    for name in ("truck.pneu", "circuits/one.pneu", "circuits/two.pneu"):
        Path(name).parent.mkdir(exist_ok=True)
        Path(name).write_text(TRUCK, "utf-8")
    ran = 0
    for line in examples():
        words = []
        for word in shlex.split(line)[1:]:
            words += sorted(map(str, Path().glob(word))) if "*" in word else [word]
        done = pneudraw(*words)
        assert done.status in ((0, 1) if words[0] in ("check", "format") else (0,)), (line, done.err)
        ran += 1
    assert ran >= 2 * len(COMMANDS)


#: small, with all that the examples name
TRUCK = """\
circuit "Truck with one brake"
  pressure psi

parts
  comp   compressor
  gov    governor
  prim   reservoir
  foot   foot-valve-single
  relay  relay-valve
  park   park-valve
  lr     spring-brake

lines
  comp.2 -> prim
  prim.a -> gov.1
  gov.2 -> comp.4
  prim.2 -> foot.1
  foot.2 -> relay.4
  prim.b -> relay.1
  service1: relay.2 -> lr.11
  prim.c -> park -> lr.12
"""

PARKED = """\
circuit "Bench with a parking brake"
  pressure psi

parts
  air   air-source
  tank  reservoir
  foot  foot-valve-single
  park  park-valve
  lr    spring-brake

lines
  air -> tank -> foot
  foot -> lr.11
  tank.a -> park -> lr.12
"""


@pytest.mark.parametrize(
    ("typed", "meant"), [("darw", "draw"), ("Trace", "trace"), ("chekc", "check"), ("catalog", "catalogue")]
)
def test_a_misspelt_command_is_answered_with_the_right_one(typed: str, meant: str) -> None:
    refused(pneudraw(typed), f"no command `{typed}`; did you mean `{meant}`?")


def test_a_command_nobody_knows_is_answered_with_all_there_are() -> None:
    refused(pneudraw("xyzzy"), ", ".join(COMMANDS))


@pytest.mark.parametrize("name", COMMANDS)
def test_an_option_nobody_knows_is_refused(name: str, rig: Path) -> None:
    refused(pneudraw(name, rig, "--frobnicate"), "No such option")


def test_the_version_is_that_of_the_package() -> None:
    import pneudraw as package

    assert pneudraw("--version").out == f"pneudraw, version {package.__version__}\n"


# --- draw -------------------------------------------------------------------------------------------


def test_a_drawing_goes_to_standard_output_and_nothing_else_does(rig: Path) -> None:
    done = pneudraw("draw", rig)
    assert (done.status, done.err) == (0, "")
    assert etree.fromstring(done.raw).tag == SVG
    assert pneudraw("draw", rig, "-o", "-").raw == done.raw


def test_a_drawing_goes_to_the_named_file_in_the_format_of_its_suffix(rig: Path) -> None:
    for name, start in (
        ("a.svg", b"<"),
        ("a.pdf", b"%PDF-"),
        ("a.png", b"\x89PNG"),
        ("a.PNG", b"\x89PNG"),
        ("plain", b"<"),
    ):
        done = pneudraw("draw", rig, "-o", name)
        assert (done.status, done.out, done.err) == (0, "", ""), name
        assert Path(name).read_bytes().startswith(start), name


def test_the_format_asked_for_counts_more_than_the_suffix(rig: Path) -> None:
    assert pneudraw("draw", rig, "--format", "pdf", "-o", "a.out").status == 0
    assert Path("a.out").read_bytes().startswith(b"%PDF-")


def test_a_format_there_is_not_is_refused(rig: Path) -> None:
    refused(pneudraw("draw", rig, "-o", "a.jpg"), "no format `jpg`", "svg, pdf, png")
    refused(pneudraw("draw", rig, "--format", "gif"), "'gif' is not one of")
    assert listing(rig.parent) == ["bench.pneu"]


def test_several_drawings_go_to_a_folder(rig: Path) -> None:
    Path("other.pneu").write_text(PARKED)
    done = pneudraw("draw", rig, "other.pneu", "-o", "new/deep")
    assert (done.status, done.out) == (0, "")
    assert listing(Path("new")) == ["deep", "deep/bench.svg", "deep/other.svg"]
    assert "other.pneu -> new/deep/other.svg" in done.err
    refused(pneudraw("draw", rig, "other.pneu"), "need a folder")
    refused(pneudraw("draw", rig, "other.pneu", "-o", "bench.pneu"), "need a folder")
    refused(pneudraw("draw", rig, "other.pneu", "-o", "-"), "need a folder")


def test_one_drawing_goes_into_a_folder_that_is_there_or_ends_with_a_slash(rig: Path) -> None:
    Path("there").mkdir()
    assert pneudraw("draw", rig, "-o", "there").status == 0
    assert pneudraw("draw", rig, "-o", "fresh/").status == 0
    assert listing(Path("there")) == listing(Path("fresh")) == ["bench.svg"]


def test_two_drawings_are_not_written_over_each_other(rig: Path) -> None:
    Path("sub").mkdir()
    Path("sub/bench.pneu").write_text(PARKED)
    refused(pneudraw("draw", rig, "sub/bench.pneu", "-o", "out"), "would both be drawn into", "bench.svg")
    assert not Path("out").exists()


def test_a_drawing_is_not_written_over_its_circuit(rig: Path) -> None:
    Path("link.svg").symlink_to(rig)
    for target in ("bench.pneu", "./bench.pneu", "link.svg"):
        refused(pneudraw("draw", rig, "-o", target), "written over the circuit itself")
        refused(pneudraw("trace", rig, "ready", "-o", target), "written over the circuit itself")
    assert rig.read_text() == RIG


def test_a_circuit_may_come_from_standard_input(rig: Path) -> None:
    for command in (("draw", "-"), ("trace", "-"), ("trace", "-", "ready")):
        done = pneudraw(*command, input=RIG)
        assert (done.status, done.err) == (0, ""), command
        assert done.out
    assert pneudraw("draw", "-", "-o", "out/", input=RIG).status == 0
    assert listing(Path("out")) == ["circuit.svg"]
    broken = pneudraw("draw", "-", input=BROKEN)
    refused(broken, " --> standard input:8:9")
    refused(pneudraw("draw", "-", input=b"\xff\xfe\x00"), "standard input", "not UTF-8")
    refused(pneudraw("draw", "-", input=b"#\n" * 600_000), "standard input", "larger than")


# --- files that are none ----------------------------------------------------------------------------

READERS = (("draw",), ("trace",), ("check",), ("format",))


@pytest.mark.parametrize("command", READERS, ids=lambda command: command[0])
def test_what_cannot_be_read_is_said_in_one_line_without_a_stack_trace(
    command: tuple[str], rig: Path
) -> None:
    Path("folder.pneu").mkdir()
    Path("photo.pneu").write_bytes(b"\x89PNG\r\n\x1a\n\x00\xff")
    Path("huge.pneu").write_bytes(b"#\n" * 600_000)
    for name, why in (
        ("nothing.pneu", "no such file"),
        ("folder.pneu", "not a regular file"),
        ("photo.pneu", "not UTF-8 text"),
        ("huge.pneu", "larger than 1000 kB"),
        ("x" * 300, "name too long"),
        ("bench.pneu/x", "cannot read"),
    ):
        done = pneudraw(*command, name)
        assert done.status == 2, name
        assert why in done.out + done.err
        assert "Traceback" not in done.err
        assert done.out == "" or command == ("check",), name


@pytest.mark.parametrize("command", READERS, ids=lambda command: command[0])
def test_all_mistakes_of_a_circuit_are_shown_at_once(command: tuple[str], rig: Path) -> None:
    rig.write_text(BROKEN)
    done = pneudraw(*command, rig)
    if command == ("format",):  # only the spelling of the language counts there, not what the words mean
        assert done.status == 0
        return
    assert done.status == 2
    said = done.out + done.err
    assert "error[unknown-kind]: there is no kind `resrvoir`" in said
    assert "did you mean `reservoir`?" in said
    assert "error[bad-value]: `length` needs a length, not `3`" in said
    assert said.count("error[") == 2


def test_a_disk_that_refuses_leaves_nothing_half_written(rig: Path) -> None:
    before = listing(rig.parent)
    for target in ("missing/a.svg", "bench.pneu/a.svg", "x" * 300 + ".svg"):
        refused(pneudraw("draw", rig, "-o", target), "cannot write", target)
        refused(pneudraw("trace", rig, "ready", "-o", target), "cannot write", target)
        refused(pneudraw("new", target), "cannot write", target)
    refused(pneudraw("draw", rig, "-o", "bench.pneu/folder/"), "cannot make the folder")
    refused(pneudraw("trace", rig, "all", "-o", "bench.pneu/folder"), "cannot make the folder")
    refused(pneudraw("catalogue", "--format", "svg", "-o", "bench.pneu/folder"), "cannot make the folder")
    assert listing(rig.parent) == before


@pytest.mark.skipif(os.geteuid() == 0, reason="the superuser may write anywhere")
def test_a_read_only_folder_is_said_so(rig: Path) -> None:
    Path("locked").mkdir(mode=0o500)
    refused(pneudraw("draw", rig, "-o", "locked/a.svg"), "cannot write", "ermission denied")


def test_hostile_names_do_no_harm(rig: Path) -> None:
    nasty = Path("\x1b]0;owned\x07<b>&.pneu")
    nasty.write_text(
        RIG.replace('circuit "Bench: one brake"\n  pressure psi\n', "").replace(
            "Left front", '<b>&amp;\\"</b>'
        )
    )
    drawn = pneudraw("draw", nasty)
    assert drawn.status == 0
    root = etree.fromstring(drawn.raw)
    assert '<b>&amp;"</b>' in " ".join(root.itertext())
    wrong = pneudraw("trace", nasty, "nowhere")
    refused(wrong, "has no state `nowhere`")
    nasty.write_text(BROKEN)
    broken = pneudraw("draw", nasty, "-o", "out.svg")
    assert broken.status == 2
    assert "\x1b" not in drawn.out + drawn.err + wrong.err + broken.err
    assert not Path("out.svg").exists()


def test_a_file_name_that_is_not_utf8_can_be_used(rig: Path) -> None:
    name = os.fsdecode(b"b\xff.pneu")
    try:
        Path(name).write_text(RIG)
    except OSError:
        pytest.skip("this disk takes no such name")
    assert pneudraw("draw", name, "-o", "a.svg").status == 0
    assert pneudraw("trace", name, "ready", "--format", "json", "-o", "a.json").status == 0
    Path(name).write_text(BROKEN)
    assert pneudraw("check", "--format", "json", name, "-o", "b.json").status == 2
    assert json.loads(Path("b.json").read_text())[0]["rule"] == "unknown-kind"


# --- trace ------------------------------------------------------------------------------------------


def test_without_a_state_the_states_are_listed(rig: Path) -> None:
    done = pneudraw("trace", rig)
    assert (done.status, done.err) == (0, "")
    assert [line.split()[0] for line in done.out.splitlines()] == [
        "charging", "ready", "service-apply", "service-release", "emergency", "half",
    ]  # fmt: skip
    assert "charging         Charging from empty, from an empty circuit\n" in done.out
    assert "half             Half application, from the end of ready\n" in done.out


def test_a_state_is_told_in_words_with_the_cautions(rig: Path) -> None:
    done = pneudraw("trace", rig, "service-apply")
    assert (done.status, done.err) == (0, "")
    assert done.out.startswith("Bench: one brake: Service brake application (service-apply)\n")
    assert "Left front (lf) is applied by service air" in done.out
    assert "Chock the wheels" in done.out


def test_a_state_that_does_not_exist_is_answered_with_the_nearest_or_all(rig: Path) -> None:
    refused(pneudraw("trace", rig, "servce-apply"), "did you mean `service-apply`?")
    refused(pneudraw("trace", rig, "xyzzy"), "its states are charging, ready")


def test_a_trace_goes_to_a_file_in_the_format_of_its_suffix(rig: Path) -> None:
    for name, start in (
        ("a.svg", b"<"),
        ("a.json", b"{"),
        ("a.txt", b"Bench"),
        ("a.pdf", b"%PDF-"),
        ("a", b"Bench"),
    ):
        done = pneudraw("trace", rig, "service-apply", "-o", name)
        assert (done.status, done.out, done.err) == (0, "", ""), name
        assert Path(name).read_bytes().startswith(start), name


def test_all_states_go_to_a_folder(rig: Path) -> None:
    refused(pneudraw("trace", rig, "all"), "needs a folder")
    refused(pneudraw("trace", rig, "all", "-o", "bench.pneu"), "needs a folder")
    done = pneudraw("trace", rig, "all", "-o", "out", "--format", "json")
    assert (done.status, done.out) == (0, "")
    assert listing(Path("out")) == sorted(
        f"bench.{state}.json"
        for state in ("charging", "ready", "service-apply", "service-release", "emergency", "half")
    )
    one = pneudraw("trace", rig, "half", "--format", "json")
    assert Path("out/bench.half.json").read_text() == one.out


# --- check ------------------------------------------------------------------------------------------


def test_check_ends_with_0_1_or_2(rig: Path) -> None:
    open_port = rig.parent / "open.pneu"
    open_port.write_text(RIG.replace("  service:  foot.2 -> lf       length=3m bore=9.5mm\n", ""))
    found = pneudraw("check", open_port)
    assert found.status == 1
    assert "foot" in found.out
    assert re.search(r"^ *--> .*open\.pneu:\d+:\d+$", found.out, re.MULTILINE)
    assert found.err.startswith("1 file checked: ")
    rig.write_text(BROKEN)
    assert pneudraw("check", rig).status == 2
    both = pneudraw("check", rig, open_port, "--format", "json")
    assert both.status == 2
    assert {Path(item["file"]).name for item in json.loads(both.out)} == {"bench.pneu", "open.pneu"}


def test_check_as_json_is_a_list_of_findings(rig: Path) -> None:
    rig.write_text(BROKEN)
    done = pneudraw("check", rig, "--format", "json")
    assert done.err == ""
    first = json.loads(done.out)[0]
    assert (first["rule"], first["severity"], first["line"], first["column"]) == (
        "unknown-kind",
        "error",
        8,
        9,
    )
    assert pneudraw("check", rig, "-o", "a.json").status == 2
    assert json.loads(Path("a.json").read_text()) == json.loads(done.out)


def test_a_rule_is_explained_and_a_misspelt_one_suggested() -> None:
    done = pneudraw("check", "--explain", "open-port")
    assert (done.status, done.err) == (0, "")
    assert "Bad" in done.out
    refused(pneudraw("check", "--explain", "open-prot"), "did you mean `open-port`?")
    refused(pneudraw("check"), "name at least one FILE")


# --- format -----------------------------------------------------------------------------------------


def test_format_rewrites_once_and_keeps_comments(rig: Path) -> None:
    messy = RIG.replace("  tank  reservoir          ", "  tank reservoir ").replace(
        "parts\n", "\n\nparts   # all of them\n"
    )
    rig.write_text(messy)
    assert pneudraw("format", "--check", rig).status == 1
    assert rig.read_text() == messy
    assert pneudraw("format", "--stdout", rig).out == pneudraw("format", "-", input=messy).out != messy
    assert rig.read_text() == messy
    done = pneudraw("format", rig)
    assert (done.status, done.out) == (0, "")
    assert "rewritten" in done.err
    tidy = rig.read_text()
    assert "# all of them" in tidy
    again = pneudraw("format", rig)
    assert (again.status, again.out, again.err) == (0, "", "")
    assert rig.read_text() == tidy
    assert pneudraw("format", "--check", rig).status == 0


def test_format_leaves_a_file_with_errors_alone_and_goes_on_with_the_others(rig: Path) -> None:
    broken, messy = "parts\n  a reservoir volume=\n", RIG.replace("  tank  reservoir", "  tank reservoir")
    Path("broken.pneu").write_text(broken)
    rig.write_text(messy)
    done = pneudraw("format", "broken.pneu", "nothing.pneu", rig)
    assert done.status == 2
    assert "error[missing-value]" in done.err
    assert "cannot read nothing.pneu: no such file" in done.err
    assert Path("broken.pneu").read_text() == broken
    assert rig.read_text() != messy
    refused(pneudraw("format", "-", input=b"\xff"), "not UTF-8")


# --- catalogue and new ------------------------------------------------------------------------------


def test_the_catalogue_lists_every_kind_in_a_line_or_tells_all_of_one() -> None:
    from pneudraw import api

    done = pneudraw("catalogue")
    assert (done.status, done.err) == (0, "")
    library, _ = api.library()
    assert {line.split()[0] for line in done.out.splitlines() if line[0] != " "} == set(library.kinds)
    one = pneudraw("catalogue", "relay-valve")
    for word in ("Ports", "Parameters", "Faults that can be put in", "crack", "Source:", "inlet-leaks"):
        assert word in one.out
    data = json.loads(pneudraw("catalogue", "--format", "json", "relay-valve", "governor").out)
    assert [kind["name"] for kind in data] == ["relay-valve", "governor"]


def test_a_misspelt_kind_is_answered_with_the_nearest() -> None:
    refused(pneudraw("catalogue", "relay-vlave"), "did you mean `relay-valve`?")
    refused(pneudraw("catalogue", "xyzzy"), "`pneudraw catalogue` lists them all")


def test_plates_go_to_a_folder_or_one_pdf(rig: Path) -> None:
    refused(pneudraw("catalogue", "--format", "svg"), "need a folder")
    assert pneudraw("catalogue", "gauge", "-o", "gauge.svg").status == 0
    assert etree.parse("gauge.svg").getroot().tag == SVG
    assert pneudraw("catalogue", "gauge", "plug", "-o", "two.pdf").status == 0
    assert Path("two.pdf").read_bytes().startswith(b"%PDF-")


def test_a_folder_of_own_kinds_is_read_and_its_mistakes_are_told(rig: Path) -> None:
    from pneudraw.library.locate import shipped

    Path("kinds").mkdir()
    gauge = (shipped() / "gauge.toml").read_text("utf-8")
    Path("kinds/my-gauge.toml").write_text(gauge.replace('title = "', 'title = "My ', 1))
    assert pneudraw("catalogue", "my-gauge", "--symbols", "kinds").status == 0
    rig.write_text(
        RIG.replace("\nstates", "\n  tank.a -> g\nstates").replace("parts\n", "parts\n  g  my-gauge\n")
    )
    assert pneudraw("draw", rig, "--symbols", "kinds").status == 0
    refused(pneudraw("draw", rig), "there is no kind `my-gauge`")
    Path("kinds/my-gauge.toml").write_text("title = \n")
    refused(pneudraw("catalogue", "--symbols", "kinds"), "my-gauge.toml:1:")
    refused(pneudraw("draw", rig, "--symbols", "nowhere"), "nowhere")


def test_new_writes_a_circuit_that_is_whole_and_never_over_another(rig: Path) -> None:
    done = pneudraw("new", "mine.pneu")
    assert (done.status, done.out) == (0, "")
    assert "pneudraw draw mine.pneu -o mine.svg" in done.err
    assert pneudraw("draw", "mine.pneu").status == 0
    refused(pneudraw("new", rig), "exists", "--force")
    assert rig.read_text() == RIG
    assert pneudraw("new", rig, "--force").status == 0
    assert rig.read_text() == Path("mine.pneu").read_text()
    refused(pneudraw("new", "."), "is a folder")
    refused(pneudraw("new"), "name the FILE")
    refused(pneudraw("new", "a.pneu", "--like", "two-axle-trck"), "did you mean `two-axle-truck`?")
    assert pneudraw("new", "-").out == rig.read_text()
    assert "two-axle-truck" in pneudraw("new", "--list").out.split()


def test_a_new_circuit_brings_the_circuits_it_uses(tmp_path: Path) -> None:
    from pneudraw.circuit.course import circuits_folder

    for course in sorted(circuits_folder().glob("*.pneu")):
        copy = tmp_path / course.stem / f"my-{course.stem}.pneu"
        copy.parent.mkdir()
        assert pneudraw("new", str(copy), "--like", course.stem).status == 0
        assert pneudraw("trace", str(copy)).status == 0
