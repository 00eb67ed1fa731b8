"""Lets the tests import each other as ``tests.x`` while ``pneudraw`` stays the installed one.

pytest runs in importlib mode, so the repository's root is not put on ``sys.path``: what is tested is the wheel that
``pip install .`` made (or, in an editable installation, the checkout).
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

HERE = Path(__file__).parent

if "tests" not in sys.modules or getattr(sys.modules["tests"], "__file__", None) != str(HERE / "__init__.py"):
    spec = importlib.util.spec_from_file_location(
        "tests", HERE / "__init__.py", submodule_search_locations=[str(HERE)]
    )
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules["tests"] = module
    spec.loader.exec_module(module)
