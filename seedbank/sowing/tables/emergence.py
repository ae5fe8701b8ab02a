"""What a sowing became: running totals of units emerged, and losses with their cause."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime

from sqlalchemy import select
from sqlmodel import Session, col

from seedbank.common.faults import BadValue, FewerEmerged, Missing, TooManyEmerged
from seedbank.sowing.tables.sowings import Emergence, Loss, LossCause, Sowing


@dataclass(frozen=True, slots=True)
class Outcome:
    """A sowing's counts by day and its losses by day, as recorded."""

    emergences: list[Emergence]
    losses: list[Loss]

    @property
    def units_emerged(self) -> int | None:
        """The last running total; None before the first count."""
        return self.emergences[-1].units_emerged if self.emergences else None

    def units_lost(self, *, after_emergence: bool) -> int:
        """Units lost once up, or before they could come up, whatever the cause."""
        return sum(
            loss.units_lost for loss in self.losses if loss.after_emergence is after_emergence
        )


def record_emergence(
    session: Session,
    *,
    sowing_id: int,
    on: date,
    units_emerged: int,
    correction: bool = False,
    now: datetime,
) -> Emergence:
    """Record how many units have emerged up to a day; flushes, never commits.

    A second count on one day replaces the first. A total lower than the one before it must be
    said to be a ``correction``; one higher than the next can't be recorded, correct that first.

    Raises Missing: no such sowing. BadValue: below 0, or a day before the sowing.
    TooManyEmerged: more than were sown, less those lost before they came up. FewerEmerged.
    """
    sowing = _lock_sowing(session, sowing_id)
    _check_day(sowing, on)
    if units_emerged < 0:
        raise BadValue("units_emerged", units_emerged, "count 0 units or more")
    outcome = outcomes(session, [sowing_id])[sowing_id]
    in_soil = outcome.units_lost(after_emergence=False)
    _check_sown(sowing, units_emerged, in_soil, field="units_emerged", value=units_emerged)
    _check_rises(outcome.emergences, on, units_emerged, correction=correction)
    same_day = [seen for seen in outcome.emergences if seen.on_date == on]
    emergence = (
        same_day[0]
        if same_day
        else Emergence(sowing_id=sowing_id, on_date=on, units_emerged=0, recorded_at=now)
    )
    emergence.units_emerged = units_emerged
    before = _before(outcome.emergences, on)
    emergence.correction = before is not None and units_emerged < before.units_emerged
    emergence.recorded_at = now
    session.add(emergence)
    session.flush()
    return emergence


def record_loss(
    session: Session,
    *,
    sowing_id: int,
    on: date,
    cause: LossCause,
    units_lost: int,
    after_emergence: bool = False,
    now: datetime,
) -> Loss:
    """Record units lost to one cause; flushes, never commits.

    Raises Missing: no such sowing. BadValue: below 1, a day before the sowing, or units that did
    not emerge said to be lost after emergence. TooManyEmerged: more than were sown, with those
    that emerged, seedlings lost among them whether counted before or not.
    """
    sowing = _lock_sowing(session, sowing_id)
    _check_day(sowing, on)
    if units_lost < 1:
        raise BadValue("units_lost", units_lost, "give 1 unit or more")
    if after_emergence and cause is LossCause.NOT_EMERGED:
        raise BadValue("after_emergence", True, "give another cause: these did emerge")
    outcome = outcomes(session, [sowing_id])[sowing_id]
    lost = {after: outcome.units_lost(after_emergence=after) for after in (True, False)}
    lost[after_emergence] += units_lost
    emerged = max(outcome.units_emerged or 0, lost[True])
    _check_sown(sowing, emerged, lost[False], field="units_lost", value=units_lost)
    loss = Loss(
        sowing_id=sowing_id,
        on_date=on,
        cause=cause,
        units_lost=units_lost,
        after_emergence=after_emergence,
        recorded_at=now,
    )
    session.add(loss)
    session.flush()
    return loss


def outcomes(session: Session, sowing_ids: Iterable[int]) -> dict[int, Outcome]:
    """What each sowing became, in two queries however many sowings."""
    found: dict[int, Outcome] = {sowing_id: Outcome([], []) for sowing_id in sowing_ids}
    fresh = {"populate_existing": True}  # rows read before the sowing was locked may be stale
    seen = select(Emergence).where(col(Emergence.sowing_id).in_(found))
    seen = seen.order_by(col(Emergence.on_date)).execution_options(**fresh)
    for emergence in session.execute(seen).scalars():
        found[emergence.sowing_id].emergences.append(emergence)
    lost = select(Loss).where(col(Loss.sowing_id).in_(found))
    lost = lost.order_by(col(Loss.on_date), col(Loss.id)).execution_options(**fresh)
    for loss in session.execute(lost).scalars():
        found[loss.sowing_id].losses.append(loss)
    return found


def _lock_sowing(session: Session, sowing_id: int) -> Sowing:
    locked = session.execute(
        select(Sowing)
        .where(col(Sowing.id) == sowing_id)
        .with_for_update()
        .execution_options(populate_existing=True)
    )
    sowing: Sowing | None = locked.scalar_one_or_none()
    if sowing is None:
        raise Missing("sowing", sowing_id)
    return sowing


def _check_day(sowing: Sowing, on: date) -> None:
    if on < sowing.sown_on:
        raise BadValue("on_date", on, f"give {sowing.sown_on.isoformat()} or later")


def _check_sown(sowing: Sowing, emerged: int, in_soil: int, *, field: str, value: int) -> None:
    if emerged + in_soil > sowing.seeds_sown:
        raise TooManyEmerged(sowing.seeds_sown, emerged, in_soil, field=field, value=value)


def _before(emergences: list[Emergence], on: date) -> Emergence | None:
    return next((seen for seen in reversed(emergences) if seen.on_date < on), None)


def _check_rises(
    emergences: list[Emergence], on: date, units_emerged: int, *, correction: bool
) -> None:
    # Only the neighbours: what a correction disowned further back no longer binds.
    for seen in (_before(emergences, on), *(seen for seen in emergences if seen.on_date == on)):
        if seen is not None and units_emerged < seen.units_emerged and not correction:
            raise FewerEmerged(on, units_emerged, seen.on_date, seen.units_emerged)
    later = next((seen for seen in emergences if seen.on_date > on), None)
    if later is not None and not later.correction and units_emerged > later.units_emerged:
        raise FewerEmerged(on, units_emerged, later.on_date, later.units_emerged)
