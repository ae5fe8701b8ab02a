"""A lot's photograph put beside it, shown, and taken away again."""

import base64
import binascii
from collections.abc import Collection
from datetime import datetime
from typing import TYPE_CHECKING

from sqlmodel import Session

from seedbank.common.errors import NotThere, Refused
from seedbank.database.find import row_id
from seedbank.database.transaction import claim_version, transaction
from seedbank.lots.answers import PhotoAnswer
from seedbank.lots.forms import PhotoForm
from seedbank.lots.tables.lots import Lot, find_lot
from seedbank.lots.tables.photos import LotPhoto, photo_of

if TYPE_CHECKING:
    from seedbank.lots.photographs import Photograph


def set_photo_form(
    session: Session,
    code: str,
    form: PhotoForm,
    *,
    expected: Collection[int] | None,
    now: datetime,
) -> PhotoAnswer:
    """``set_photo`` of what was sent as text. Raises Refused: also where it is no Base64."""
    try:
        sent = base64.b64decode(form.picture, validate=True)
    except (binascii.Error, ValueError) as fault:
        raise Refused("photo-misread", "picture", None) from fault
    try:
        return _answer(*set_photo(session, code, sent, expected=expected, now=now))
    except Refused as fault:
        fault.field = "picture"
        raise


def set_photo(
    session: Session,
    code: str,
    sent: bytes,
    *,
    expected: Collection[int] | None = None,
    now: datetime,
) -> tuple[Lot, LotPhoto]:
    """``keep_photo`` of a picture as it was sent. Raises Refused: as ``read_photo``."""
    return keep_photo(session, code, read_photo(sent), expected=expected, now=now)


def read_photo(sent: bytes) -> "Photograph":
    """The picture made small. It takes a while: before the database is locked, not after.

    Raises Refused: as ``made_small``.
    """
    from seedbank.lots.photographs import made_small  # here, since most starts never come to it

    return made_small(sent)


def keep_photo(
    session: Session,
    code: str,
    small: "Photograph",
    *,
    expected: Collection[int] | None = None,
    now: datetime,
) -> tuple[Lot, LotPhoto]:
    """Put a photograph beside a lot, in place of the one it had; the same again changes nothing.

    Raises MisreadCode, NotThere, StaleVersion: the lot.
    """
    with transaction(session):
        lot = find_lot(session, code)
        photo = photo_of(session, row_id(lot.id))
        if photo is not None and photo.jpeg == small.jpeg:
            return lot, photo
        claim_version(session, lot, what="lot", expected=expected)
        photo = session.merge(
            LotPhoto(
                lot_id=row_id(lot.id),
                width_px=small.width_px,
                height_px=small.height_px,
                added_at=now,
                jpeg=small.jpeg,
            )
        )
        session.flush()
        return lot, photo


def find_photo(session: Session, code: str) -> tuple[Lot, LotPhoto]:
    """A lot and its photograph. Raises MisreadCode, NotThere: the lot, or its photograph."""
    lot = find_lot(session, code)
    photo = photo_of(session, row_id(lot.id))
    if photo is None:
        raise NotThere("photograph", lot.code, field="code")
    return lot, photo


def show_photo(session: Session, code: str) -> PhotoAnswer:
    """A lot's photograph. Raises MisreadCode, NotThere: the lot, or its photograph."""
    return _answer(*find_photo(session, code))


def remove_photo(session: Session, code: str, *, expected: Collection[int] | None) -> None:
    """Take a lot's photograph away.

    Raises MisreadCode, NotThere: the lot, or its photograph. StaleVersion: of the lot.
    """
    with transaction(session):
        lot, photo = find_photo(session, code)
        claim_version(session, lot, what="lot", expected=expected)
        session.delete(photo)
        session.flush()


def _answer(lot: Lot, photo: LotPhoto) -> PhotoAnswer:
    return PhotoAnswer(
        lot=lot.code,
        width_px=photo.width_px,
        height_px=photo.height_px,
        added_at=photo.added_at,
        picture=base64.b64encode(photo.jpeg).decode(),
        version=lot.version,
    )
