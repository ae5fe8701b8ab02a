"""A picture as it is answered, kept by the browser under its digest."""

from fastapi import Response

from seedbank.database.cache import CacheRegion
from seedbank.web.figures import Figure
from seedbank.web.pages.page_request import PageRequest

_FOR_GOOD = "private, max-age=31536000, immutable"

_ASK_FIRST = "private, no-cache"
_DRAWN: CacheRegion[bytes] = CacheRegion(most=64)


def picture(request: PageRequest, figure: Figure) -> Response:
    """A picture that is kept for good at an address with its digest, and asked for anew at others.

    Nothing is drawn for whoever has it already.
    """
    digest, http = figure.digest, request.http
    tag = f'"{digest}"'
    named = http.query_params.get("v") == digest
    headers = {"ETag": tag, "Cache-Control": _FOR_GOOD if named else _ASK_FIRST}
    if tag in http.headers.get("if-none-match", ""):
        return Response(None, 304, headers)
    drawn = _DRAWN.get(request.session, None, figure.draw, asked=digest)
    return Response(drawn, 200, headers, "image/svg+xml")
