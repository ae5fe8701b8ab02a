"""Whether what a passport says can be true, apart from each value's own bounds."""

from collections.abc import Iterator
from datetime import date
from itertools import pairwise

from seedbank.common.dates import in_order, not_to_come
from seedbank.common.errors import Refused
from seedbank.interchange.passport.digest import digest_of
from seedbank.interchange.passport.forms import Passport, PassportArrival, PassportTest

_ASK = "Ask the giver for the passport anew."


def check_passport(arrival: PassportArrival, *, today: date) -> None:
    """Raises Refused: the field that can't be true, named from the passport down."""
    passport, at = arrival.passport, "passport."
    if passport.digest != digest_of(passport):
        raise Refused(
            f"{at}digest", passport.digest, _ASK, "The passport was changed since it was written."
        )
    not_to_come(passport.given_on, field=f"{at}given_on", today=today)
    received = arrival.received_on or today
    not_to_come(received, field="received_on", today=today)
    in_order(passport.given_on, received, field="received_on", mend="Give the day it came here.")
    _check_harvest(passport, f"{at}harvest_date")
    for before, after, field in _in_order(passport):
        in_order(before, after, field=at + field, mend=_ASK)
    for number, test in enumerate(passport.tests):
        _check_test(passport, test, f"{at}tests[{number}]")


def _check_harvest(passport: Passport, field: str) -> None:
    in_order(passport.harvest_date, passport.given_on, field=f"{field}", mend=_ASK)
    year = passport.harvest_year
    if year is not None and year > passport.given_on.year:
        raise Refused("passport.harvest_year", year, _ASK, "It was harvested after it was given.")


def _in_order(passport: Passport) -> Iterator[tuple[date | None, date | None, str]]:
    """Pairs of days that must follow one another, each with the field of the later."""
    given = passport.given_on
    yield passport.acquired_on, given, "acquired_on"
    yield passport.first_seen_on, given, "first_seen_on"
    for number, (stay, after) in enumerate(pairwise(passport.stays)):
        yield stay.from_date, after.from_date, f"stays[{number + 1}].from_date"
    for number, stay in enumerate(passport.stays):
        yield passport.first_seen_on, stay.from_date, f"stays[{number}].from_date"
        yield stay.from_date, given, f"stays[{number}].from_date"
    for number, test in enumerate(passport.tests):
        yield passport.first_seen_on, test.started_on, f"tests[{number}].started_on"
        yield test.started_on, test.finished_on, f"tests[{number}].finished_on"
        yield test.finished_on, given, f"tests[{number}].finished_on"


def _check_test(passport: Passport, test: PassportTest, at: str) -> None:
    if not passport.harvest_estimated:
        mend = "A test can't start before the harvest. " + _ASK
        year = passport.harvest_year
        first = passport.harvest_date or (date(year, 1, 1) if year else None)
        in_order(first, test.started_on, field=f"{at}.started_on", mend=mend)
    for number, replicate in enumerate(test.replicates):
        where = f"{at}.replicates[{number}]"
        days = [count.on_date for count in replicate.counts]
        judged = 0
        for row, count in enumerate(replicate.counts):
            field = f"{where}.counts[{row}].on_date"
            in_order(test.started_on, count.on_date, field=field, mend=_ASK)
            in_order(count.on_date, test.finished_on, field=field, mend=_ASK)
            if days.count(count.on_date) > 1:
                raise Refused(field, count.on_date.isoformat(), _ASK, "That day is counted twice.")
            judged += count.normal + count.abnormal + count.hard + count.fresh + count.dead
        if judged != replicate.seeds_set:
            raise Refused(
                f"{where}.seeds_set",
                replicate.seeds_set,
                _ASK,
                f"{judged} seeds are judged but {replicate.seeds_set} were set.",
            )
