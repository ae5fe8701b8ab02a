"""Lot codes: every promise of the check character tried out, none taken from its proof."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.common.errors import MisreadCode
from seedbank.lots.tables.lot_codes import ALPHABET, LONGEST_CODE, code_for, normalise_code, slips

FIRST_OF_SIX = 17**4
FIRST_OF_SEVEN = 17**4 + 17**5
LAST = 17**4 + 17**5 + 17**6 - 1

# The first lots of a collection one by one, then some all over each length, with both ends.
SAMPLE = [
    *range(2_000),
    *range(2_000, FIRST_OF_SIX, 97),
    *range(FIRST_OF_SIX - 20, FIRST_OF_SIX + 300),
    *range(FIRST_OF_SIX, FIRST_OF_SEVEN, 4_999),
    *range(FIRST_OF_SEVEN, LAST, 99_991),
    LAST,
]


def _is_caught(text: str) -> bool:
    try:
        normalise_code(text)
    except MisreadCode:
        return True
    return False


def test_every_code_reads_back_as_itself() -> None:
    assert all(normalise_code(code_for(number)) == code_for(number) for number in SAMPLE)


def test_every_single_wrong_character_is_caught() -> None:
    missed = [
        (code, wrong)
        for code in map(code_for, SAMPLE)
        for place, right in enumerate(code)
        for character in ALPHABET
        if character != right
        and not _is_caught(wrong := code[:place] + character + code[place + 1 :])
    ]
    assert missed == []


def test_every_swap_of_two_characters_anywhere_is_caught() -> None:
    missed = []
    for code in map(code_for, SAMPLE):
        for i in range(len(code)):
            for j in range(i + 1, len(code)):
                swapped = list(code)
                swapped[i], swapped[j] = swapped[j], swapped[i]
                if code[i] != code[j] and not _is_caught("".join(swapped)):
                    missed.append((code, i, j))
    assert missed == []


def test_a_seventeenth_of_random_words_passes_as_a_code() -> None:
    # The check is one character of 17: were it stricter or laxer the share would show it.
    passed = sum(
        not _is_caught(a + b + c + d + e)
        for a in "0H7"
        for b in ALPHABET
        for c in ALPHABET
        for d in ALPHABET
        for e in ALPHABET
    )
    assert passed == 3 * 17**3


def test_no_two_lots_share_a_code() -> None:
    codes = [code_for(number) for number in range(FIRST_OF_SIX + 100_000)]
    assert len(set(codes)) == len(codes)


def test_codes_are_five_characters_then_six_then_seven() -> None:
    assert {len(code_for(n)) for n in (0, FIRST_OF_SIX - 1)} == {5}
    assert {len(code_for(n)) for n in (FIRST_OF_SIX, FIRST_OF_SEVEN - 1)} == {6}
    assert {len(code_for(n)) for n in (FIRST_OF_SEVEN, LAST)} == {7}
    assert LONGEST_CODE == 7


@given(st.integers(0, LAST - 1))
def test_neighbours_differ_in_every_character_of_the_body(number: int) -> None:
    one, other = code_for(number), code_for(number + 1)
    if len(one) == len(other):
        assert all(a != b for a, b in zip(one[:-1], other[:-1], strict=True))


def test_the_codes_on_old_packets_never_change() -> None:
    # Written down once: a change of alphabet or scramble would orphan every label there is.
    assert [code_for(n) for n in (0, 1, 2, FIRST_OF_SIX, LAST)] == [
        "77874",
        "0R3MY",
        "P2YY3",
        "H62KMW",
        "M194HMY",
    ]


@pytest.mark.parametrize("number", [-1, LAST + 1])
def test_numbers_without_a_code_are_refused(number: int) -> None:
    with pytest.raises(ValueError, match="lot"):
        code_for(number)


@given(st.integers(0, LAST), st.sampled_from([" ", "-", "–", "_", "."]))
def test_case_spaces_and_dashes_do_not_matter(number: int, separator: str) -> None:
    code = code_for(number)
    written = f" {code[:3].lower()}{separator}{code[3:].lower()} "
    assert normalise_code(written) == code


@pytest.mark.parametrize(("typed", "meant"), [("O", "0"), ("I", "1"), ("l", "1"), ("z", "2")])
@pytest.mark.parametrize("lower", [True, False])
def test_look_alikes_are_taken_for_the_digit_they_look_like(
    typed: str, meant: str, lower: bool
) -> None:
    code = next(c for c in map(code_for, range(1_000)) if meant in c)
    typed = typed.lower() if lower else typed.upper()
    assert normalise_code(code.replace(meant, typed)) == code


@pytest.mark.parametrize(
    ("text", "why"),
    [
        ("", "0 characters"),
        ("77", "2 characters"),
        ("7787477874", "10 characters"),
        ("7787S", "'S'"),
        ("7787é", "'É'"),
        ("77875", "'5'"),
        ("77878", "changed places"),
    ],
)
def test_a_misread_code_says_what_gave_it_away(text: str, why: str) -> None:
    with pytest.raises(MisreadCode, match=why) as refused:
        normalise_code(text)
    assert refused.value.text == text


@given(st.text(max_size=12))
def test_any_text_is_a_code_or_misread_and_nothing_else(text: str) -> None:
    try:
        code = normalise_code(text)
    except MisreadCode:
        return
    assert set(code) <= set(ALPHABET)
    assert normalise_code(code) == code


def test_the_code_meant_is_among_those_one_slip_away_with_the_slip_named() -> None:
    for code in map(code_for, SAMPLE[::400]):
        other = next(sign for sign in ALPHABET if sign not in code)
        for at, nth in enumerate(("first", "second", "third", "fourth", "fifth")):
            wrong = code[:at] + other + code[at + 1 :]
            assert text_of(slips(wrong)[code]) == f"the {nth} character is wrong"
            for text in (code[:at] + code[at + 1 :], code[:at] + other + code[at:]):
                if _is_caught(text):  # else a code of another length, once in seventeen
                    assert code in slips(text)
        if code[1] != code[2]:
            swapped = code[0] + code[2] + code[1] + code[3:]
            assert text_of(slips(swapped)[code]) == (
                "the second character and the next have changed places"
            )


def test_only_codes_are_one_slip_away_and_none_from_a_code() -> None:
    assert all(normalise_code(code) == code for code in slips("4K7PX"))
    assert slips(code_for(7)) == {}
    assert slips("a word far too long") == {}
    assert slips("") == {}
