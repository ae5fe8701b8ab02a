"""Answers about how a kind is tested, and how a test of a lot is best set."""

from pydantic import Field

from seedbank.common.answers import AnswerModel, Source


class RegimeAnswer(AnswerModel):
    """A temperature held, or two in turn: about 16 hours at the low one, 8 at the high."""

    low_c: float = Field(examples=[20.0])
    high_c: float = Field(examples=[30.0])


class DirectionAnswer(AnswerModel):
    """One special direction in plain words."""

    text: str = Field(examples=["Give light at least 8 hours a day, seed on the surface."])
    only_if_dormant: bool = Field(
        description="for fresh seed that lies firm and will not sprout", examples=[False]
    )


class TestMethodAnswer(AnswerModel):
    """The published test of a kind."""

    __test__ = False  # not a pytest class

    substrata: list[str] = Field(examples=[["between two blotters", "in a paper towel"]])
    temperatures: list[RegimeAnswer] = Field(description="the first is the regular one")
    first_count_days: int | None = Field(description="null: only a final count", examples=[7])
    final_count_days: int = Field(examples=[14])
    directions: list[DirectionAnswer]
    hard_seed_expected: bool = Field(examples=[False])
    sources: list[Source]


class TestProposalAnswer(AnswerModel):
    """A test as it is best set."""

    __test__ = False  # not a pytest class

    seeds: int = Field(description="seeds proposed, 0: none", examples=[20])
    replicates: list[int] = Field(examples=[[10, 10]])
    smallest_useful: int | None = Field(
        description="fewest seeds that are worth their loss; null: none is", examples=[10]
    )
    text: str = Field(examples=["Set 20 seeds as two lots of 10."])
