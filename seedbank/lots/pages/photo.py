"""A photograph of a lot's packet: seen, put there by a form with a file, taken away."""

import hashlib
from collections.abc import AsyncIterator
from dataclasses import dataclass
from typing import Annotated, Any

from fastapi import Depends, Request, Response
from starlette.datastructures import FormData, UploadFile

from seedbank.common.errors import NotThere, Refused, StockFault
from seedbank.database.find import row_id
from seedbank.lots.pages.lot import Code
from seedbank.lots.photograph_lots import find_photo, keep_photo, read_photo, remove_photo
from seedbank.lots.show_lots import show_lot
from seedbank.lots.tables.lots import find_lot
from seedbank.lots.tables.photos import photo_added_at
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep, status_of
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST_FIELDS, _LONGEST_FIELD = 200, 100_000
_LARGEST_READ = 16_000_000  # bytes; what is more is refused by its size


@dataclass(frozen=True, slots=True)
class SentWithPhoto:
    """A form with a photograph; ``picture`` is empty where none was chosen."""

    sent: Sent
    picture: bytes


async def _fields(request: Request) -> AsyncIterator[FormData]:
    async with request.form(
        max_files=1, max_fields=_MOST_FIELDS, max_part_size=_LONGEST_FIELD
    ) as form:
        yield form


async def get_sent_with_photo(
    request: PageRequestDep, form: Annotated[FormData, Depends(_fields)]
) -> SentWithPhoto:
    """The form that came; its photograph's digest counts as a field of it."""
    fields = {name: text for name, text in form.multi_items() if isinstance(text, str)}
    fields.pop("photo", None)
    file, picture = form.get("photo"), b""
    if isinstance(file, UploadFile):
        picture = await file.read(_LARGEST_READ)
    if picture:
        fields["photo"] = hashlib.sha256(picture).hexdigest()
    return SentWithPhoto(Sent(request, fields), picture)


SentWithPhotoDep = Annotated[SentWithPhoto, Depends(get_sent_with_photo)]


@router.get("/lot/{code}/photo")
def show(request: PageRequestDep, code: Code) -> Response:
    """The photograph, if there is one, and forms for another or none."""
    return _page(request, code, None, 200)


@router.get("/lot/{code}/photo.jpg")
def picture(request: PageRequestDep, code: Code) -> Response:
    """The photograph alone."""
    _, photo = find_photo(request.session, code)
    tag = f'"{hashlib.sha256(photo.jpeg).hexdigest()[:16]}"'
    headers = {"ETag": tag, "Cache-Control": "private, no-cache"}
    if tag in request.http.headers.get("if-none-match", ""):
        return Response(None, 304, headers)
    return Response(photo.jpeg, 200, headers, "image/jpeg")


@router.post("/lot/{code}/photo")
def put(form: SentWithPhotoDep, code: Code) -> Response:
    """Put a photograph there."""
    request = form.sent.request

    def action() -> str:
        lot, _ = keep_photo(request.session, code, photo, now=request.now)
        return f"/lot/{lot.code}"

    try:
        if not form.picture:
            raise Refused("photo-not-chosen", "photo", "")
        photo = read_photo(form.picture)
        return form.sent.once(action)
    except Refused as fault:
        return _page(request, code, fault, status_of(fault))


@router.post("/lot/{code}/photo/remove")
def remove(sent: SentDep, code: Code) -> Response:
    """Take it away, once it is said to be meant."""

    def action() -> str:
        if sent.get("sure") != "yes":
            raise Refused("photo-removing-not-ticked", "sure", "")
        remove_photo(sent.request.session, code, expected=None)
        return f"/lot/{code}"

    try:
        return sent.once(action)
    except (Refused, NotThere) as fault:
        return _page(sent.request, code, fault, status_of(fault))


def _page(request: PageRequest, code: str, fault: StockFault | None, status: int) -> Response:
    lot = show_lot(request.session, code, today=request.today)
    filled: Filled[Any] = Filled()
    if fault is not None:
        filled = filled.faulted(fault, request.local)
    added_at = photo_added_at(request.session, row_id(find_lot(request.session, code).id))
    return request.show("lots/pages/photo.html", status, lot=lot, filled=filled, added_at=added_at)
