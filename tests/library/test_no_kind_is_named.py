"""The package knows no kind: everything about a kind is in its file. A new valve changes no code."""

from __future__ import annotations

import ast
from pathlib import Path

import pneudraw
from pneudraw.library.locate import kind_files, shipped
from pneudraw.library.model import Place, Role
from tests.library.laws import KINDS

PACKAGE = Path(pneudraw.__file__).parent


def literals(path: Path) -> list[tuple[int, str]]:
    """The strings of a module that are not docstrings."""
    tree = ast.parse(path.read_text(encoding="utf-8"))
    docs = {
        id(node.body[0].value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Module | ast.ClassDef | ast.FunctionDef | ast.AsyncFunctionDef)
        and node.body
        and isinstance(node.body[0], ast.Expr)
    }
    return [
        (node.lineno, node.value)
        for node in ast.walk(tree)
        if isinstance(node, ast.Constant) and isinstance(node.value, str) and id(node) not in docs
    ]


def test_no_module_names_a_kind() -> None:
    names = set(kind_files(shipped()))
    # words that are also purposes, roles or places may stand in the code with that meaning
    words = {item.purpose for kind in KINDS for item in kind.inputs}
    words |= {memory.purpose for kind in KINDS for memory in kind.memories}
    words |= {role.value for role in Role} | {place.value for place in Place}
    found = [
        f"{path.relative_to(PACKAGE)}:{line}: {text}"
        for path in sorted(PACKAGE.rglob("*.py"))
        for line, text in literals(path)
        if text in names - words
    ]
    assert not found, "\n".join(found)
