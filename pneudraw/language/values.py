"""Numbers with units, and ``key=value``."""

from __future__ import annotations

import re

from pneudraw.diagnostics import Label, did_you_mean
from pneudraw.language.cursor import NAMES, Cursor
from pneudraw.language.lexer import Tok, Token
from pneudraw.language.tree import Measure, Option, Quoted, Value, Word
from pneudraw.source import Span
from pneudraw.units import NUMBER, UNITS, UnitError, parse_quantity

#: spellings of units that are met in the trade, and what they are called here
OTHER_SPELLINGS = {
    "psig": "psi",
    "psia": "psi abs",
    "lbs": "psi",
    "kpa": "kPa",
    "l": "L",
    "lt": "L",
    "ltr": "L",
    "litre": "L",
    "liter": "L",
    "litres": "L",
    "liters": "L",
    "ml": "mL",
    "cc": "cm3",
    "cuin": "in3",
    "cu.in": "in3",
    "in³": "in3",
    "m³": "m3",
    "cm³": "cm3",
    "mm²": "mm2",
    "inch": "in",
    "inches": "in",
    "metre": "m",
    "meter": "m",
    "metres": "m",
    "meters": "m",
    "foot": "ft",
    "feet": "ft",
    "sec": "s",
    "secs": "s",
    "second": "s",
    "seconds": "s",
    "mins": "min",
    "minute": "min",
    "minutes": "min",
    "percent": "%",
    "cfm": "ft3/min",
}
COMMON = ("psi", "kPa", "bar", "in3", "L", "mm", "m", "in", "ft", "s", "min", "%")

_BARE = re.compile(rf"{NUMBER}\Z")
_NUMBER = re.compile(NUMBER)
_SPACED_UNIT = re.compile(r"[ \t]+(?P<unit>[A-Za-z%][A-Za-z0-9/().%]*)(?=[\s,:#]|\Z)(?!\s*=)")
_ABSOLUTE = re.compile(r"[ \t]+(?P<abs>abs)(?=[\s,:#]|\Z)(?!\s*=)")
_THOUSANDS = re.compile(r"\d{3}(?!\d)")
_FRACTION = re.compile(r"(?:(\d+)[ -])?(\d{1,3})/(\d{1,3})([A-Za-z]*)\Z")


def measure(cursor: Cursor) -> Measure | None:
    """Return the number with unit that stands here (there must be a number token), None if it is wrong.

    A space before the unit and before ``abs`` is allowed: ``100 psi``, ``8 bar abs``.
    """
    token = cursor.next()
    source, end = token.span.source, token.span.end
    text = token.value
    line_end = source.text.find("\n", end)
    line_end = len(source.text) if line_end < 0 else line_end
    if _decimal_comma(cursor, token):
        return None
    unit = _SPACED_UNIT.match(source.text, end, line_end)
    if _BARE.match(text) and unit and unit["unit"] in UNITS:
        text, end = text + unit["unit"], unit.end()
    absolute = _ABSOLUTE.match(source.text, end, line_end)
    if absolute:
        text, end = f"{text} abs", absolute.end()
    cursor.skip_to(end)
    span = Span(source, token.span.start, end)
    try:
        return Measure(parse_quantity(text), span)
    except UnitError as fault:
        _say_unit_error(cursor, fault, text, span)
        return None


def _decimal_comma(cursor: Cursor, token: Token) -> bool:
    comma, more = cursor.peek(), cursor.peek(1)
    if comma is None or more is None or comma.kind is not Tok.COMMA or more.kind is not Tok.NUMBER:
        return False
    if not (token.touches(comma) and comma.touches(more) and _BARE.match(token.value)):
        return False
    cursor.at += 2
    help = f"write a point: `{token.value}.{more.value}`"
    if _THOUSANDS.match(more.value):
        help = f"write `{token.value}{more.value}`; or `{token.value}.{more.value}` if the comma is a decimal one"
    cursor.say("decimal-comma", "a comma in a number", token.span.to(more.span), help=help)
    return True


def _say_unit_error(cursor: Cursor, fault: UnitError, text: str, span: Span) -> None:
    number = _NUMBER.match(text)
    rest = text[number.end() :] if number else text
    if number is not None and fault.word == number[0]:
        cursor.say("bad-value", str(fault), span)
        return
    if fault.word == rest.split(" ")[0] and number is not None:
        at = span.text.find(fault.word)
        place = Span(span.source, span.start + at, span.start + at + len(fault.word)) if at >= 0 else span
        code = "wrong-unit" if fault.word in UNITS else "unknown-unit"
        help = "leave out `abs`" if fault.word in UNITS else unit_help(fault.word)
        cursor.say(code, str(fault), place, help=help)
        return
    fraction = _FRACTION.match(text)
    if fraction and int(fraction[3]):
        decimal = int(fraction[1] or 0) + int(fraction[2]) / int(fraction[3])
        help = f"write a decimal number: `{decimal:.6g}{fraction[4]}`"
        cursor.say("bad-value", f"`{text}` is a fraction", span, help=help)
        return
    if number is not None and rest and rest[0] not in "0123456789.+-":
        cursor.say("unknown-unit", f"unknown unit `{rest}`", span, help=unit_help(rest))
        return
    cursor.say("bad-value", str(fault), span, help="for example `100psi`, `9.5mm`, `30%`")


def unit_help(word: str) -> str:
    """Return the unit that was probably meant, and the common ones."""
    other = OTHER_SPELLINGS.get(word.lower())
    near = f"did you mean `{other}`?" if other else did_you_mean(word, UNITS)
    return f"{near} common units: {', '.join(COMMON)}".strip()


def value(cursor: Cursor, key: Word) -> Value | None:
    """Return the value behind ``=``: a number with unit, a word or a quoted text; None if it is wrong."""
    token = cursor.peek()
    if token is None or token.kind not in (Tok.NUMBER, Tok.NAME, Tok.QUOTED):
        message = f"`{key}` has no value"
        raise cursor.stop(
            "missing-value", message, cursor.end, help="write a number with its unit behind the `=`"
        )
    if token.kind is Tok.NUMBER:
        return measure(cursor)
    if token.kind is Tok.NAME and cursor.sees(Tok.EQUALS, ahead=1):
        cursor.say(
            "missing-value",
            f"`{key}` has no value",
            cursor.end,
            "write a number with its unit behind the `=`",
        )
        return None
    cursor.at += 1
    if token.kind is Tok.QUOTED:
        return Quoted(token.value, token.span)
    if not re.fullmatch(r"[A-Za-z][A-Za-z0-9_]*(?:-[A-Za-z0-9_]+)*", token.value):
        cursor.say("bad-value", f"`{token.value}` is no value", token.span, help=NAMES)
        return None
    return Word(token.value, token.span)


def option(cursor: Cursor, so_far: list[Option]) -> None:
    """Read ``key=value`` (the cursor sees a name and ``=``) and add it to those read so far."""
    key = cursor.word("a key")
    cursor.next()
    found = value(cursor, key)
    if found is None:
        return
    first = next((option for option in so_far if option.key.text == key.text), None)
    if first is not None:
        related = [Label(first.key.span, "first here")]
        cursor.say(
            "duplicate-option",
            f"`{key}` is given twice",
            key.span,
            "delete one of them",
            "again here",
            related,
        )
        return
    so_far.append(Option(key, found, key.span.to(found.span)))


def lone_unit(cursor: Cursor, so_far: list[Option]) -> bool:
    """Report a word behind a bare number as a unit nobody knows, and go past it; False if it is not that."""
    token = cursor.peek()
    if token is None or token.kind is not Tok.NAME or cursor.sees(Tok.EQUALS, ahead=1) or not so_far:
        return False
    last = so_far[-1].value
    if (
        not isinstance(last, Measure)
        or last.quantity.dimension != "number"
        or last.span.end != cursor.end.end
    ):
        return False
    cursor.at += 1
    cursor.say("unknown-unit", f"unknown unit `{token.value}`", token.span, help=unit_help(token.value))
    so_far.pop()  # or the number would be reported once more, as one without a unit
    return True
