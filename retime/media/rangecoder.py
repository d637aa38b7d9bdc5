"""The range decoder that FFV1 headers are written with: RFC 9043, section 3.8.1."""

from __future__ import annotations

__all__ = ["CONTEXT_SIZE", "RangeDecoder"]

CONTEXT_SIZE = 32
"""How many adaptive states one symbol's context has."""

_START = 128  # section 3.8.1.3: every state begins so
_LONGEST = 31  # bits of a symbol; more is damage

# Section 3.8.1.5, default_state_transition: the state that follows a one.
_DEFAULT_STATE_TRANSITION = """
      0   0   0   0   0   0   0   0  20  21  22  23  24  25  26  27
     28  29  30  31  32  33  34  35  36  37  37  38  39  40  41  42
     43  44  45  46  47  48  49  50  51  52  53  54  55  56  56  57
     58  59  60  61  62  63  64  65  66  67  68  69  70  71  72  73
     74  75  75  76  77  78  79  80  81  82  83  84  85  86  87  88
     89  90  91  92  93  94  94  95  96  97  98  99 100 101 102 103
    104 105 106 107 108 109 110 111 112 113 114 114 115 116 117 118
    119 120 121 122 123 124 125 126 127 128 129 130 131 132 133 133
    134 135 136 137 138 139 140 141 142 143 144 145 146 147 148 149
    150 151 152 152 153 154 155 156 157 158 159 160 161 162 163 164
    165 166 167 168 169 170 171 171 172 173 174 175 176 177 178 179
    180 181 182 183 184 185 186 187 188 189 190 190 191 192 194 194
    195 196 197 198 199 200 201 202 202 204 205 206 207 208 209 209
    210 211 212 213 215 215 216 217 218 219 220 220 222 223 224 225
    226 227 227 229 229 230 231 232 234 234 235 236 237 238 239 240
    241 242 243 244 245 246 247 248 248   0   0   0   0   0   0   0
"""
_AFTER_ONE = tuple(int(state) for state in _DEFAULT_STATE_TRANSITION.split())
# Section 3.8.1.4: zero_state[i] = 256 - one_state[256 - i].
_AFTER_ZERO = (0, *(256 - _AFTER_ONE[256 - state] for state in range(1, 256)))


class RangeDecoder:
    """Reads bits and integers; past the data's end it reads zeros, ``overrun`` telling so."""

    def __init__(self, data: bytes) -> None:
        """Start at the first byte of ``data``."""
        self._data = data
        self._next = 2
        self._range = 0xFF00
        self._low = int.from_bytes(data[:2].ljust(2, b"\0"), "big")

    @staticmethod
    def fresh_states() -> bytearray:
        """Return the states of a context as they are before its first symbol."""
        return bytearray([_START] * CONTEXT_SIZE)

    @property
    def overrun(self) -> bool:
        """Whether more was read than there is; the coder itself looks two bytes ahead."""
        return self._next > len(self._data) + 2

    def bit(self, states: bytearray, place: int = 0) -> bool:
        """Read one bit with the state at ``place``, and adapt that state."""
        part = self._range * states[place] >> 8
        rest = self._range - part
        one = self._low >= rest
        if one:
            self._low -= rest
            self._range = part
            states[place] = _AFTER_ONE[states[place]]
        else:
            self._range = rest
            states[place] = _AFTER_ZERO[states[place]]
        if self._range < 1 << 8:
            following = self._data[self._next] if self._next < len(self._data) else 0
            self._range <<= 8
            self._low = self._low << 8 | following
            self._next += 1
        return one

    def number(self, states: bytearray, *, signed: bool = False, longest: int = _LONGEST) -> int:
        """Read an integer: section 3.8.1.2. Raises ValueError for one of over ``longest`` bits."""
        if self.bit(states, 0):
            return 0
        exponent = 0
        while self.bit(states, 1 + min(exponent, 9)):
            exponent += 1
            if exponent > longest:
                raise ValueError("a number is too long")
        value = 1
        for place in reversed(range(exponent)):
            value = value << 1 | self.bit(states, 22 + min(place, 9))
        negative = signed and self.bit(states, 11 + min(exponent, 10))
        return -value if negative else value
