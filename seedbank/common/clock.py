"""What day and moment it is: read here alone, and handed on from there."""

from datetime import UTC, date, datetime, time

from seedbank.settings import Settings


def clock() -> datetime:
    """This moment, UTC, whatever day the settings pretend."""
    return datetime.now(UTC)


def today_of(settings: Settings) -> date:
    """The day here, or the day the settings pretend it is."""
    return settings.today or date.today()


def now_of(settings: Settings) -> datetime:
    """This moment; noon where the settings pretend a day."""
    if settings.today is None:
        return clock()
    return datetime.combine(settings.today, time(12), UTC)
