"""Pages of a list: an opaque cursor, and the next page's address in body and Link (RFC 8288)."""

import base64
import binascii
import json
from collections.abc import Callable
from dataclasses import dataclass
from typing import Annotated, Generic, TypeVar

from fastapi import Depends, Query, Request, Response
from pydantic import BaseModel, Field

from seedbank.common.errors import BadValue, Refused
from seedbank.database import queries

Item = TypeVar("Item", bound=BaseModel)
_MISREAD = "cursor-misread"


class Page(BaseModel, Generic[Item]):
    """One page of a list."""

    items: list[Item]
    next: str | None = Field(description="address of the next page; null on the last")
    near: bool = Field(
        default=False, description="nothing has the words asked for: these come near them"
    )


@dataclass(frozen=True, slots=True)
class Paged:
    """Answers with the page of a list that a request asks for."""

    request: Request
    paging: queries.Paging

    def __call__(self, fetch: Callable[[queries.Paging], queries.Page[Item]]) -> Response:
        """Raises Refused: a cursor of another list."""
        try:
            found = fetch(self.paging)
        except BadValue as fault:
            if fault.field != "after":
                raise
            raise Refused(_MISREAD, "cursor", self.request.query_params.get("cursor")) from fault
        following = None
        if found.next is not None:
            address = self.request.url.include_query_params(cursor=_write(found.next))
            following = f"{address.path}?{address.query}"
        # model_construct: the items are validated already.
        page = Page[BaseModel].model_construct(
            items=list(found.items), next=following, near=found.near
        )
        body = page.model_dump_json(serialize_as_any=True)
        headers = {"Link": f'<{following}>; rel="next"'} if following else None
        return Response(body, media_type="application/json", headers=headers)


def get_paged(
    request: Request,
    limit: Annotated[int, Query(ge=1, le=200, description="Things on a page.")] = 50,
    cursor: Annotated[
        str | None,
        Query(max_length=600, description="Where to go on, as the page before says."),
    ] = None,
) -> Paged:
    """Read ``limit`` and ``cursor``. Raises Refused: no cursor of ours."""
    return Paged(request, queries.Paging(limit, _read(cursor) if cursor else None))


PagedDep = Annotated[Paged, Depends(get_paged)]


def _write(cursor: queries.Cursor) -> str:
    text = json.dumps([cursor.key, cursor.id], separators=(",", ":"))
    return base64.urlsafe_b64encode(text.encode()).decode().rstrip("=")


def _read(cursor: str) -> queries.Cursor:
    try:
        padded = cursor + "=" * (-len(cursor) % 4)
        key, row_id = json.loads(base64.b64decode(padded, altchars=b"-_", validate=True))
    except (binascii.Error, ValueError, TypeError) as fault:
        raise Refused(_MISREAD, "cursor", cursor) from fault
    if type(key) not in (str, int, type(None)) or type(row_id) is not int:
        raise Refused(_MISREAD, "cursor", cursor)
    return queries.Cursor(key, row_id)
