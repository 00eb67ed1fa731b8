"""The installed program as a process of its own: the same bytes every time, pipes, a full disk, no stack trace."""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.cli.commands import BROKEN, RIG


def program(
    *arguments: str, folder: Path, seed: str = "random", **more: object
) -> subprocess.CompletedProcess[bytes]:
    """Run the program with its own hash seed, in a folder."""
    return subprocess.run(
        [sys.executable, "-c", "from pneudraw.cli.main import main; main()", *arguments],
        cwd=folder,
        env={**os.environ, "PYTHONHASHSEED": seed, "PYTHONIOENCODING": ""},
        check=False,
        timeout=300,
        **{"capture_output": True, **more},  # type: ignore[call-overload]
    )


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    (tmp_path / "bench.pneu").write_text(RIG)
    (tmp_path / "broken.pneu").write_text(BROKEN)
    return tmp_path


@pytest.mark.parametrize(
    "arguments",
    [
        ("draw", "bench.pneu"),
        ("draw", "bench.pneu", "--format", "pdf"),
        ("draw", "bench.pneu", "--format", "png"),
        ("trace", "bench.pneu"),
        ("trace", "bench.pneu", "service-apply"),
        ("trace", "bench.pneu", "service-apply", "--format", "json"),
        ("trace", "bench.pneu", "emergency", "--format", "svg"),
        ("check", "bench.pneu", "broken.pneu", "--format", "json"),
        ("check", "bench.pneu"),
        ("format", "bench.pneu", "--stdout"),
        ("catalogue",),
        ("catalogue", "relay-valve", "--format", "svg"),
    ],
    ids=" ".join,
)
def test_the_same_input_gives_the_same_bytes_in_every_process(
    arguments: tuple[str, ...], folder: Path
) -> None:
    one = program(*arguments, folder=folder, seed="1")
    two = program(*arguments, folder=folder, seed="4242")
    assert one.returncode in (0, 1, 2)
    assert b"Traceback" not in one.stderr, one.stderr.decode()
    assert (one.stdout, one.stderr, one.returncode) == (two.stdout, two.stderr, two.returncode)
    assert one.stdout or arguments[0] == "check"


def test_a_drawing_does_not_depend_on_the_folder_it_is_made_in(folder: Path) -> None:
    other = folder / "elsewhere"
    other.mkdir()
    (other / "bench.pneu").write_text(RIG.replace('circuit "Bench: one brake"\n  pressure psi\n', ""))
    (folder / "bench.pneu").write_text(RIG.replace('circuit "Bench: one brake"\n  pressure psi\n', ""))
    here = program("draw", "elsewhere/bench.pneu", folder=folder)
    there = program("draw", "bench.pneu", folder=other)
    assert here.stdout == there.stdout


def test_results_are_utf8_whatever_the_machines_habit(folder: Path) -> None:
    (folder / "bench.pneu").write_text(RIG.replace("Shop air", "Kühlhaus ✓"), "utf-8")
    plain = program("trace", "bench.pneu", "charging", folder=folder)
    assert "Kühlhaus ✓".encode() in plain.stdout
    done = subprocess.run(
        [
            sys.executable,
            "-X",
            "utf8=0",
            "-c",
            "from pneudraw.cli.main import main; main()",
            "trace",
            "bench.pneu",
            "charging",
        ],
        cwd=folder,
        env={**os.environ, "LC_ALL": "C", "PYTHONCOERCECLOCALE": "0", "PYTHONIOENCODING": "ascii"},
        capture_output=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stderr.decode()
    assert done.stdout == plain.stdout


def test_a_reader_that_has_read_enough_is_no_error(folder: Path) -> None:
    with subprocess.Popen(
        [sys.executable, "-c", "from pneudraw.cli.main import main; main()", "draw", "bench.pneu"],
        cwd=folder,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
    ) as process:
        assert process.stdout is not None
        assert process.stderr is not None
        process.stdout.close()
        assert process.stderr.read() == b""


@pytest.mark.skipif(not Path("/dev/full").exists(), reason="this machine has no device that is always full")
def test_a_full_disk_is_said_in_one_line(folder: Path) -> None:
    with open("/dev/full", "wb") as full:
        done = program(
            "draw", "bench.pneu", folder=folder, capture_output=False, stdout=full, stderr=subprocess.PIPE
        )
    assert done.returncode == 2
    assert done.stderr == b"error: cannot write to standard output: No space left on device\n"


def test_progress_is_silent_in_a_pipe(folder: Path) -> None:
    done = program("trace", "bench.pneu", "service-apply", folder=folder)
    assert (done.returncode, done.stderr) == (0, b"")


def test_a_circuit_with_mistakes_writes_no_file(folder: Path) -> None:
    done = program("draw", "broken.pneu", "-o", "out.svg", folder=folder)
    assert (done.returncode, done.stdout) == (2, b"")
    assert done.stderr.count(b"error[") == 2
    assert not (folder / "out.svg").exists()


def test_the_installed_command_is_the_same_program(folder: Path) -> None:
    command = Path(sys.executable).with_name("pneudraw")
    if not command.exists():
        pytest.skip("the package is not installed as a command here")
    done = subprocess.run([command, "--version"], capture_output=True, check=False, timeout=60)
    assert done.stdout.startswith(b"pneudraw, version ")
