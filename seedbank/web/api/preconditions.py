"""Conditional requests (RFC 9110 section 13) and keyed ones.

An ETag is ``"<version>-<digest>"``: ``version`` is the thing's edit counter, ``digest`` of the
body sent. If-None-Match compares the whole, so that a lot whose balance moved is sent anew.
If-Match compares versions only (``"3"`` will do), so that seed sown meanwhile stops nobody from
correcting a note. A count of a test or a sowing raises its version: what was counted since it was
read isn't taken back unseen.
"""

import hashlib
import json
import re
from typing import Annotated

from fastapi import Depends, Header, Request

from seedbank.web.api.problem_types import BadHeader, MissingHeader, MissingVersion

_ONE_TAG = r'(W/)?"[!#-~\x80-\xff]*"'
HEADER_SCHEMAS = {  # for the document
    "idempotency-key": {"type": "string", "minLength": 1, "maxLength": 255, "pattern": "^[!-~]+$"},
    "if-match": {"type": "string", "pattern": rf"^(\*|{_ONE_TAG}( ?, ?{_ONE_TAG})* ?,?)$"},
}
_TAG = re.compile(r'\s*(W/)?"([!#-~\x80-\xff]*)"\s*(?:,|$)')
_VERSION = re.compile(r"(\d{1,9})(-[0-9a-f]+)?")
_KEY = re.compile(r"[!-~]{1,255}")


def etag_of(version: int, body: str) -> str:
    """Strong ETag of a thing at ``version`` shown as ``body``."""
    return f'"{version}-{hashlib.sha256(body.encode()).hexdigest()[:16]}"'


def matches_none(header: str | None, etag: str) -> bool:
    """Does If-None-Match spare sending the body? Weak comparison (RFC 9110 section 13.1.2)."""
    if header is None:
        return False
    if header.strip() == "*":
        return True
    return etag.strip('"') in {tag for _weak, tag in _tags(header, "If-None-Match")}


def expected_versions(
    if_match: Annotated[
        str | None,
        Header(description="ETag of the thing as last read.", examples=['"3"']),
    ] = None,
) -> frozenset[int] | None:
    """Versions the sender is content to change; None for any (``*``).

    Weak tags never match (RFC 9110 section 13.1.1). Raises MissingVersion, BadHeader.
    """
    if if_match is None:
        raise MissingVersion
    if if_match.strip() == "*":
        return None
    strong = [tag for weak, tag in _tags(if_match, "If-Match") if not weak]
    found = (_VERSION.fullmatch(tag) for tag in strong)
    return frozenset(int(match[1]) for match in found if match)


def _tags(header: str, name: str) -> list[tuple[str, str]]:
    tags, position = [], 0
    while position < len(header) or not header:
        match = _TAG.match(header, position)
        if match is None:
            raise BadHeader("etag-misread", name, header)
        tags.append((match[1] or "", match[2]))
        position = match.end()
    return tags


def idempotency_key(
    idempotency_key: Annotated[
        str | None,
        Header(
            description="A fresh value for each new request, the same when it is sent again.",
            examples=["9f6c1f0e-1d6b-4b57-8f0a-2c1f6f0d8a11"],
        ),
    ] = None,
) -> str:
    """The key of a POST. Raises MissingHeader, BadHeader."""
    if idempotency_key is None:
        raise MissingHeader("idempotency-key-missing", "Idempotency-Key")
    if not _KEY.fullmatch(idempotency_key):
        raise BadHeader("idempotency-key-misread", "Idempotency-Key", idempotency_key)
    return idempotency_key


async def fingerprint(request: Request) -> str:
    """SHA-256 of what is asked: method, path, query and body, whatever the JSON's spacing."""
    raw = await request.body()
    try:
        asked = json.dumps(json.loads(raw), sort_keys=True, separators=(",", ":")).encode()
    except ValueError:
        asked = raw
    head = f"{request.method}\n{request.url.path}\n{request.url.query}\n".encode()
    return hashlib.sha256(head + asked).hexdigest()


IfMatchDep = Annotated[frozenset[int] | None, Depends(expected_versions)]
KeyDep = Annotated[str, Depends(idempotency_key)]
FingerprintDep = Annotated[str, Depends(fingerprint)]
