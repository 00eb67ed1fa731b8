"""The canonical layout."""

from __future__ import annotations

from pathlib import Path

import pytest

from pneudraw.diagnostics import render_text
from pneudraw.language.parser import parse
from pneudraw.language.printer import format_text
from pneudraw.source import Source


def formatted(text: str) -> str:
    document, messages = parse(Source("text", text))
    assert messages == (), "\n".join(map(render_text, messages))
    return format_text(document)


# The example that the language was designed on, as a person typed it: everything is written somewhere else.
LOOSE = """\
# Truck 7
circuit "Two-axle truck"
      pressure psi # unit shown
      rules us


parts
 comp compressor "Compressor"
 dry   air-dryer

 # tanks


 wet reservoir volume = 1200 in3 "Supply reservoir"
 gov  governor cut_in=100 psi cut_out=125psi # set at the school
 lf,rf service-chamber type=20   # front
 # the end
# ---- pipes
lines
\tcomp->dry->wet
\tservice:relay.2->lr.11,rr.11   hose length=3m
\tx : a.2,
\t\tb.2   -- c.1 # both
states
  half-apply "Half"   from ready :foot 30 %
  pump from ready for 1 min: foot 80%, # down

     # up again
     foot 0% at 2 s, foot 80% at 4s
layout # optional
  group "Rear axle" :relay, lr rr
  near foot:dash
use "a.pneu" as a
use "b.pneu" as b
assembly wheel-end type=24   # repeats
  parts
     ch spring-brake type=type
     quick quick-release
  lines
     quick.21->ch.12


# bye
"""

CANONICAL = """\
# Truck 7
circuit "Two-axle truck"
  pressure psi  # unit shown
  rules    us

parts
  comp  compressor  "Compressor"
  dry   air-dryer

  # tanks

  wet     reservoir        "Supply reservoir"  volume=1200in3
  gov     governor         cut_in=100psi cut_out=125psi  # set at the school
  lf, rf  service-chamber  type=20                       # front
  # the end

# ---- pipes
lines
  comp -> dry -> wet
  service:  relay.2 -> lr.11, rr.11  length=3m hose
  x:        a.2,
      b.2 -- c.1  # both

states
  half-apply  "Half"  from ready:           foot 30%
  pump                from ready for 1min:  foot 80%,  # down
      # up again
      foot 0% at 2s, foot 80% at 4s

layout  # optional
  group "Rear axle": relay lr rr
  near foot: dash

use "a.pneu" as a
use "b.pneu" as b

assembly wheel-end  type=24  # repeats
  parts
    ch     spring-brake  type=type
    quick  quick-release
  lines
    quick.21 -> ch.12

# bye
"""


def test_a_netlist_is_put_in_order() -> None:
    assert formatted(LOOSE) == CANONICAL


def test_what_is_in_order_stays_as_it_is() -> None:
    assert formatted(CANONICAL) == CANONICAL


def test_an_empty_netlist_stays_empty() -> None:
    assert formatted("") == ""
    assert formatted("\n\n\n") == ""
    assert formatted("\n\n# only a comment") == "# only a comment\n"


def test_every_comment_stays_once() -> None:
    words = [word for word in LOOSE.split("\n") if "#" in word]
    comments = [line[line.index("#") :].rstrip() for line in words]
    assert len(comments) == len(set(comments)) == 13
    for comment in comments:
        assert CANONICAL.count(comment + "\n") == 1


def test_columns_are_counted_anew_behind_an_empty_line() -> None:
    text = "parts\n  a valve\n  much-longer valve\n\n  b valve\n  cc valve\n"
    assert (
        formatted(text) == "parts\n  a            valve\n  much-longer  valve\n\n  b   valve\n  cc  valve\n"
    )


def test_one_very_long_name_does_not_move_the_others() -> None:
    tags = ", ".join(f"chamber-{n}" for n in range(8))
    text = f"parts\n  {tags} valve\n  a valve\n  bcd valve\n"
    assert formatted(text) == f"parts\n  {tags}  valve\n  a    valve\n  bcd  valve\n"


def test_quotes_and_backslashes_are_written_as_they_were() -> None:
    text = 'circuit "The \\"wet\\" tank \\\\ #1"\n'
    assert formatted(text) == text


def test_comments_at_the_left_edge_belong_to_what_follows() -> None:
    text = "parts\n  a  valve\n\n  # of parts\n\n# of lines\n\nlines\n  a -> b\n"
    assert formatted(text) == text


@pytest.mark.parametrize("text", [LOOSE, CANONICAL])
def test_printing_changes_nothing_but_the_layout(text: str) -> None:
    tree, _ = parse(Source("text", text))
    again, messages = parse(Source("text", format_text(tree)))
    assert messages == ()
    assert again == tree


def test_the_package_ships_the_reference() -> None:
    import pneudraw.language

    assert pneudraw.language.__file__ is not None
    assert Path(pneudraw.language.__file__).with_name("reference.md").is_file()
