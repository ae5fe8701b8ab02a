"""The photograph of a lot's packet."""

from typing import Annotated

from fastapi import Response

from seedbank.lots import photograph_lots as photos
from seedbank.lots.answers import PhotoAnswer
from seedbank.lots.forms import PhotoForm
from seedbank.web.api.deps import CodePath, NowDep, SessionDep, api_router
from seedbank.web.api.preconditions import IfMatchDep
from seedbank.web.api.responses import body, sent, tells

router = api_router(prefix="/lots/{code}/photo", tags=["photos"])
_CHANGES = (400, 404, 412, 422, 428)


@router.get("", responses=tells(PhotoAnswer, problems=(404, 422)))
def show(code: CodePath, session: SessionDep) -> Response:
    """Show the photograph of a lot's packet."""
    return sent(photos.show_photo(session, code))


@router.put("", responses=tells(PhotoAnswer, problems=_CHANGES))
def put(
    code: CodePath,
    form: Annotated[PhotoForm, body(PhotoForm)],
    expected: IfMatchDep,
    session: SessionDep,
    now: NowDep,
) -> Response:
    """Put a photograph beside a lot, made small; If-Match is of the lot."""
    return sent(photos.set_photo_form(session, code, form, expected=expected, now=now))


@router.delete("", status_code=204, responses=tells(None, 204, problems=_CHANGES))
def remove(code: CodePath, expected: IfMatchDep, session: SessionDep) -> Response:
    """Take the photograph away; If-Match is of the lot."""
    photos.remove_photo(session, code, expected=expected)
    return Response(status_code=204)
