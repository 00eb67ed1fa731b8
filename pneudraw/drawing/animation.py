"""The rules of a moving picture: beads run along the lines that carry air, each line from its turn on, then all again.

CSS alone. Where motion is not wanted (``prefers-reduced-motion``) or cannot be (paper) the beads are not there and
the still picture says the same with arrows and numbers.
"""

from __future__ import annotations

from pneudraw.drawing.shapes import Moving, Sheet, leaves

TURN = 1.2  # s from one line's beginning to the next one's
LAST = 4.0  # s all of them move before it begins again
PACE = 1.0  # s a bead takes to the place of the next


def orders(sheet: Sheet) -> dict[int, int]:
    """Return the turn (0, 1, 2 ...) of each number in the order of arrival."""
    found = sorted({item.order for item in leaves(sheet.shapes) if isinstance(item, Moving) and item.order})
    return {order: turn for turn, order in enumerate(found)}


def classes(turn: int, prefix: str) -> str:
    """Return the class names of a way whose air comes at a turn."""
    return f"{prefix}air {prefix}turn-{turn}"


def rules(sheet: Sheet, turns: dict[int, int], prefix: str) -> str:
    """Return the style sheet."""
    pitches = [item.pitch for item in leaves(sheet.shapes) if isinstance(item, Moving)]
    pitch = f"{max(pitches, default=1.0):.2f}"
    whole = TURN * max(0, len(turns) - 1) + LAST
    out = [
        f".{prefix}air{{visibility:hidden;stroke-linecap:round;stroke-dasharray:0 {pitch}}}",
        f"@keyframes {prefix}run{{from{{stroke-dashoffset:{pitch}}}to{{stroke-dashoffset:0}}}}",
    ]
    moving = [f".{prefix}air{{visibility:visible}}"]
    for turn in range(max(1, len(turns))):
        begin = 100 * TURN * turn / whole
        name = f"{prefix}turn-{turn}"
        if turn:
            out.append(
                f"@keyframes {name}{{0%,{begin:.2f}%{{opacity:0}}{begin + 0.01:.2f}%,100%{{opacity:1}}}}"
            )
        comes = f",{name} {whole:.2f}s linear infinite" if turn else ""
        moving.append(f".{name}{{animation:{prefix}run {PACE:g}s linear infinite{comes}}}")
    return f"{''.join(out)}@media screen and (prefers-reduced-motion:no-preference){{{''.join(moving)}}}"
