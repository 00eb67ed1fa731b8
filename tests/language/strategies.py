"""Random netlists, made as trees: what the printer can be given."""

from __future__ import annotations

from hypothesis import strategies as st

from pneudraw.language import tree as t
from pneudraw.source import Source, Span
from pneudraw.units import UNITS, parse_quantity

NOWHERE = Span(Source("made up", ""), 0, 0)

_LETTERS = "abcdxyzABC"


def _word(head: str, rest: str, tails: list[str]) -> t.Word:
    return t.Word("-".join([head + rest, *tails]), NOWHERE)


words = st.builds(
    _word,
    st.sampled_from(_LETTERS),
    st.text(_LETTERS + "019_", max_size=5),
    st.lists(st.text(_LETTERS + "019_", min_size=1, max_size=3), max_size=2),
)
keywords = st.sampled_from(
    [
        "from",
        "for",
        "at",
        "in",
        "line",
        "parts",
        "lines",
        "use",
        "circuit",
        "group",
        "order",
        "abs",
        "psi",
        "s",
        "hose",
    ]
).map(lambda text: t.Word(text, NOWHERE))
tags = words | keywords
pieces = st.text(_LETTERS + "0123_", min_size=1, max_size=3).map(lambda text: t.Word(text, NOWHERE))
paths = st.builds(lambda first, rest: t.Path((first, *rest), NOWHERE), tags, st.lists(pieces, max_size=3))

# what may stand in a quoted text or a comment: no control characters, no marks that turn the direction
_characters = st.characters(exclude_categories=("Cc", "Cs", "Zl", "Zp"), exclude_characters="‪‫‬‭‮⁦⁧⁨⁩")
quoted = st.text(_characters, max_size=12).map(lambda text: t.Quoted(text, NOWHERE))
comments = st.text(_characters, max_size=12).map(lambda text: f"#{text}".rstrip())

numbers = st.sampled_from(["0", "3", "1.5", ".25", "12.", "-4", "+0.5", "1e3", "2.5E-2", "007"])
measures = st.builds(
    lambda number, unit, absolute: t.Measure(
        parse_quantity(number + unit + (" abs" if absolute else "")), NOWHERE
    ),
    numbers,
    st.sampled_from(["", *UNITS]),
    st.just(False),
) | st.builds(lambda number: t.Measure(parse_quantity(f"{number}bar abs"), NOWHERE), numbers)
times = numbers.map(lambda number: t.Measure(parse_quantity(f"{number}s"), NOWHERE))


def _options(keys: st.SearchStrategy[t.Word], most: int = 3) -> st.SearchStrategy[tuple[t.Option, ...]]:
    return st.lists(
        st.builds(lambda key, value: t.Option(key, value, NOWHERE), keys, measures | tags | quoted),
        max_size=most,
        unique_by=lambda option: option.key.text,
    ).map(tuple)


@st.composite
def _notes(draw: st.DrawFn, commas: int = 0) -> t.Notes:
    before: list[str] = []
    for line in draw(st.lists(comments | st.just(""), max_size=3)):
        if line or not before or before[-1]:
            before.append(line)
    breaks = []
    if commas and draw(st.booleans()):
        for comma in sorted(draw(st.sets(st.integers(0, commas - 1), min_size=1))):
            breaks.append(
                t.Break(comma, draw(comments | st.just("")), tuple(draw(st.lists(comments, max_size=2))))
            )
    return t.Notes(tuple(before), draw(comments | st.just("")), tuple(breaks))


@st.composite
def _parts(draw: st.DrawFn) -> t.PartDecl:
    names = draw(st.lists(tags, min_size=1, max_size=3))
    notes = draw(_notes(len(names) - 1))
    return t.PartDecl(
        tuple(names), draw(tags), draw(st.none() | quoted), draw(_options(tags)), NOWHERE, notes
    )


@st.composite
def _lines(draw: st.DrawFn) -> t.LineDecl:
    middle = draw(st.lists(paths.map(lambda path: t.Group((path,), NOWHERE)), max_size=2))
    ends = [t.Group(tuple(draw(st.lists(paths, min_size=1, max_size=3))), NOWHERE) for _ in range(2)]
    groups = (ends[0], *middle, ends[1])
    separators = tuple(t.Separator(draw(st.booleans()), NOWHERE) for _ in groups[1:])
    keys = st.sampled_from(["length", "bore"]).map(lambda text: t.Word(text, NOWHERE))
    flags = draw(st.sampled_from([(), (t.Word("hose", NOWHERE),)]))
    notes = draw(_notes(sum(len(group.ends) - 1 for group in groups)))
    return t.LineDecl(draw(st.none() | tags), groups, separators, draw(_options(keys)), flags, NOWHERE, notes)


inputs = st.builds(t.InputSetting, paths, measures | tags, st.none() | times, st.just(NOWHERE))
part_faults = st.builds(t.PartFault, paths, words, st.none() | measures, st.just(NOWHERE))
line_faults = st.builds(
    lambda target, fault, size: t.LineFault(target, t.Word(fault, NOWHERE), size, NOWHERE),
    paths,
    st.sampled_from(["broken", "blocked", "restricted", "leaks"]),
    st.none(),
) | st.builds(
    lambda target, size: t.LineFault(target, t.Word("leaks", NOWHERE), size, NOWHERE), paths, measures
)


@st.composite
def _states(draw: st.DrawFn) -> t.StateDecl:
    settings = draw(st.lists(inputs | part_faults | line_faults, max_size=4))
    notes = draw(_notes(max(0, len(settings) - 1)))
    title = draw(st.none() | quoted)
    return t.StateDecl(
        draw(tags), title, draw(tags), draw(st.none() | times), tuple(settings), NOWHERE, notes
    )


@st.composite
def _hints(draw: st.DrawFn) -> t.HintDecl:
    word = draw(st.sampled_from(["group", "order", "column", "side", "mirror", "near"]))
    value: t.Quoted | t.Measure | t.Word | t.Path | None = None
    match word:
        case "group":
            value = draw(quoted)
        case "column":
            value = t.Measure(parse_quantity(str(draw(st.integers(1, 99)))), NOWHERE)
        case "side":
            value = t.Word(draw(st.sampled_from(["left", "right", "top", "bottom"])), NOWHERE)
        case "near":
            value = draw(paths)
    members = tuple(draw(st.lists(paths, min_size=1, max_size=4)))
    return t.HintDecl(t.Word(word, NOWHERE), value, members, NOWHERE, draw(_notes(len(members) - 1)))


def _first(statements: list[object]) -> tuple[object, ...]:
    """Take the empty lines off the top of a section: there are none in the canonical layout."""
    if not statements:
        return ()
    first = statements[0]
    notes = first.notes  # type: ignore[attr-defined]
    before = notes.before[1:] if notes.before and not notes.before[0] else notes.before
    values = {**first.__dict__, "notes": t.Notes(before, notes.after, notes.breaks)}
    return (type(first)(**values), *statements[1:])


@st.composite
def _head_notes(draw: st.DrawFn) -> t.Notes:
    before = draw(_notes()).before
    return t.Notes(before[1:] if before and not before[0] else before, draw(comments | st.just("")))


@st.composite
def _tail(draw: st.DrawFn) -> tuple[str, ...]:
    tail = draw(_notes()).before
    return tail[:-1] if tail and not tail[-1] else tail


@st.composite
def _inner(draw: st.DrawFn, kind: str, *, tail: bool) -> t.InnerBlock | t.StatesBlock:
    statements = {"parts": _parts(), "lines": _lines(), "states": _states(), "layout": _hints()}[kind]
    make = {"parts": t.PartsBlock, "lines": t.LinesBlock, "states": t.StatesBlock, "layout": t.LayoutBlock}[
        kind
    ]
    body = _first(draw(st.lists(statements, max_size=4)))
    return make(t.Word(kind, NOWHERE), body, draw(_head_notes()), draw(_tail()) if tail else ())  # type: ignore[arg-type,return-value]


@st.composite
def _circuit(draw: st.DrawFn) -> t.CircuitBlock:
    settings = []
    for key, values in draw(st.permutations([("pressure", ["psi", "bar"]), ("rules", ["us", "none"])])):
        if draw(st.booleans()):
            value = t.Word(draw(st.sampled_from(values)), NOWHERE)
            settings.append(t.CircuitSetting(t.Word(key, NOWHERE), value, NOWHERE, draw(_notes())))
    title = draw(quoted)
    return t.CircuitBlock(
        t.Word("circuit", NOWHERE), title, _first(settings), draw(_head_notes()), draw(_tail())
    )  # type: ignore[arg-type]


@st.composite
def _block(draw: st.DrawFn) -> t.Block:
    kind = draw(st.sampled_from(["parts", "lines", "states", "layout", "use", "assembly"]))
    if kind == "use":
        use = t.Word("use", NOWHERE)
        return t.UseDecl(use, draw(quoted), draw(tags), NOWHERE, draw(_head_notes()), draw(_tail()))
    if kind == "assembly":
        inner = tuple(
            draw(_inner(name, tail=False))
            for name in draw(st.lists(st.sampled_from(["parts", "lines", "layout"]), max_size=3))
        )
        head = t.Word("assembly", NOWHERE)
        return t.AssemblyDecl(
            head, draw(tags), draw(_options(tags)), inner, NOWHERE, draw(_head_notes()), draw(_tail())
        )  # type: ignore[arg-type]
    return draw(_inner(kind, tail=True))


@st.composite
def documents(draw: st.DrawFn) -> t.Document:
    """Draw a document as the parser makes them."""
    blocks = draw(st.lists(_block(), max_size=4))
    if draw(st.booleans()):
        blocks.insert(draw(st.integers(0, len(blocks))), draw(_circuit()))
    tail = draw(_tail())
    return t.Document(NOWHERE.source, tuple(blocks), tail[1:] if tail and not tail[0] else tail)
