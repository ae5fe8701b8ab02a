"""Days a gardener may name: recorded things have happened."""

from datetime import date

from seedbank.common.errors import Refused


def happened(day: date | None, *, field: str, today: date) -> date:
    """``day``, or today where it was left out. Raises Refused: it is still to come."""
    if day is None:
        return today
    not_to_come(day, field=field, today=today)
    return day


def not_to_come(day: date | None, *, field: str, today: date) -> None:
    """Raises Refused: the day is after today."""
    if day is not None and day > today:
        raise Refused(
            field,
            day.isoformat(),
            f"Give today ({today.isoformat()}) or an earlier day.",
            f"{field} is still to come.",
        )


def in_order(first: date | None, then: date | None, *, field: str, mend: str) -> None:
    """Raises Refused: ``then``, of ``field``, is before ``first``."""
    if first is not None and then is not None and then < first:
        raise Refused(field, then.isoformat(), mend, f"{field} comes before {first.isoformat()}.")


def days_words(days: int) -> str:
    """A number of days with its noun."""
    return "1 day" if days == 1 else f"{days} days"
