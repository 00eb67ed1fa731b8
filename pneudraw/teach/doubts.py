"""What is said where the end of a state hangs on a knife edge: in a trace, on a sheet, beside a cause."""

from __future__ import annotations

from collections.abc import Sequence

MOST_PLACES = 4  # named; chambers before ports: it is the brake that stays on or not


def doubt_words(doubts: Sequence[str], unsure: Sequence[str], state: str = "") -> tuple[str, ...]:
    """Return the sentences: none where all is certain.

    ``doubts``: ports and chambers whose end pressure is uncertain; ``unsure``: states before whose end is.
    ``state`` is named where several are told of together.
    """
    out = []
    if unsure:
        names = " and ".join(f"`{name}`" for name in unsure)
        out.append(f"Where {state or 'it'} begins is not certain: the end of {names} hangs on a knife edge.")
    if doubts:
        places = sorted(doubts, key=lambda place: "/" not in place)
        shown = ", ".join(places[:MOST_PLACES]) + (" and others" if len(places) > MOST_PLACES else "")
        out.append(
            f"How {state or 'it'} ends is not certain: the pressure at {shown} hangs on a knife edge; a real vehicle"
            " may do either."
        )
    return tuple(out)
