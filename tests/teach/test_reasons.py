"""Causes in sentences: read aloud they must say the right parts, figures and times, in the circuit's own unit."""

from __future__ import annotations

import re

import pytest

from pneudraw import api
from pneudraw.drawing.options import CAUTIONS
from pneudraw.flow.causes import Moved, Opened, Why
from pneudraw.flow.places import places_of
from pneudraw.flow.why import why
from pneudraw.teach.reasons import headline, limit_sentences, sentences, tell
from pneudraw.teach.reasons_data import to_dict
from tests.flow.states import CLOSINGS, TRUCK, circuit, runs


def asked(states: str, port: str, text: str = TRUCK) -> Why:
    (found,) = api.why(circuit(text), states, port)
    return found


def said(states: str, port: str, text: str = TRUCK) -> tuple[str, ...]:
    return sentences(circuit(text), asked(states, port, text))


def test_service_apply_is_told_from_the_chamber_back_to_the_pedal() -> None:
    found = said("service-apply", "lr.11")
    assert len(found) == 5
    assert re.match(r"The pressure at port 11 of Left rear \(lr\) rose from 0 psi to 1\d\d psi", found[0])
    assert "Its air came from Primary reservoir (prim)" in found[0]
    assert "through Rear relay valve (relay) 1 to 2." in found[0]
    assert "the pressure at its port 4 rose from 0 psi to" in found[1]
    assert "because its pedal went from 0 % to 100 %" in found[3]
    assert found[4] == (
        "The pedal of Foot valve (foot) was set to 100 % at the beginning. That is where it begins."
    )


def test_what_closed_is_told_with_what_came_of_it() -> None:
    assert said("shut", "tank", CLOSINGS)[1] == (
        "The way from 1 to the open air of Drain (drain) closed after 60.50 s, because its drain cock went from open to"
        " closed; until then the air left there."
    )
    text = tell(circuit(CLOSINGS), api.why(circuit(CLOSINGS), "half", "lf"))
    _, limits = text.split("Why did it rise no further?")
    limits = " ".join(limits.split())
    assert "The way from 1 to 2 of Relay valve (relay) closed after" in limits
    assert "So no more air came in, although its port 1 has" in limits
    assert "The pedal of Foot valve (foot) was set to 50 %" in limits
    assert "Why did it fall no further?" in tell(circuit(CLOSINGS), api.why(circuit(CLOSINGS), "ease", "lf"))


def test_what_kept_the_air_is_told_after_what_happened() -> None:
    text = tell(circuit(), api.why(circuit(), "emergency", "sec"))
    _, kept = text.split("Why did it keep its air?")
    kept = " ".join(kept.split())
    assert (
        "The way from 1 to 2 of Check valve 2 (cv2) stayed closed, as the pressure at its port 1 fell from 1"
        in kept
    )
    assert (
        "it opens only when the pressure at its port 1 is more than 1 psi above that at its port 2." in kept
    )
    assert "A fault was put in: line feed1 broken." in kept


def test_the_unloaded_compressor_pumps_no_more() -> None:
    text = tell(circuit(), api.why(circuit(), "cut-out", "comp.2"))
    assert "Why does no more air come?" in text
    assert "So no more was pumped." in " ".join(text.split())


def test_why_not_says_what_would_open_the_way() -> None:
    found = said("ready", "lr/service")
    assert "It opens when the pressure at its port 4 is more than 4 psi above that at its port 2" in found[0]
    assert "its pedal asks for more than its port 21 holds against it" in found[1]
    assert "The pedal of Foot valve (foot) is at 0 %" in found[2]


def test_the_knob_and_the_governor_are_called_what_they_are() -> None:
    assert "because its parking knob is out" in said("park-apply", "lr/spring")[5]
    assert said("cut-out", "dry.4")[-1].startswith("Governor (gov) has cut out")
    flips = [text for text in said("cycles", "gov.2") if text.startswith("Governor (gov) cuts")]
    assert "passed 125 psi." in flips[0]


def test_a_fault_is_told_by_its_title() -> None:
    assert said("seat", "relay.3")[-1] == "A fault was put in: Rear relay valve (relay): inlet seat leaks."
    assert said("emergency", "prim")[-1] == "A fault was put in: line feed1 broken."


def test_pressures_are_in_the_circuits_unit() -> None:
    text = TRUCK.replace("pressure psi", "pressure bar")
    found = " ".join(said("service-apply", "lr.11", text))
    assert "psi" not in found
    assert re.search(r"rose from 0\.0 bar to 7\.\d bar", found)


def test_the_heading_asks_the_question() -> None:
    assert headline(circuit(), asked("ready", "prim")).startswith("Why is Primary reservoir (prim) at 1")
    assert (
        headline(circuit(), asked("cut-out", "dry.3")) == "Why does air leave at port 3 of Air dryer (dry)?"
    )


def test_a_brake_is_told_side_by_side_with_the_cautions_at_the_end() -> None:
    text = tell(circuit(), api.why(circuit(), "park-apply", "lr"))
    assert text.count("Why is the s") == 2
    assert all(words in text for words in CAUTIONS)
    assert all(len(line) <= 96 for line in text.splitlines())


@pytest.mark.parametrize("state", [s.name for s in circuit().states])
def test_every_sentence_is_one(state: str) -> None:
    """Begins with a capital, ends with a full stop, no number is a minus zero, nothing is left unnamed."""
    (run,) = runs(state)
    for place in dict.fromkeys(places_of(run.plumbing).values()):
        if place.sort == "outside":
            continue
        told = why(run, place)
        for text in (*sentences(circuit(), told), *limit_sentences(circuit(), told)):
            assert re.match(r"[A-Z].*\.\Z", text), text
            assert "None" not in text
            assert "-0 " not in text
            assert "  " not in text


def test_plain_data_hold_units_in_their_names_and_the_sentence_of_each_cause() -> None:
    made = to_dict(circuit(), api.why(circuit(), "service-apply", "lr.11"))
    assert (made["state"], made["from"]) == ("service-apply", "ready")
    (place,) = made["places"]
    assert place["place"] == "lr.11"
    assert 700 < place["end_kpa"] < 800
    kinds = [cause["cause"] for cause in place["causes"]]
    assert kinds == ["moved", "opened", "moved", "opened", "input-set"]
    assert [cause["text"] for cause in place["causes"]] == list(said("service-apply", "lr.11"))
    assert place["limits"] == []
    assert "doubts" not in made
    moved, opened = place["causes"][0], place["causes"][1]
    assert moved["after_kpa"] == pytest.approx(place["end_kpa"], abs=0.1)
    assert opened["because"]["by"] == "pressure"
    assert opened["because"]["place"] == "relay.4"
    assert opened["way"] == {"part": "relay", "start": "1", "end": "2"}
    assert 0 < opened["time_s"] < moved["felt_s"] + 0.02


def test_limits_are_plain_data_of_the_same_form() -> None:
    found = api.why(circuit(CLOSINGS), "half", "lf")
    (place,) = to_dict(circuit(CLOSINGS), found)["places"]
    closed, _, pedal = place["limits"]
    assert (closed["cause"], closed["effect"]) == ("closed", "no-more-in")
    assert closed["way"] == {"part": "relay", "start": "1", "end": "2"}
    assert closed["beyond"]["pressure_kpa"] > place["end_kpa"] + 100
    assert pedal["cause"] == "input-set"
    (sec,) = to_dict(circuit(), api.why(circuit(), "emergency", "sec"))["places"]
    kept = sec["limits"][0]
    assert (kept["cause"], kept["time_s"]) == ("kept", None)
    assert [reading["place"] for reading in kept["beyond"]] == ["cv2.1", "cv2.1"]


def test_what_happened_later_than_its_effect_is_not_told_as_if_it_were_over() -> None:
    """The signal had only begun to rise when the relay opened; its end value belongs to another question."""
    found = asked("service-apply", "lr.11").causes
    signal = found[2]
    assert isinstance(signal, Moved)
    assert isinstance(found[1], Opened)
    assert signal.by < 0.1
    assert signal.after < 1.0
    assert said("service-apply", "lr.11")[2].startswith("By then the pressure at port 4")
