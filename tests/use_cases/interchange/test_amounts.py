"""Amounts as people write them.

What the words are worth is common practice with no single source (``written_amounts``); that an
ounce is 28.349523125 g is the international agreement of 1959 (from memory).
"""

import math

import pytest
from hypothesis import example, given
from hypothesis import strategies as st

from seedbank.common.catalogue import text_of
from seedbank.common.forms import MOST
from seedbank.facts import loaders
from seedbank.interchange.spreadsheet.amounts import Settled, read_amount, settle
from seedbank.interchange.spreadsheet.answers import Sure
from seedbank.interchange.spreadsheet.cells import number_in

CARROT_G, CARROT_SE_G = 1.25, 0.15  # invented, near a carrot's


def settled(text: str, unit: str = "", size: float | None = None) -> Settled:
    return settle(read_amount(text, unit), tsw_g=CARROT_G, tsw_se_g=CARROT_SE_G, packet_size=size)


@pytest.mark.parametrize(
    ("text", "seeds", "se"),
    [
        ("50", 50, 0), ("50 seeds", 50, 0), ("1,200", 1200, 0), ("1 200", 1200, 0),
        ("seven", 7, 0), ("50 (old)", 50, 0), ("50 left", 50, 0), ("x50", None, 0),
        ("approx 50", 50, 10), ("~50", 50, 10), ("c. 50", 50, 10), ("50?", 50, 10),
        ("50ish", 50, 10), ("about a dozen", 12, 2.4), ("50 or so", 50, 10),
        ("50-60", 55, 2.5), ("50 – 60 seeds", 55, 2.5), ("60 to 50", 55, 2.5),
        ("100+", 125, 25), ("over 100", 125, 25), ("<50", 25, 50 / math.sqrt(12)),
        ("a few", 6, 2.25), ("several seeds", 9, 4), ("lots", 300, 487.5),
    ],
)  # fmt: skip
def test_counts_are_read_with_the_error_their_words_admit(
    text: str, seeds: int | None, se: float
) -> None:
    read = settled(text)
    assert read.seeds == seeds
    assert read.seeds_se == pytest.approx(se)
    if seeds is not None:
        assert read.sure is (Sure.ESTIMATED if se else Sure.WRITTEN)


@pytest.mark.parametrize(
    ("text", "grams"),
    [("3 g", 3), ("0,5g", 0.5), (".5 grams", 0.5), ("0.5 oz", 14.1747615625), ("1/4 oz", 7.08738),
     ("2 lb", 907.18474), ("250 mg", 0.25), ("1 1/2 ounces", 42.5242846875)],
)  # fmt: skip
def test_weights_stay_weights(text: str, grams: float) -> None:
    read = settled(text)
    assert read.grams == pytest.approx(grams, rel=1e-5)
    assert (read.seeds, read.sure) == (None, Sure.WRITTEN)


def test_a_weight_in_doubt_becomes_seeds_with_both_errors() -> None:
    read = settled("~3 g")
    assert read.seeds == 2400
    assert read.seeds_se == pytest.approx(2400 * math.hypot(0.2, CARROT_SE_G / CARROT_G))


def test_a_weight_of_seed_nobody_knows_books_nothing_and_says_so() -> None:
    read = settle(read_amount("3 g"), tsw_g=None, tsw_se_g=0, packet_size=None)
    assert (read.seeds, read.grams, read.sure) == (None, None, Sure.KEPT)
    assert "nothing is known of this seed’s weight" in text_of(read.said)


def test_a_part_of_a_packet_is_seeds_once_the_packet_is_known() -> None:
    quarter = settled("1/4 packet", size=200)
    assert quarter.seeds == 50
    assert quarter.seeds_se == pytest.approx(math.hypot(0.25 * 20, 200 * 0.05))
    assert "of 200 seeds" in text_of(quarter.said)
    assert settled("1/4 packet of 200").seeds == 50


@pytest.mark.parametrize(
    ("tsw_g", "most"), [(300.0, "100"), (10.0, "250"), (1.0, "1500"), (None, "1000")]
)
def test_a_packet_of_unknown_size_is_an_assumption_that_is_said_and_wide(
    tsw_g: float | None, most: str
) -> None:
    read = settle(read_amount("a packet"), tsw_g=tsw_g, tsw_se_g=0, packet_size=None)
    assert read.sure is Sure.ESTIMATED
    assert f"to {most} seeds (assumed: " in text_of(read.said)
    assert read.seeds is not None
    assert read.seeds_se > 0.6 * read.seeds
    assert any("no single source" in source for source in read.sources)


@pytest.mark.parametrize(
    "text", ["half a jar", "a handful", "?", "see Ann", "1/0 packet", "50 x y", "full", "packet"]
)
def test_what_nobody_can_count_is_some(text: str) -> None:
    read = settled(text)
    assert (read.seeds, read.grams, read.sure) == (None, None, Sure.KEPT)
    assert "taken in as some, not counted" in text_of(read.said)


@pytest.mark.parametrize("text", ["1/2", "3.5", "1,200 g"])
def test_what_may_be_two_things_is_asked(text: str) -> None:
    assert settled(text).sure is Sure.ASKED


@pytest.mark.parametrize(
    "text", ["-5", "−5 g", "nan", "NaN", "inf", "-inf", "1e308", "1E9999", "#REF!", "#DIV/0!",
             "99999999999", "900000 kg"],
)  # fmt: skip
def test_what_no_amount_can_be_is_wrong(text: str) -> None:
    assert settled(text).sure is Sure.WRONG


def test_a_headings_unit_holds_where_the_cell_has_none() -> None:
    assert settled("3", unit="g").grams == 3
    assert settled("3 seeds", unit="g").seeds == 3


@pytest.mark.parametrize(
    ("text", "number"),
    [("½", None), ("1/2", 0.5), ("1 1/2", 1.5), ("0,5", 0.5), ("1,200,300", 1_200_300),
     ("1’200", 1200), ("1.2.3", None), ("", None), ("1/0", None)],
)  # fmt: skip
def test_numbers_are_read_as_people_write_them(text: str, number: float | None) -> None:
    assert number_in(text) == number


_PIECES = st.sampled_from(
    ["approx", "~", "50", "1/4", "½", "-", "to", "packet", "pkts", "g", "oz", "of", "200", "a",
     "few", "?", "+", "<", "half", "jar", "1e308", "nan", "(", ")", ",", ".",
     "0", "'", "é", "\u202e"]
)  # fmt: skip
_TEXTS = st.one_of(st.text(max_size=40), st.lists(_PIECES, max_size=8).map(" ".join),
                   st.lists(_PIECES, max_size=6).map("".join))  # fmt: skip
_WEIGHTS = st.none() | st.floats(0.001, 5000)


@given(
    _TEXTS, st.sampled_from(["", "g", "oz", "packets"]), _WEIGHTS, st.none() | st.integers(1, 1000)
)
@example("٣ g", "", 1.0, None)
@example("9" * 5000, "", 1.0, None)
@example("0.000001 mg", "", 1.0, None)
@example("none", "", 1.0, None)
def test_whatever_is_written_gives_an_amount_that_can_be_or_none(
    text: str, unit: str, tsw_g: float | None, size: int | None
) -> None:
    read = settle(
        read_amount(text, unit), tsw_g=tsw_g, tsw_se_g=0.2 * (tsw_g or 0), packet_size=size
    )
    assert text_of(read.said)
    assert math.isfinite(read.seeds_se)
    assert read.seeds_se >= 0
    assert read.seeds is None or 0 <= read.seeds <= MOST
    assert read.seeds != 0 or read.seeds_se == 0  # none left is known for sure
    assert read.grams is None or 0 < read.grams <= 1_000_000
    if read.sure in (Sure.KEPT, Sure.ASKED, Sure.WRONG):
        assert (read.seeds, read.grams) == (None, None)


def test_every_row_of_the_table_spans_what_is_typical() -> None:
    for row in loaders.written_amounts():
        if row.low is not None and row.high is not None:
            assert row.low <= row.typical <= row.high
            assert "no single source" in row.source.text
