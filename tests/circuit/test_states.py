"""Which states a circuit has by itself, the states a netlist adds, and what can be wrong with those."""

from __future__ import annotations

from textwrap import dedent, indent

import pytest

from pneudraw import api
from pneudraw.circuit.states import NAMES, PEDAL_AFTER_BREAK
from tests.circuit.marks import built, check

SOURCE = "air  air-source"
PEDAL = "foot  foot-valve-single"
PARK = "park  park-valve"
GOVERNED = "comp  compressor\n  gov  governor"


def states(*parts: str, lines: str = "") -> list[str]:
    body = "\n  ".join(parts)
    circuit = built(f'circuit "A"\nparts\n  {body}\nlines\n{lines}')
    return [state.name for state in circuit.states]


# --- the built-in ones ------------------------------------------------------------------------------


def test_a_circuit_has_the_states_its_parts_make_possible() -> None:
    assert states("tank  reservoir") == ["ready"]
    assert states(SOURCE) == ["charging", "ready"]
    assert states(PEDAL) == ["ready", "service-apply", "service-release"]
    assert states(SOURCE, PARK) == ["charging", "park-release", "ready", "park-apply"]
    assert states("comp  compressor") == ["charging", "ready"]
    assert states(GOVERNED) == ["charging", "cut-out", "ready"]


def test_without_a_governor_nothing_cuts_out() -> None:
    assert "cut-out" not in states("comp  compressor", "tank  reservoir")
    assert "cut-out" not in states(SOURCE, "gov  governor\n  comp  reservoir")[:1]


def test_charging_ends_at_the_governors_cut_out_only_where_there_is_a_governor() -> None:
    governed = built(f'circuit "A"\nparts\n  {GOVERNED}\n')
    free = built(f'circuit "A"\nparts\n  {SOURCE}\n')
    assert [s.stop_at_cut_out for s in governed.states if s.name == "charging"] == [True]
    assert [s.stop_at_cut_out for s in free.states if s.name == "charging"] == [False]


def test_without_a_parking_control_there_are_no_park_states() -> None:
    assert not {name for name in states(SOURCE, PEDAL, "lr  spring-brake") if "park" in name}


def test_a_trailer_supply_knob_is_pushed_in_at_the_release_but_is_no_parking_brake() -> None:
    names = states(SOURCE, "tsv  trailer-supply-valve")
    assert "park-release" in names
    assert "park-apply" not in names


def test_antilock_states_need_a_pedal_and_modulators() -> None:
    assert not {name for name in states("abs  abs-modulator") if "antilock" in name}
    names = states(PEDAL, "abs  abs-modulator")
    assert names[-2:] == ["antilock-hold", "antilock-dump"]


def test_the_emergency_of_a_truck_is_the_loss_of_its_first_service_circuit() -> None:
    feed = "  feed: tank.2 -> foot.1\n"
    assert "emergency" not in states(SOURCE, PEDAL)
    assert "emergency" in states(SOURCE, PEDAL, "tank  reservoir", lines=feed)
    circuit = built(f'circuit "A"\nparts\n  {SOURCE}\n  {PEDAL}\n  tank reservoir\nlines\n{feed}')
    emergency = circuit.state("emergency")
    assert emergency is not None
    assert [(fault.target, fault.fault) for fault in emergency.faults] == [("feed", "broken")]
    assert [(s.part, s.input, s.value, s.at) for s in emergency.settings] == [
        ("foot", "pedal", 1.0, PEDAL_AFTER_BREAK)
    ]


def test_the_emergency_of_a_combination_is_a_breakaway() -> None:
    circuit = built(f'circuit "A"\nparts\n  {SOURCE}\n  {PEDAL}\n  gs  gladhand-supply\n')
    emergency = circuit.state("emergency")
    assert emergency is not None
    assert [(s.part, s.value) for s in emergency.settings] == [("gs", 0.0)]


def test_every_state_starts_from_one_before_it() -> None:
    circuit = built("""
        circuit "A"
        parts
          comp  compressor
          gov   governor
          tank  reservoir
          foot  foot-valve-single
          park  park-valve
          abs   abs-modulator
        lines
          tank.2 -> foot.1
        """)
    assert [state.name for state in circuit.states] == list(NAMES)
    seen = {"empty"}
    for state in circuit.states:
        assert state.start in seen, state.name
        seen.add(state.name)
    starts = {state.name: state.start for state in circuit.states}
    assert (starts["ready"], starts["park-release"]) == ("park-release", "cut-out")
    assert starts["antilock-dump"] == "service-apply"


def test_all_parts_of_a_purpose_are_set_together() -> None:
    circuit = built('circuit "A"\nparts\n  a, b  park-valve\n  c  trailer-supply-valve\n')
    release = circuit.state("park-release")
    assert release is not None
    assert [(s.part, s.value) for s in release.settings] == [("a", 1.0), ("b", 1.0), ("c", 1.0)]


# --- those of the netlist ---------------------------------------------------------------------------

RIG = """
    circuit "Rig"
    parts
      air    air-source
      tank   reservoir
      foot   foot-valve-single
      park   park-valve
      abs    abs-modulator
      lf     service-chamber
    lines
      air -> tank
      feed: tank.2 -> foot.1
      foot.2 -> lf
      tank.a -> park.1
    states
    """


def own(text: str) -> str:
    """Return the rig with these states, which may be marked."""
    text = dedent(text).strip("\n")
    return dedent(RIG).rstrip() + "\n" + (text if "\n#" in text else indent(text, "  ")) + "\n"


def test_an_own_state_says_where_it_starts_and_what_is_set() -> None:
    circuit = built(own('  half "Half application" from ready for 20s: foot 30%, park out at 1.5s'))
    half = circuit.state("half")
    assert half is not None
    assert (half.title, half.start, half.built_in) == ("Half application", "ready", False)
    assert [(s.part, s.input, s.value, s.at) for s in half.settings] == [
        ("foot", "pedal", 0.3, 0.0),
        ("park", "knob", 0.0, 1.5),
    ]
    assert half.horizon == pytest.approx(21.5)  # 20 s after the last input


def test_a_state_without_a_title_is_called_by_its_name() -> None:
    half = built(own("  half from empty")).state("half")
    assert half is not None
    assert (half.title, half.start, half.settings) == ("half", "empty", ())


def test_an_own_state_takes_the_place_of_the_built_in_one() -> None:
    circuit = built(own('  service-apply "Gentle" from ready: foot 20%'))
    names = [state.name for state in circuit.states]
    assert len(names) == len(set(names))
    apply = circuit.state("service-apply")
    assert apply is not None
    assert (apply.title, apply.built_in) == ("Gentle", False)
    release = circuit.state("service-release")
    assert release is not None
    assert (release.start, release.built_in) == ("service-apply", True)


def test_a_sequence_sets_one_input_several_times() -> None:
    circuit = built(own("  pump from ready: foot 100%, foot 0% at 2s, foot 100% at 4s, foot 0% at 6s"))
    pump = circuit.state("pump")
    assert pump is not None
    assert [(s.value, s.at) for s in pump.settings] == [(1.0, 0.0), (0.0, 2.0), (1.0, 4.0), (0.0, 6.0)]


def test_faults_of_parts_and_lines_can_be_put_in() -> None:
    circuit = built(
        own("  bad from ready: fault foot.inlet-leaks, fault line feed leaks 3mm, fault lf.clamp-leaks 2mm")
    )
    bad = circuit.state("bad")
    assert bad is not None
    assert [(f.target, f.fault, f.size) for f in bad.faults] == [
        ("foot", "inlet-leaks", None),
        ("feed", "leaks", pytest.approx(0.003)),
        ("lf", "clamp-leaks", pytest.approx(0.002)),
    ]


def test_states_may_be_written_before_the_one_they_start_from() -> None:
    circuit = built(own("  b from a: foot 0%\n  a from ready: foot 50%"))
    assert circuit.state("b") is not None


# --- what is wrong ----------------------------------------------------------------------------------


def test_parts_and_inputs_that_do_not_exist() -> None:
    check(
        own("""
          a from ready: fot 30%
        #               ^^^ unknown-part: did you mean `foot`?
          b from ready: fot.pedal 30%
        #               ^^^ unknown-part: did you mean `foot`?
          c from ready: foot.pedl 30%
        #                    ^^^^ unknown-input: did you mean `pedal`?
          d from ready: tank 30%
        #               ^^^^ unknown-input: nothing can be set on reservoir `tank`
          e from ready: abs on
        #               ^^^ unknown-input: say which: abs.hold, abs.dump
          f from ready: fault fot.inlet-leaks
        #                     ^^^ unknown-part: did you mean `foot`?
        """)
    )


def test_values_that_cannot_be() -> None:
    check(
        own("""
          a from ready: foot 30
        #                    ^^ bad-value: did you mean `30%`?
          b from ready: foot 130%
        #                    ^^^^ out-of-range: from 0% to 100%
          c from ready: foot down
        #                    ^^^^ bad-value: is set in percent, not to `down`
          d from ready: foot 30psi
        #                    ^^^^^ bad-value: is set in percent
          e from ready: park inn
        #                    ^^^ bad-value: did you mean `in`? it can be: out, in
          f from ready: park 50%
        #                    ^^^ bad-value: it can be: out, in
          g from ready: foot 30% at 3m
        #                           ^^ bad-value: behind `at` stands a time, not a length
          h from ready: foot 30% at 3
        #                           ^ bad-value: not a number without a unit
          i from ready for 2min: foot 30% at 300min
        #                                    ^^^^^^ out-of-range: `at 300min` is too large
          j from ready for 0s: foot 30%
        #                  ^^ out-of-range: `for 0s` is too small
          k from ready for 30%: foot 30%
        #                  ^^^ bad-value: behind `for` stands a time, not a ratio
          l from ready: foot 30% at -1s
        #                           ^^^ out-of-range: too small
        """)
    )


def test_starts_that_do_not_exist_or_lead_back() -> None:
    check(
        own("""
          a from redy
        #        ^^^^ unknown-state: did you mean `ready`?
          b from cut-out
        #        ^^^^^^^ unknown-state
          c from d
        #        ^ circular-state: state `c` would start from itself
          d from e
          e from c
          f from c
          g from g
        #        ^ circular-state
          charging from ready
        #               ^^^^^ circular-state: state `charging` would start from itself
        """)
    )


def test_names_that_are_taken() -> None:
    found = check(
        own("""
          a from ready
          a from empty
        # ^ duplicate-tag: two states have the name `a`
          empty from ready
        # ^^^^^ name-taken: `empty` is no name for a state: it means what everything starts from
          all from ready
        # ^^^ name-taken: it means all the states together
        """)
    )
    assert found[0].related[0].span.line == 16


def test_an_input_is_set_once_at_a_time() -> None:
    check(
        own("""
          a from ready: foot 30%, foot.pedal 50%
        #                         ^^^^^^^^^^^^^^ duplicate-option: set twice at the same time
          b from ready: foot 30%, foot 50% at 1s
        """)
    )


def test_faults_that_do_not_exist() -> None:
    check(
        own("""
          a from ready: fault foot.inlet-leak
        #                          ^^^^^^^^^^ unknown-fault: did you mean `inlet-leaks`?
          b from ready: fault foot.zzz
        #                          ^^^ unknown-fault: faults: inlet-leaks
          c from ready: fault line fed broken
        #                          ^^^ unknown-line: did you mean `feed`?
          d from ready: fault line foot broken
        #                          ^^^^ unknown-line: `foot` is a part, not a line
          e from ready: fault line feed leaks 3psi
        #                                     ^^^^ bad-value: the size of a leak is a bore
          f from ready: fault line feed leaks 3m
        #                                     ^^ out-of-range: from 0.01mm to 100mm
          g from ready: fault line feed brokn
        #                               ^^^^^ unknown-fault: did you mean `broken`?
          h from ready: fault foot.exhaust-blocked 3mm
        #                                          ^^^ unexpected: `exhaust-blocked` has no size
          i from ready: fault line L9 broken
        #                          ^^ unknown-line: give the line a tag
        """)
    )


def test_a_line_lost_through_a_mistake_is_not_missed_by_states() -> None:
    check(
        """
        circuit "A"
        parts
          tank  reservoir
          foot  foot-valve-single
        lines
          feed: tank.9 -> foot.1
        #            ^ unknown-port
        states
          a from ready: fault line feed broken
        """
    )


def test_every_state_of_a_circuit_is_told_when_one_is_misspelt() -> None:
    found = api.read_text(own("  a from zzzzzz")).diagnostics
    assert found[0].help.startswith("states: empty, charging, park-release, ready")
