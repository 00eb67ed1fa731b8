"""The table of faults: what looks alike, what separates, the tree. Tables here are made by hand or at random."""

from __future__ import annotations

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from pneudraw.circuit.model import FaultSetting
from pneudraw.flow.conditions import Condition
from pneudraw.flow.diagnosis import (
    GROUPS,
    ObservationError,
    Question,
    Row,
    Table,
    Tree,
    alike,
    answers_yes,
    gain,
    read_observation,
    remaining,
    suggestions,
    table,
    tree,
)
from pneudraw.flow.faults import PossibleFault, all_faults
from pneudraw.flow.run import Options
from pneudraw.flow.symptoms import Observation
from tests.flow.rigs import bench

EASY = Condition("P", "Parked", "Parked.", "parked", (), 8.0, 68.0, 68.0, 0)
HARD = Condition("D", "Drained", "Drained.", "ready", (), 8.0, 68.0, 68.0, 3)


def row(name: str, *wrong: tuple[str, str, str, str]) -> Row:
    fault = PossibleFault(FaultSetting("x", name, None, None), False, name, "")
    normal = {"air": "quiet", "needle": "holds", "service": "on"}
    return Row(fault, tuple(Observation(*one, normal[one[1]]) for one in wrong))


def hand_made(*rows: Row) -> Table:
    keys = [o.key for r in rows for o in r.wrong]
    normal = {"air": "quiet", "needle": "holds", "service": "on"}
    return Table((EASY, HARD), {key: normal[key[1]] for key in sorted(keys)}, rows)


# --- worked examples --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("yes", "of", "bits"),
    # binary entropy, tables of information theory: H(1/2) = 1, H(1/4) = 0.8113, H(0.1) = 0.4690, H(0.11) = 0.4999
    [(1, 2, 1.0), (1, 4, 0.8113), (1, 10, 0.4690), (11, 100, 0.4999), (3, 4, 0.8113)],
)
def test_the_gain_of_a_question_is_the_binary_entropy_of_its_split(yes: int, of: int, bits: float) -> None:
    assert gain(yes, of) == pytest.approx(bits, abs=5e-5)


def test_faults_with_the_same_row_are_one_group() -> None:
    found = hand_made(
        row("a", ("P", "air", "r.3", "steady")),
        row("b", ("P", "air", "r.3", "steady")),
        row("c", ("P", "air", "r.3", "steady"), ("D", "needle", "t", "falls")),
        row("d"),
    )
    assert [[r.fault.title for r in group] for group in alike(found)] == [["a", "b"], ["c"], ["d"]]


def test_the_question_that_halves_comes_first() -> None:
    found = hand_made(
        row("a", ("P", "air", "r.3", "steady"), ("P", "air", "q.3", "steady")),
        row("b", ("P", "air", "r.3", "long")),
        row("c"),
        row("d"),
    )
    best = suggestions(found, found.rows)[0]
    assert str(best.question) == "P:r.3=blows"
    assert (best.yes, best.of, best.gain) == (2, 4, 1.0)


def test_of_equal_questions_listening_comes_before_draining() -> None:
    drained, heard = ("D", "air", "a.3", "steady"), ("P", "air", "z.3", "steady")
    found = hand_made(row("a", drained, heard), row("b"))
    assert suggestions(found, found.rows)[0].question.key[0] == "P"


def test_answers_leave_what_agrees_with_all_of_them() -> None:
    found = hand_made(
        row("a", ("P", "air", "r.3", "steady")),
        row("b", ("P", "air", "r.3", "steady"), ("D", "needle", "t", "falls fast")),
        row("c", ("D", "needle", "t", "falls")),
    )
    blows, falls = read_observation(found, "P:r.3=blows"), read_observation(found, "D:t=falls")
    assert [r.fault.title for r in remaining(found, (blows,))] == ["a", "b"]
    assert [r.fault.title for r in remaining(found, (blows, falls))] == ["b"]
    quiet = read_observation(found, "P:r.3!=blows")
    assert [r.fault.title for r in remaining(found, (quiet,))] == ["c"]


def test_air_to_the_end_and_air_for_a_while_are_told_apart_by_one_more_question() -> None:
    found = hand_made(row("a", ("P", "air", "r.3", "steady")), row("b", ("P", "air", "r.3", "long")))
    assert [str(s.question) for s in suggestions(found, found.rows)] == ["P:r.3=steady"]
    assert {tuple(r.fault.title for r in rows) for rows in leaves(tree(found))} == {("a",), ("b",)}


# --- at random --------------------------------------------------------------------------------------

WORDS = {
    "air": ["quiet", "puff", "steady", "long", "faint"],
    "needle": ["holds", "falls", "falls fast", "drops more"],
    "service": ["on", "off", "weak", "late"],
}
KEYS = [(letter, what, place) for letter in "PD" for what in WORDS for place in ("u", "v")]


@st.composite
def tables(draw: st.DrawFn) -> Table:
    rows = []
    for number in range(draw(st.integers(1, 12))):
        chosen = draw(st.lists(st.sampled_from(KEYS), max_size=4, unique=True))
        wrong = [(*key, draw(st.sampled_from(WORDS[key[1]][1:]))) for key in chosen]
        rows.append(row(f"f{number}", *sorted(wrong)))
    return hand_made(*rows)


def leaves(node: Tree) -> list[tuple[Row, ...]]:
    if node.question is None:
        return [node.rows]
    assert node.yes is not None
    assert node.no is not None
    return leaves(node.yes) + leaves(node.no)


@given(tables())
def test_the_trees_leaves_are_the_groups_that_look_alike(found: Table) -> None:
    ends = {tuple(r.fault.title for r in rows) for rows in leaves(tree(found))}
    groups = {tuple(r.fault.title for r in group) for group in alike(found)}
    assert ends == groups


@given(tables())
def test_answering_as_a_fault_would_leads_to_that_fault(found: Table) -> None:
    for r in found.rows:
        node = tree(found)
        while node.question is not None:
            branch = node.yes if answers_yes(found, r, node.question) else node.no
            assert branch is not None
            node = branch
        assert r in node.rows


@given(tables())
def test_a_questions_gain_is_never_more_than_one_bit_and_the_best_is_nearly_the_greatest(
    found: Table,
) -> None:
    every = suggestions(found, found.rows)
    assert all(0 < s.gain <= 1.0 for s in every)
    if every:
        assert every[0].gain >= max(s.gain for s in every) - 0.05
        assert all(s.gain == pytest.approx(gain(s.yes, s.of)) for s in every)
        assert not math.isnan(every[0].gain)


# --- a computed table -------------------------------------------------------------------------------


def bench_table(processes: int) -> Table:
    known = bench()
    return table(
        known, all_faults(known.vehicle.circuit), ("P", "R", "S"), Options(compiled="yes"), processes
    )


def test_the_table_is_the_same_for_any_number_of_processes() -> None:
    assert bench_table(1) == bench_table(2) == bench_table(3)


def test_a_hiss_while_released_is_followed_to_its_cause() -> None:
    # pattern: leaks while released but not while parked come from the spring side (common practice, no source)
    found = bench_table(1)
    answers = tuple(
        read_observation(found, text) for text in ("R:foot.3=blows", "P:foot.3!=blows", "dial=falls")
    )
    assert [r.fault.name for r in remaining(found, answers)] == ["lr.centre-seal-leaks"]


@pytest.mark.parametrize(
    ("text", "key", "word"),
    [
        ("S:lr/service=weak", ("S", "service", "lr"), "weak"),
        ("tank=falls", ("R", "needle", "tank"), "falls"),
        ("P:gauge1=holds", ("P", "needle", "dial.1"), "holds"),
        ("dial=fast", ("R", "needle", "dial.1"), "fast"),
        ("R:line:hold=blows", ("R", "air", "line:hold"), "blows"),
        ("line:hold=blows", ("R", "air", "line:hold"), "blows"),
        ("R:park=out", ("R", "knob", "park"), "out"),
    ],
)
def test_an_observation_is_read_as_it_is_written(text: str, key: tuple[str, str, str], word: str) -> None:
    assert read_observation(bench_table(1), text) == (Question(key, word), True)


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("blows", "R:relay.3=blows"),
        ("X:foot.3=blows", "conditions"),
        ("R:foot.4=blows", "foot.3"),
        ("R:foot.3=hisses", "blows"),
        ("R:=blows", "places are"),
        ("=", "R:relay.3=blows"),
    ],
)
def test_what_is_no_observation_is_told_with_what_there_is(text: str, words: str) -> None:
    with pytest.raises(ObservationError) as told:
        read_observation(bench_table(1), text)
    assert words in f"{told.value} {told.value.help}"


def test_every_word_of_a_table_is_covered_by_some_word_of_a_person() -> None:
    for r in bench_table(1).rows:
        for o in r.wrong:
            assert any(o.word in covered for covered in GROUPS[o.what].values()), o


def test_a_table_computed_twice_has_the_same_rows_and_says_what_is_not_certain() -> None:
    known = bench()
    faults = [f for f in all_faults(known.vehicle.circuit) if f.setting.target in ("lr", "park")]
    once = table(known, faults, ("P", "R"), Options(compiled="yes"), 1)
    twice = table(known, faults, ("P", "R"), Options(compiled="yes"), 1, twice=True)
    assert [r.wrong for r in once.rows] == [r.wrong for r in twice.rows]
    assert all(o.letter in ("P", "R") for r in twice.rows for o in r.doubtful)
    assert all(r.doubtful == () for r in once.rows)
