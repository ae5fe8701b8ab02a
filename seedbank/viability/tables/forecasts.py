"""What was believed of a lot's viability before a test of it was finished, kept for good."""

from datetime import date

from pydantic import Field
from sqlmodel import Field as Stored
from sqlmodel import SQLModel

from seedbank.common.fields import Fields
from seedbank.database.references import goes_along


class ForecastFields(Fields):
    """A test as it was foretold without it: the lot's viability on the day the test began, and
    how many of its seeds would be viable, the spread between tests included.

    ``alone`` is from the lot's own records, without what other lots' tests taught. The log scores
    are of the count that the test was finished with.
    """

    seeds: int = Field(description="Seeds judged in the test.", examples=[50])
    viable_at_end: int = Field(
        description="Viable among them as the test was finished, corrections since left out.",
        examples=[41],
    )
    median_pct: float = Field(description="Viability believed.", examples=[84.1])
    low_90_pct: float = Field(description="Its 90 % interval.", examples=[61.5])
    high_90_pct: float = Field(description="Its 90 % interval.", examples=[95.2])
    expected: float = Field(description="Viable seeds foretold, on the mean.", examples=[40.9])
    low_90: int = Field(description="90 % interval of the viable seeds foretold.", examples=[28])
    low_50: int = Field(description="50 % interval of the viable seeds foretold.", examples=[37])
    high_50: int = Field(description="50 % interval of the viable seeds foretold.", examples=[46])
    high_90: int = Field(description="90 % interval of the viable seeds foretold.", examples=[49])
    log_score: float = Field(
        description="Log of the chance that was given to the count; nearer to 0 is better.",
        examples=[-2.9],
    )
    alone_median_pct: float = Field(
        description="Viability believed without what other lots' tests taught.", examples=[80.2]
    )
    alone_low_90_pct: float = Field(description="Its 90 % interval.", examples=[42.0])
    alone_high_90_pct: float = Field(description="Its 90 % interval.", examples=[96.1])
    alone_low_90: int = Field(
        description="90 % interval of the viable seeds foretold without other lots' tests.",
        examples=[20],
    )
    alone_high_90: int = Field(
        description="90 % interval of the viable seeds foretold without other lots' tests.",
        examples=[49],
    )
    alone_log_score: float = Field(
        description="Log of the chance given to the count without other lots' tests.",
        examples=[-3.4],
    )


class ViabilityForecast(ForecastFields, SQLModel, table=True):
    """The forecast of one test as it stood when it was finished, never worked out again."""

    __tablename__ = "viability_forecast"

    id: int | None = Stored(default=None, primary_key=True)
    test_id: int = Stored(
        foreign_key="germination_test.id", unique=True, sa_column_kwargs=goes_along()
    )
    made_on: date
