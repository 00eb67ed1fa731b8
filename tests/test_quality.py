"""The house rules that a program can hold: format, lint, types, layers, and no kind named in the code."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


def tool(*command: str) -> None:
    done = subprocess.run(
        [sys.executable, "-m", *command], cwd=ROOT, capture_output=True, text=True, check=False, timeout=600
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_code_passes_the_linter() -> None:
    tool("ruff", "check", ".")


def test_code_is_formatted() -> None:
    tool("ruff", "format", "--check", ".")


def test_types_hold() -> None:
    tool("mypy")


def test_data_flows_one_way() -> None:
    script = Path(sys.executable).with_name("lint-imports")
    done = subprocess.run([script], cwd=ROOT, capture_output=True, text=True, check=False, timeout=300)
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_top_level_holds_what_the_developers_guide_says() -> None:
    listed = subprocess.run(["git", "ls-files"], cwd=ROOT, capture_output=True, text=True, check=False)
    if listed.returncode != 0:
        pytest.skip("not a git checkout")
    tops = {name.split("/")[0] for name in listed.stdout.splitlines()}
    assert {name for name in tops if not name.startswith(".")} == {
        "README.md",
        "DEVELOPERS.md",
        "pyproject.toml",
        "pneudraw",
        "symbols",
        "circuits",
        "tests",
        "gallery",
    }


def test_importing_the_package_loads_nothing_heavy() -> None:
    code = (
        "import sys, pneudraw.cli.main, pneudraw.api;"
        "names = {'numba', 'numpy', 'scipy', 'shapely', 'networkx', 'svgwrite', 'typst', 'fontTools', 'lxml'};"
        "heavy = names & set(sys.modules);"
        "assert not heavy, heavy"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)
    assert done.returncode == 0, done.stderr
