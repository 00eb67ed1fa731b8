"""A history made into a chart and a table: units, levels with their readings, events, what is left out."""

from __future__ import annotations

import csv
import io

import pytest

from pneudraw import api
from pneudraw.drawing.chart import Chart
from pneudraw.flow.history import Curve
from pneudraw.flow.marks import Crossed
from pneudraw.flow.solution import pressure_at
from pneudraw.teach.charting import alike, chart, to_csv, who
from pneudraw.units import LBF, PSI
from tests.flow.states import ANTILOCK, ATMOSPHERE, TRUCK, P, circuit, over_time, runs


def made(states: str, *ports: str, show: tuple[str, ...] = ("pressure",), text: str = TRUCK) -> Chart:
    return chart(circuit(text), over_time(states, *ports, show=show, text=text))


def levels(found: Chart) -> list[str]:
    return [level.words for panel in found.panels for level in panel.levels]


def told(found: Chart) -> str:
    return "\n".join(event.words for event in found.events)


# --- readings ---------------------------------------------------------------------------------------


def test_60_psi_is_written_with_the_times_read_off() -> None:
    """49 CFR 571.121 S5.3.3 counts from the first movement of the pedal to 60 psi."""
    history = over_time("service-apply")
    at = {c.place: c.time for c in history.happenings if isinstance(c, Crossed)}
    (words,) = levels(chart(circuit(), history))
    assert words.startswith("60 psi after ")
    for axle, place in (("lf, rf", "lf/service"), ("lr, rr", "lr/service")):
        assert f"{at[place]:.2f} s ({axle})" in words
    level = chart(circuit(), history).panels[0].levels[0]
    assert level.height == pytest.approx(60)
    assert {round(x, 6) for _, x in level.dots} == {round(t, 6) for t in at.values()}


def test_the_release_is_read_at_5_psi_from_its_own_beginning() -> None:
    (words,) = [w for w in levels(made("service-apply+service-release")) if w.startswith("5 psi")]
    alone = [w for w in levels(made("service-release")) if w.startswith("5 psi")]
    assert [words] == alone


def test_only_marks_that_occur_are_drawn() -> None:
    assert levels(made("park-apply")) == []
    assert levels(made("ready")) == []
    assert [w.partition(" (")[0] for w in levels(made("charging"))] == [
        "low-pressure warning off 72 psi",  # 70 psi and the switch's difference
        "cut-out 125 psi",
    ]
    assert [w.partition(" (")[0] for w in levels(made("drained"))] == [
        "cut-in 100 psi",
        "low-pressure warning on 70 psi",
        "parking knob springs out 40 psi",
    ]


def test_other_units_have_the_same_marks_in_their_own_numbers() -> None:
    text = TRUCK.replace("pressure psi", "pressure kPa")
    (words,) = levels(made("service-apply", text=text))
    assert words.startswith("414 kPa after ")  # 60 psi
    assert made("service-apply", text=text).panels[0].title == "Pressure, kPa gauge"


# --- events -----------------------------------------------------------------------------------------


def test_inputs_and_flips_are_told_with_their_times() -> None:
    assert "5.00 s: drain cock open: Drain (dwet)." in told(made("cycles"))
    assert "30.0 s: drain cock closed: Drain (dwet)." in told(made("cycles"))
    assert "Governor (gov) cuts out at 125 psi." in told(made("charging"))
    assert told(made("park-apply")) == "0.00 s: parking knob out: Park valve (park)."
    assert "Park valve (park) springs out at 40 psi." in told(made("drained"))
    assert "fault: Rear relay valve (relay): inlet seat leaks." in told(made("seat"))


def test_what_repeats_often_is_told_once_with_all_its_times() -> None:
    found = made("fanned")
    assert len(found.events) > 30
    distinct = set(told(found).splitlines())
    assert len(distinct) < 12
    (pedal,) = [words for words in distinct if "pedal to 100 %" in words]
    assert pedal.startswith("1.00, 5.00, 9.00, 13.0, ")


def test_drains_opened_together_are_one_event() -> None:
    first = [e.words for e in made("drained").events if "drain cock" in e.words]
    assert first == ["0.00 s: drain cock open: Drain (dprim), Drain (dsec) and Drain (dwet)."]


# --- curves -----------------------------------------------------------------------------------------


def test_the_two_wheels_of_an_axle_are_one_curve() -> None:
    (panel,) = made("service-apply").panels
    assert [curve.name for curve in panel.curves] == [
        "wet/body",
        "prim/body",
        "sec/body",
        "lf/service rf/service",
        "lr/service rr/service",
    ]
    assert panel.curves[-1].words[0] == "Left rear, Right rear"
    assert panel.curves[-1].words[1].startswith("lr, rr service side: ")


def test_curves_that_differ_are_not_joined() -> None:
    def curve(*values: float) -> Curve:
        return Curve("pressure", "x", "", values)

    one, near, far = curve(0, 10, 20), curve(0, 10.05, 20), curve(0, 11, 20)
    assert alike([one, near]) == ((one, near),)
    assert alike([one, far]) == ((one,), (far,))


def test_a_panel_for_each_quantity_in_its_unit() -> None:
    found = made("service-apply", "lr", "relay.2", show=("pressure", "flow", "force"))
    assert [panel.title for panel in found.panels] == [
        "Pressure, psi gauge",
        "Flow of free air, L/s",
        "Push-rod force, lbf",
    ]
    bar = made("cycling", "lf", show=("force",), text=ANTILOCK.replace("pressure psi", "pressure bar"))
    assert [panel.title for panel in bar.panels] == ["Push-rod force, kN"]


def test_a_quiet_end_is_left_out_and_the_chart_says_so() -> None:
    found = made("service-apply")
    run = runs("service-apply")[0]
    shown = found.stretches[0].end
    assert shown < 0.8 * run.solution.times[-1]
    assert any("are left out" in text for _, texts in found.notes for text in texts)
    for place in (("lr", "service"), ("prim", "body")):
        node = run.plumbing.chamber_node[place]
        last = float(run.solution.pressures[-1][node])
        assert abs(pressure_at(run.solution, node, shown) - last) < 0.015 * 125 * P
    assert made("charging").stretches[0].end == pytest.approx(runs("charging")[0].solution.times[-1])


def test_every_chart_carries_the_cautions() -> None:
    for state in ("charging", "service-apply"):
        notes = dict(made(state).notes)
        assert any("Chock the wheels" in text for text in notes["Caution"])


# --- the table --------------------------------------------------------------------------------------


def table(
    states: str, *ports: str, show: tuple[str, ...] = ("pressure",)
) -> tuple[list[str], list[list[str]]]:
    head, *rows = csv.reader(io.StringIO(to_csv(circuit(), over_time(states, *ports, show=show))))
    return head, rows


def test_a_table_has_a_column_of_times_and_one_for_each_curve_with_units() -> None:
    head, rows = table("service-apply", "lr", "relay.4", show=("pressure", "flow", "force"))
    assert head == [
        "time (s)",
        "lr/service (psi)",
        "lr/spring (psi)",
        "relay.4 (psi)",
        "lr/service in flow (L/s)",
        "lr/spring in flow (L/s)",
        "relay.4 in flow (L/s)",
        "lr service force (lbf)",
        "lr spring force (lbf)",
    ]
    assert all(len(row) == len(head) for row in rows)
    assert len(rows) > 200


def test_a_table_holds_the_computed_numbers() -> None:
    (run,) = runs("service-apply")
    node = run.plumbing.chamber_node["lr", "service"]
    for row in table("service-apply", "lr/service")[1][::37]:
        time, psi = float(row[0]), float(row[1])
        true = (pressure_at(run.solution, node, time) - ATMOSPHERE) * 1e5 / PSI
        assert psi == pytest.approx(true, abs=0.05)


def test_several_states_have_their_names_in_the_table_and_one_clock() -> None:
    head, rows = table("service-apply+service-release", "lr/service")
    assert head == ["time (s)", "state", "lr/service (psi)"]
    assert [row[1] for row in rows] == sorted(row[1] for row in rows)
    times = [float(row[0]) for row in rows]
    assert times == sorted(times)
    total = sum(float(run.solution.times[-1]) for run in runs("service-apply+service-release"))
    assert times[-1] == pytest.approx(total, abs=1e-4)


def test_the_functions_of_the_package_do_what_the_command_does() -> None:
    history = api.history(circuit(), "service-apply", ("lr",), ("force",))
    assert max(history.curves[0].values) / LBF > 3000
    sheet = api.chart(circuit(), history, colour=False)
    assert sheet.title == circuit().title


def test_many_brakes_that_act_alike_are_counted_not_listed() -> None:
    assert who(["lf", "rf"]) == "lf, rf"
    assert who(["tl.ax1.left", "tl.ax1.right", "tl.ax2.left", "tl.ax2.right"]) == "4 of tl"
    assert who(["a", "b", "c", "tl.d"]) == "4 of them"
