"""What a closed passage waits for, in words: an input, a memory, a pressure, one pressure above another."""

from __future__ import annotations

from collections.abc import Iterable, Sequence

from pneudraw.flow.causes import Need
from pneudraw.teach import naming
from pneudraw.teach.speaking import Speaker

EVIDENT = 0.05  # bar: a smaller difference is none


class Condition:
    """The condition of a passage of the part ``tag``: the weighted sum of its needs must pass a level."""

    def __init__(self, speaker: Speaker, tag: str, needs: Sequence[Need], level: float) -> None:
        self.speaker, self.tag, self.needs, self.level = speaker, tag, needs, level

    def opens_when(self) -> str:
        """Return one input or memory, one pressure, or one above another: ``the pressure at ...``."""
        worked = [self._worked(need) for need in self.needs if need.sort != "pressure"]
        pressures = [need for need in self.needs if need.sort == "pressure"]
        up = [need for need in pressures if need.weight > 0]
        down = [need for need in pressures if need.weight < 0]
        if worked:
            text = naming.listed(worked)
            return f"{text} more than {self._names(down)} holds against it" if down else text
        if len(up) == 1 and not down:
            level = self.speaker.pressure(self.level / up[0].weight)
            return f"the pressure at {self._names(up)} rises above {level}"
        if len(down) == 1 and not up:
            level = self.speaker.pressure(self.level / down[0].weight)
            return f"the pressure at {self._names(down)} falls below {level}"
        if len(up) == 1 and len(down) == 1 and abs(up[0].weight + down[0].weight) < 1e-9:
            by = self.level / up[0].weight
            above = (
                "is higher than that"
                if abs(by) < EVIDENT
                else f"is more than {self.speaker.pressure(by)} above that"
            )
            if by < -EVIDENT:
                above = f"is no more than {self.speaker.pressure(-by)} below that"
            return f"the pressure at {self._names(up)} {above} at {self._names(down)}"
        return (
            f"the pressure at {self._names(up)} outweighs that at {self._names(down)}"
            if up and down
            else f"the pressures at {self._names(pressures)} change"
        )

    def _worked(self, need: Need) -> str:
        if need.sort == "input":
            inp = naming.input_of(self.speaker.circuit, self.tag, need.name)
            if inp.positions:
                return f"its {inp.title} is {naming.value_words(inp, 1.0 if need.weight > 0 else 0.0)}"
            return f"its {inp.title} asks for"
        return naming.stand_words(
            self.speaker.circuit, self.tag, need.name, 1 if need.weight > 0 else 0, self.tag
        )

    def _names(self, needs: Iterable[Need]) -> str:
        return naming.listed(self.speaker.place(need.name, self.tag) for need in needs)

    def now(self) -> str:
        """Return how things stand, to be put behind the condition."""
        return "".join(f"; {text}" for text in (naming.listed(self._stand(n) for n in self.needs),) if text)

    def _stand(self, need: Need) -> str:
        if need.sort == "pressure":
            return f"{self.speaker.place(need.name, self.tag)} is at {self.speaker.pressure(need.value)}"
        if need.sort == "input":
            inp = naming.input_of(self.speaker.circuit, self.tag, need.name)
            return f"its {inp.title} is at {naming.value_words(inp, need.value)}"
        return naming.stand_words(self.speaker.circuit, self.tag, need.name, round(need.value), self.tag)
