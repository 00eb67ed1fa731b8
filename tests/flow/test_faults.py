"""Which faults there are, and finding one by its name."""

from __future__ import annotations

import pytest

from pneudraw.flow.faults import LINE_FAULTS, FaultError, all_faults, find_fault
from tests.flow.rigs import circuit


def test_every_fault_of_every_kind_and_four_for_each_line_can_be_put_in() -> None:
    rig = circuit()
    names = [fault.name for fault in all_faults(rig)]
    assert len(names) == len(set(names))
    assert len(names) == sum(len(p.kind.faults) for p in rig.parts) + 4 * len(rig.lines)
    assert {f"line:hold.{name}" for name, _, _ in LINE_FAULTS} <= set(names)
    assert "lr.centre-seal-leaks" in names


def test_each_is_found_again_by_its_name() -> None:
    rig = circuit()
    for fault in all_faults(rig):
        assert find_fault(rig, fault.name) == fault


def test_the_word_line_may_be_left_out() -> None:
    rig = circuit()
    assert find_fault(rig, "hold.broken") == find_fault(rig, "line:hold.broken")


def test_a_leak_may_have_a_size_and_shows_it() -> None:
    fault = find_fault(circuit(), "tank.leaks", 0.003)
    assert fault.setting.size == 0.003
    assert fault.name == "tank.leaks=3mm"


@pytest.mark.parametrize(
    ("text", "size", "words"),
    [
        ("lr.center-seal-leaks", None, "centre-seal-leaks"),
        ("lr", None, "centre-seal-leaks"),
        ("line:hold.open", None, "broken"),
        ("lrr.centre-seal-leaks", None, "`lr`"),
        ("line:lr.broken", None, "list"),
        ("", None, "list"),
        ("foot.exhaust-blocked", 0.001, "leaks and breaks have one"),
        ("line:hold.blocked", 0.001, "leaks and breaks have one"),
    ],
)
def test_a_name_that_is_none_is_told_with_what_was_probably_meant(
    text: str, size: float | None, words: str
) -> None:
    with pytest.raises(FaultError) as told:
        find_fault(circuit(), text, size)
    assert words in told.value.help
