"""What is asked about testing."""

from typing import Annotated

from pydantic import Field

from seedbank.common.forms import Filter


class TestBatchAsked(Filter):
    """How much work and paper there is for tests."""

    __test__ = False  # not a pytest class

    evenings: Annotated[int, Field(ge=1, le=20)] = Field(
        default=1, description="evenings of ten towels each", examples=[1]
    )
    towels: Annotated[int, Field(ge=1, le=1000)] | None = Field(
        default=None,
        description="sheets of paper, of 25 seeds at most each; left out: enough",
        examples=[12],
    )
