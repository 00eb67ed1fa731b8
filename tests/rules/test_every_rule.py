"""Every rule is tried on the two circuits of its own docstring."""

from __future__ import annotations

from pathlib import Path

import pytest

from pneudraw.rules import RULES, codes, explain
from pneudraw.rules.registry import Rule, rule
from tests.rules.helpers import findings

FOLDER = Path(__file__).parent.parent.parent / "pneudraw" / "rules"
every_rule = pytest.mark.parametrize("rule", RULES, ids=lambda rule: rule.code)


@every_rule
def test_the_bad_circuit_is_reported_by_its_rule(rule: Rule) -> None:
    assert rule.code in [found.code for found in findings(rule.example("Bad"))]


@every_rule
def test_the_good_circuit_is_left_alone_by_its_rule(rule: Rule) -> None:
    assert rule.code not in [found.code for found in findings(rule.example("Good"))]


@every_rule
def test_the_bad_circuit_has_only_the_one_fault(rule: Rule) -> None:
    """A cause is reported once, not together with all that comes of it."""
    assert {found.code for found in findings(rule.example("Bad")) if found.severity.value != "note"} <= {
        rule.code,
        *SIDE.get(rule.code, ()),
    }


#: what a bad circuit has wrong besides: the examples of what a vehicle must have are kept short
EQUIPMENT = ("no-drain", "no-gauge", "no-low-pressure-warning", "no-relief-valve", "missing-check-valve")
SIDE: dict[str, tuple[str, ...]] = dict.fromkeys((*EQUIPMENT[:4], "reservoirs-too-small"), EQUIPMENT)


@every_rule
def test_a_rule_tells_why_it_matters_and_where_it_comes_from(rule: Rule) -> None:
    text = explain(rule.code)
    assert text is not None
    for word in ("Why it matters", "Bad::", "Good::", "Source"):
        assert word in text
    assert all(source.strip() for source in rule.sources.values())


def test_every_rule_stands_in_a_file_of_its_own_name() -> None:
    assert all((FOLDER / f"{rule.code.replace('-', '_')}.py").is_file() for rule in RULES)


def test_no_two_rules_have_one_name() -> None:
    assert len(set(codes())) == len(RULES)


def test_a_function_that_is_not_named_like_its_rule_is_refused() -> None:
    from pneudraw.diagnostics import Severity

    with pytest.raises(ValueError, match="some-rule"):

        @rule("some-rule", severity=Severity.NOTE, source="nowhere")
        def other_rule(study):  # type: ignore[no-untyped-def]
            yield from ()


def test_nothing_is_explained_that_does_not_exist() -> None:
    assert explain("no-such-rule") is None
