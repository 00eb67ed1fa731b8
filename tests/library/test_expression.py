"""The sums of kind files: what is allowed, what they come to."""

from __future__ import annotations

from contextlib import suppress

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.library.expression import UNKNOWN, ExpressionError, Symbol, linear, names, parse

SCOPE = {
    "p1": Symbol("pressure", varies=True, pressure=True),
    "p2": Symbol("pressure", varies=True, pressure=True),
    "p4": Symbol("pressure", varies=True, pressure=True),
    "p41": Symbol("pressure", varies=True, pressure=True),
    "p_wet": Symbol("pressure", varies=True, pressure=True),
    "crack": Symbol("pressure", varies=False),
    "ratio": Symbol("number", varies=False),
    "area": Symbol("area", varies=False, positive=True),
    "stroke": Symbol("length", varies=False),
    "force": Symbol("force", varies=False),
    "pedal": Symbol("number", varies=True),
    "broken": Symbol(UNKNOWN, varies=False),
}


def test_a_relay_opens_by_control_less_delivery_less_crack() -> None:
    form = linear(parse("p4 - p2 - crack", SCOPE), {"crack": 0.3e5})
    assert form.constant == -0.3e5
    assert dict(form.weights) == {"p4": 1.0, "p2": -1.0}


def test_a_quantity_stands_for_itself_in_si() -> None:
    band = parse("0.12 bar", SCOPE)
    assert band.dimension == "pressure"
    assert linear(band, {}).constant == pytest.approx(0.12e5)


def test_a_percentage_is_a_pure_number() -> None:
    assert parse("8 %", SCOPE).dimension == "number"


@pytest.mark.parametrize(
    ("text", "dimension"),
    [
        ("area * stroke", "volume"),
        ("force / area", "pressure"),
        ("crack * area", "force"),
        ("2 * p1 - crack", "pressure"),
        ("1 - pedal", "number"),
        ("ratio * p1 - p2", "pressure"),
        ("p1 + 0", "pressure"),
        ("-(p1 - p2) / 2", "pressure"),
        ("broken + p1", "pressure"),
        ("broken * p1", UNKNOWN),
    ],
)
def test_dimensions_follow_the_arithmetic(text: str, dimension: str) -> None:
    found = parse(text, SCOPE).dimension
    assert found == dimension or (UNKNOWN in (found, dimension))


@pytest.mark.parametrize(
    ("text", "says", "points_at"),
    [
        ("p4 - p3", "unknown name", "p3"),
        ("p4 - area", "cannot be added", ""),
        ("p1 * p2", "linear", ""),
        ("p1 / p2", "may be zero", "p2"),
        ("crack / stroke", "may be zero", "stroke"),
        ("p1 / 0", "may be zero", "0"),
        ("p1 ** 2", "only names", ""),
        ("max(p1, p2)", "only names", ""),
        ("p1 if p2 else p4", "only names", ""),
        ("p1 > p2", "only names", ""),
        ("__import__('os')", "only names", ""),
        ("p1.real", "only names", ""),
        ("p1 +", "neither an expression nor", ""),
        ("", "neither an expression nor", ""),
        ("'text'", "only names", ""),
        ("True", "only names", ""),
        ("p1 + p2 + p4 + p41 + p_wet", "more than 4 pressures", ""),
        ("p1" + " + p1" * 60, "more than 200 characters", ""),
        ("1e300 * p1", "too large", ""),
    ],
)
def test_what_is_not_allowed_is_said(text: str, says: str, points_at: str) -> None:
    with pytest.raises(ExpressionError, match=says.replace("*", r"\*")) as caught:
        parse(text, SCOPE)
    assert caught.value.word == points_at


def test_names_come_in_order_and_once() -> None:
    assert names(parse("p4 - p2 - crack + p4", SCOPE)) == ("p4", "p2", "crack")


@given(st.text(max_size=80))
def test_any_text_is_an_expression_or_an_expression_error(text: str) -> None:
    with suppress(ExpressionError):  # any other exception fails the test
        assert parse(text, SCOPE)


LEAVES = st.sampled_from(["p1", "p2", "crack", "2 * p1", "ratio * p2", "p4 / 4"])


@given(
    st.lists(st.tuples(st.sampled_from("+-"), LEAVES), min_size=1, max_size=6),
    st.floats(0, 1e6),
    st.floats(0, 1),
)
def test_linear_forms_agree_with_arithmetic(terms: list[tuple[str, str]], crack: float, ratio: float) -> None:
    """Python's own arithmetic is the oracle."""
    text = "0" + "".join(f" {sign} {leaf}" for sign, leaf in terms)
    pressures = {"p1": 3e5, "p2": 1e5, "p4": 7e5}
    form = linear(parse(text, SCOPE), {"crack": crack, "ratio": ratio})
    found = form.constant + sum(weight * pressures[name] for name, weight in form.weights)
    expected = eval(text, {}, {**pressures, "crack": crack, "ratio": ratio})
    assert found == pytest.approx(expected, abs=1e-3)
