"""What every page is handed: the request, the collection, the day, and how to answer."""

import hashlib
import json
import uuid
from collections.abc import Callable, Mapping
from dataclasses import dataclass, replace
from datetime import date, datetime
from typing import Annotated, Any

from fastapi import Depends, Request
from sqlmodel import Session
from starlette.datastructures import FormData
from starlette.responses import HTMLResponse, RedirectResponse, Response

from seedbank.common.catalogue import text_of
from seedbank.common.errors import (
    Busy,
    Conflict,
    KeyReused,
    Missing,
    NotThere,
    Overdrawn,
    Refused,
    StaleVersion,
    StillAnswering,
    StockFault,
)
from seedbank.common.local_format import Local, local_from
from seedbank.database.queries import EMPTY, holds_no_lots
from seedbank.database.run_once import Answer, run_once
from seedbank.web.pages.form_reading import Filled, FormT, read_form
from seedbank.web.pages.render import render
from seedbank.web.wiring import NowDep, SessionDep, TodayDep, WiringDep

_MOST_FIELDS, _LONGEST_FIELD = 600, 100_000
TOKEN_COOKIE = "seedbank_token"


@dataclass(frozen=True, slots=True)
class PageRequest:
    """One visit: ``today`` and ``now`` are handed in, ``local`` is how its reader writes."""

    http: Request
    session: Session
    today: date
    now: datetime
    local: Local
    base_url: str

    def show(self, template: str, status: int = 200, **names: Any) -> Response:
        """The page made of ``template`` with ``names``."""
        text = render(
            template,
            request=self,
            local=self.local,
            today=self.today,
            path=self.http.url.path,
            fresh_key=fresh_key,
            no_lots=lambda: holds_no_lots(self.session),
            empty_words=text_of(EMPTY),
            **names,
        )
        return HTMLResponse(text, status, {"Cache-Control": "no-store"})

    @property
    def read_again(self) -> bool:
        """Is it asked for by a page that stands there, to put parts of it in place (bench.js)?"""
        return self.http.headers.get("x-requested-with") == "fetch"

    def asked(self, model: type[FormT], given: Mapping[str, Any] | None = None) -> Filled[FormT]:
        """The form in the page's own address (GET)."""
        return read_form(model, dict(self.http.query_params), self.local, given)


@dataclass(frozen=True, slots=True)
class Sent:
    """A form sent by POST, field by field as typed."""

    request: PageRequest
    fields: Mapping[str, str]

    def form(self, model: type[FormT], given: Mapping[str, Any] | None = None) -> Filled[FormT]:
        """What was sent, read as ``model``; ``given`` are values the page itself knows."""
        return read_form(model, self.fields, self.request.local, given)

    def get(self, name: str) -> str:
        """One field as typed; empty if it wasn't sent."""
        return self.fields.get(name, "").strip()

    @property
    def version(self) -> set[int]:
        """The version that the form was filled in upon; 0, which nothing has, if it isn't one."""
        typed = self.get("version")
        return {int(typed)} if typed.isascii() and typed.isdigit() and len(typed) < 10 else {0}

    def stepped(self, most: int = 10_000) -> "Sent | None":
        """The same form after a plus or minus key was pressed without script; None: no such key.

        The key's value names its field and the step, like ``counts[0].normal:+1``.
        """
        name, _, step = self.get("step").rpartition(":")
        if step not in ("+1", "-1", "+5"):
            return None
        typed = self.get(name)
        now = int(typed) if typed.isascii() and typed.isdigit() and len(typed) < 9 else 0
        return replace(self, fields={**self.fields, name: str(min(most, max(0, now + int(step))))})

    def act(
        self,
        filled: Filled[FormT],
        action: Callable[[FormT], str],
        again: Callable[[Filled[FormT], int], Response],
    ) -> Response:
        """Do what was asked, once for the form's key, and go on to the address it gives.

        A form that can't be read, or that the collection refuses, is shown ``again`` with the
        fault beside its field and the status that says so.
        """
        form = filled.form
        if form is None:
            return again(filled, 422)
        try:
            return self.once(lambda: action(form))
        except Busy:
            raise
        except StockFault as fault:
            return again(filled.faulted(worded(fault), self.request.local), status_of(fault))

    def once(self, action: Callable[[], str]) -> Response:
        """Do ``action`` unless this key did it before; go on to the address it gave."""
        done = run_once(
            self.request.session,
            key=self._key(),
            fingerprint=self._fingerprint(),
            now=self.request.now,
            action=lambda: Answer(303, "", location=action()),
        )
        return RedirectResponse(done.answer.location, 303)

    def _key(self) -> str:
        try:
            return f"page-{uuid.UUID(self.get('key'))}"
        except ValueError as fault:
            raise Refused("form-key-misread", "key", self.get("key")) from fault

    def _fingerprint(self) -> str:
        asked = json.dumps([self.request.http.url.path, *sorted(self.fields.items())])
        return hashlib.sha256(asked.encode("utf-8", "surrogatepass")).hexdigest()


def fresh_key() -> str:
    """A key for a form that is being shown: what it asks is done once, however often it's sent."""
    return str(uuid.uuid4())


def worded(fault: StockFault) -> StockFault:
    """The fault as a page tells it, whose reader knows of no keys."""
    if isinstance(fault, KeyReused):
        return StockFault("form-sent-before")
    if isinstance(fault, StaleVersion):
        return StockFault("changed-meanwhile")
    return fault


def status_of(fault: StockFault) -> int:
    """HTTP status of a page that tells of ``fault``."""
    statuses: tuple[tuple[type[StockFault], int], ...] = (
        (StaleVersion, 412),
        (NotThere, 404),
        (Missing, 404),
        (Conflict, 409),
        (Overdrawn, 409),
        (StillAnswering, 409),
    )
    return next((status for kind, status in statuses if isinstance(fault, kind)), 422)


def get_page_request(
    request: Request, wiring: WiringDep, session: SessionDep, today: TodayDep, now: NowDep
) -> PageRequest:
    """What the page at this address is handed."""
    settings = wiring.settings
    base_url = settings.base_url or str(request.base_url).rstrip("/")
    languages = request.headers.get("accept-language", "")
    local = local_from(request.cookies, languages, settings.units)
    return PageRequest(request, session, today, now, local, base_url)


PageRequestDep = Annotated[PageRequest, Depends(get_page_request)]


async def _fields(request: Request) -> FormData:
    return await request.form(max_files=0, max_fields=_MOST_FIELDS, max_part_size=_LONGEST_FIELD)


def get_sent(request: PageRequestDep, fields: Annotated[FormData, Depends(_fields)]) -> Sent:
    """The form that came with this request; of a repeated field the last value counts."""
    return Sent(
        request, {name: text for name, text in fields.multi_items() if isinstance(text, str)}
    )


SentDep = Annotated[Sent, Depends(get_sent)]
