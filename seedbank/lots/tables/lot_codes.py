"""Lot codes: short, readable aloud, with a check character that catches a misread one.

The alphabet has 17 characters: a prime, so that one weighted check character is enough. It is
chosen (common practice, no single source) so that no two are easily mistaken for each other by
eye (no O, Q, D, I, L, J, Z, S, B, G, U, V) or by ear (of the letters that rhyme with "three" only
P; five is left out for nine, A and J for K, N for M, F and S for X). Without A, E, I, O and U it
spells hardly a word.

Check character: the pure system of ISO/IEC 7064 with modulus 17 and radix 2. With values c_i
and weights 2^i from the right, sum(c_i 2^i) = 1 (mod 17). One wrong character changes the sum by
2^i (a - b), a swap of two by (2^i - 2^j)(a - b): neither is a multiple of the prime 17 while
a != b and the places are fewer than 8 apart (2 has order 8 modulo 17), so both are always caught.
"""

from seedbank.common.errors import MisreadCode
from seedbank.science.quantities import Finding

ALPHABET = "012346789HKMPRWXY"
_P = len(ALPHABET)
_VALUE = {character: value for value, character in enumerate(ALPHABET)}

# Characters that aren't in the alphabet and look like just one that is.
_LOOKS_LIKE = str.maketrans({"O": "0", "I": "1", "L": "1", "Z": "2", "B": "8", "G": "6"})
_SEPARATORS = str.maketrans("", "", " -_.‐–—\t\u00a0")

# Per body length: multiplier and offset of number -> (multiplier * number + offset) mod 17^length,
# one to one because 17 divides no multiplier. No base-17 digit of a multiplier is 0 or 16, so the
# codes of two successive numbers differ in every character of the body, whatever is carried.
_SCRAMBLE = {
    4: (((11 * 17 + 6) * 17 + 13) * 17 + 5, 31_337),
    5: ((((9 * 17 + 4) * 17 + 14) * 17 + 7) * 17 + 10, 777_013),
    6: (((((12 * 17 + 5) * 17 + 9) * 17 + 3) * 17 + 14) * 17 + 7, 9_106_221),
}
LONGEST_CODE = max(_SCRAMBLE) + 1


def code_for(number: int) -> str:
    """The code of the ``number``-th lot, counted from 0: always the same, never another's.

    Five characters with the check for the first 83,521 lots, six for the next 1,419,857.
    Raises ValueError: a number below 0 or beyond the last code (25.6 million).
    """
    if number < 0:
        raise ValueError(f"lots are counted from 0, not {number}")
    within = number
    for length, (multiplier, offset) in _SCRAMBLE.items():
        size = _P**length
        if within < size:
            body = _spell((multiplier * within + offset) % size, length)
            return body + _check_character(body)
        within -= size
    raise ValueError(f"no code left for lot number {number}")


def normalise_code(text: str) -> str:
    """The code as it is stored, from one typed or read aloud.

    Case, spaces and dashes don't matter; O, I, L, Z, B and G are taken for the digit each looks
    like. Raises MisreadCode: wrong length, a character no code has, or a check that fails.
    """
    code = text.translate(_SEPARATORS).upper().translate(_LOOKS_LIKE)
    lengths = [length + 1 for length in _SCRAMBLE]
    if len(code) not in lengths:
        raise MisreadCode(
            text, Finding("code-length", {"characters": len(code), "least": lengths[0]})
        )
    for character in code:
        if character not in _VALUE:
            raise MisreadCode(text, Finding("code-character", {"character": repr(character)}))
    if _check_character(code[:-1]) != code[-1]:
        raise MisreadCode(text, Finding("code-check-failed"))
    return code


def is_code(text: str) -> bool:
    """Whether a text, as it is typed, is a code, of a lot that is there or not."""
    try:
        normalise_code(text)
    except MisreadCode:
        return False
    return True


def slips(text: str) -> dict[str, Finding]:
    """Codes one slip of the pen away from a text that is none, and which slip it would be.

    A slip is one wrong character, two neighbours in each other's place, one left out or one too
    many. Empty if the text is a code, or too long or short for one slip.
    """
    code = text.translate(_SEPARATORS).upper().translate(_LOOKS_LIKE)
    if len(code) > LONGEST_CODE + 1:
        return {}
    found: dict[str, Finding] = {}
    for at in range(len(code) + 1):
        before, here, after = code[:at], code[at : at + 1], code[at + 1 :]

        def slip(kind: str, place: int = at + 1) -> Finding:
            return Finding("code-slip", {"place": place, "slip": kind})

        if len(after) > 0:
            swapped = before + after[0] + here + after[1:]
            found.setdefault(swapped, slip("swapped"))
        if here:
            for other in ALPHABET:
                found.setdefault(before + other + after, slip("wrong"))
            found.setdefault(before + after, slip("too-many"))
        for other in ALPHABET:
            found.setdefault(before + other + here + after, slip("left-out"))
    lengths = {length + 1 for length in _SCRAMBLE}
    if len(code) in lengths and _is_code(code):
        return {}
    return {one: slip for one, slip in found.items() if len(one) in lengths and _is_code(one)}


def _is_code(code: str) -> bool:
    return all(sign in _VALUE for sign in code) and _check_character(code[:-1]) == code[-1]


def _spell(value: int, length: int) -> str:
    characters = []
    for _ in range(length):
        value, digit = divmod(value, _P)
        characters.append(ALPHABET[digit])
    return "".join(reversed(characters))


def _check_character(body: str) -> str:
    total = 0
    for character in body:
        total = (total + _VALUE[character]) * 2 % _P
    return ALPHABET[(1 - total) % _P]
