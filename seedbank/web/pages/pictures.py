"""A picture as it is answered, kept by the browser under its digest."""

from fastapi import Request, Response

from seedbank.web.figures import Figure

_FOR_GOOD = "private, max-age=31536000, immutable"


_ASK_FIRST = "private, no-cache"


def picture(request: Request, figure: Figure) -> Response:
    """A picture that is kept for good at an address with its digest, and asked for anew at others.

    Nothing is drawn for whoever has it already.
    """
    tag = f'"{figure.digest}"'
    named = request.query_params.get("v") == figure.digest
    headers = {"ETag": tag, "Cache-Control": _FOR_GOOD if named else _ASK_FIRST}
    if tag in request.headers.get("if-none-match", ""):
        return Response(None, 304, headers)
    return Response(figure.svg, 200, headers, "image/svg+xml")
