"""The built wheel, alone: installed outside the repository it carries its kinds and circuits and does the main job."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.fixture(scope="module")
def installed(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A folder with the unpacked wheel, made of a clean copy of the sources."""
    work = tmp_path_factory.mktemp("wheel")
    done = subprocess.run(
        [sys.executable, "-m", "build", "--wheel", "--no-isolation", "--outdir", str(work), str(ROOT)],
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )
    assert done.returncode == 0, done.stdout + done.stderr
    (wheel,) = work.glob("*.whl")
    site = work / "site"
    with zipfile.ZipFile(wheel) as archive:
        archive.extractall(site)
    return site


def pneudraw(site: Path, cwd: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    environment = {**os.environ, "PYTHONPATH": str(site)}
    code = "import pneudraw, pathlib, sys; from pneudraw.cli.main import main; main()"
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=cwd,
        env=environment,
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
    )


def test_the_wheel_is_what_runs(installed: Path, tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, "-c", "import pneudraw; print(pneudraw.__file__)"],
        cwd=tmp_path,
        env={**os.environ, "PYTHONPATH": str(installed)},
        capture_output=True,
        text=True,
        check=True,
    )
    assert done.stdout.strip().startswith(str(installed))


def test_the_wheel_carries_the_kinds_the_circuits_and_the_font(installed: Path) -> None:
    data = installed / "pneudraw" / "_data"
    kinds = {path.name for path in (data / "symbols").glob("*.toml")}
    assert kinds == {path.name for path in (ROOT / "symbols").glob("*.toml")}
    assert {path.name for path in (data / "circuits").glob("*.pneu")} == {
        path.name for path in (ROOT / "circuits").glob("*.pneu")
    }
    fonts = {path.name for path in (installed / "pneudraw" / "lettering" / "fonts").iterdir()}
    assert fonts == {path.name for path in (ROOT / "pneudraw" / "lettering" / "fonts").iterdir()}


def test_outside_the_repository_a_new_circuit_is_drawn_traced_and_checked(
    installed: Path, tmp_path: Path
) -> None:
    assert pneudraw(installed, tmp_path, "new", "truck.pneu", "--like", "basic-single").returncode == 0
    drawn = pneudraw(installed, tmp_path, "draw", "truck.pneu", "-o", "truck.svg")
    assert drawn.returncode == 0, drawn.stderr
    assert (tmp_path / "truck.svg").read_text().startswith("<svg")
    traced = pneudraw(installed, tmp_path, "trace", "truck.pneu", "service-apply", "--format", "json")
    assert traced.returncode == 0, traced.stderr
    assert {b["applied_by"] for b in json.loads(traced.stdout)["brakes"]} == {"service"}
    checked = pneudraw(installed, tmp_path, "check", "truck.pneu")
    assert checked.returncode == 0, checked.stdout + checked.stderr
