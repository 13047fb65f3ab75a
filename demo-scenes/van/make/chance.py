"""Chance that can be repeated: the same seed gives the same readings on every machine.

The sequence is SplitMix64 (Steele, Lea and Flood, "Fast splittable pseudorandom number generators",
2014), in whole numbers. The bell is the sum of twelve even draws less six (mean 0, variance 1): it
needs additions only, so no library's logarithm or sine can change a byte. Its tails end at 6 sigma.
"""

_MASK = (1 << 64) - 1


class Chance:
    """A stream of random numbers that a seed fixes."""

    def __init__(self, seed):
        self._state = seed & _MASK

    def even(self):
        """A number from 0 up to, not including, 1."""
        self._state = (self._state + 0x9E3779B97F4A7C15) & _MASK
        word = self._state
        word = ((word ^ (word >> 30)) * 0xBF58476D1CE4E5B9) & _MASK
        word = ((word ^ (word >> 27)) * 0x94D049BB133111EB) & _MASK
        return ((word ^ (word >> 31)) >> 11) / 9007199254740992.0

    def bell(self, sigma):
        """A deviation with standard deviation `sigma`."""
        return sigma * (sum(self.even() for _ in range(12)) - 6.0)
