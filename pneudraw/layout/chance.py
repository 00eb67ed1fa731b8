"""A small random sequence of our own, so that a layout is the same on every machine and Python version."""

from __future__ import annotations

_MASK = (1 << 64) - 1


class Chance:
    """Xorshift generator (Marsaglia 2003, "Xorshift RNGs", triple 13, 7, 17)."""

    def __init__(self, seed: int) -> None:
        self.state = (seed * 0x9E3779B97F4A7C15 + 0x1234567) & _MASK or 1

    def below(self, n: int) -> int:
        """A number from 0 to n - 1."""
        x = self.state
        x ^= (x << 13) & _MASK
        x ^= x >> 7
        x ^= (x << 17) & _MASK
        self.state = x
        return (x >> 11) % n

    def shuffled(self, items: list[int]) -> list[int]:
        """A shuffled copy."""
        out = list(items)
        for i in range(len(out) - 1, 0, -1):
            j = self.below(i + 1)
            out[i], out[j] = out[j], out[i]
        return out
