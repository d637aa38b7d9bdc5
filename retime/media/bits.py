"""Reads the bits of a coded stream's headers, most significant first."""

from __future__ import annotations

__all__ = ["BitReader"]

_LONGEST_CODE = 32  # leading zeros of an Exp-Golomb code: none of H.264 has more


class BitReader:
    """Bits of a header, taken one field after another."""

    def __init__(self, data: bytes) -> None:
        """Stand before the first bit."""
        self._value = int.from_bytes(data, "big")
        self._left = 8 * len(data)

    def take(self, count: int) -> int:
        """Return the next bits as a number; raises ValueError, as a clause, past the end."""
        if count > self._left:
            raise ValueError("a header ends early")
        self._left -= count
        return self._value >> self._left & (1 << count) - 1

    def flag(self) -> bool:
        """Return the next bit."""
        return self.take(1) == 1

    def unsigned(self) -> int:
        """Return the next ue(v), an unsigned Exp-Golomb code (ITU-T H.264, section 9.1)."""
        zeros = 0
        while not self.flag():
            zeros += 1
            if zeros > _LONGEST_CODE:
                raise ValueError("a header makes no sense")
        return (1 << zeros) - 1 + self.take(zeros)

    def signed(self) -> int:
        """Return the next se(v), a signed Exp-Golomb code (ITU-T H.264, section 9.1.1)."""
        code = self.unsigned()
        return (code + 1) // 2 if code % 2 else -(code // 2)
