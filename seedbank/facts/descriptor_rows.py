"""Rows of the tables about the genebanks' passport descriptors, and about amounts in words."""

from enum import StrEnum
from typing import NamedTuple

from seedbank.facts.sources import Source


class DescriptorRow(NamedTuple):
    """``passport_descriptors.csv``: one field of the standard, in its published order.

    ``format`` says how a value is written; ``several`` values are parted by semicolons.
    """

    number: str
    field: str
    title: str
    meaning: str
    format: str
    several: bool
    source: Source


class DescriptorCodeRow(NamedTuple):
    """``passport_codes.csv``: a code a coded field may hold; ``within`` is the general code."""

    field: str
    code: str
    within: str
    meaning: str
    source: Source


class Measure(StrEnum):
    """What the words measure.

    ``seeds`` a number of seeds, ``packet`` of seeds in a packet, ``part`` of a packet (0..1),
    ``near`` how far off a written number may be (a factor), ``gram`` grams in a unit of weight.
    """

    SEEDS = "seeds"
    PACKET = "packet"
    PART = "part"
    NEAR = "near"
    GRAM = "gram"


class WrittenAmountRow(NamedTuple):
    """``written_amounts.csv``: ``low`` and ``high`` hold about 95 % of what is meant."""

    words: str
    measure: Measure
    typical: float
    low: float | None
    high: float | None
    note: str
    source: Source


class ListWordRow(NamedTuple):
    """``list_words.csv``: words in lists of seed, parted by semicolons; ``use``: where they stand.

    ``meaning`` of a heading is the field of a lot, of an amount or a day the English word, else the
    choice it stands for.
    """

    use: str
    meaning: str
    language: str
    words: str
    source: Source
