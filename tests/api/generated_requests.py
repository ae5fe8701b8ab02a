"""Requests made up from the OpenAPI document by Schemathesis, each answer put to all its checks.

What no document can say is done here, as a client would: a key is fresh for each new request, half
of all changes come from one who has just read the thing (If-Match ``*``), seed is counted or
weighed, not both, and most of what is named is there.
"""

import itertools
from collections import Counter
from contextlib import suppress
from dataclasses import dataclass, field
from datetime import UTC, date, datetime
from pathlib import Path
from tempfile import TemporaryDirectory
from typing import Any

import schemathesis
from fastapi import FastAPI, Request, Response
from fastapi.exceptions import RequestValidationError
from fastapi.testclient import TestClient
from pydantic import ValidationError
from schemathesis.config import SchemathesisConfig
from schemathesis.engine import events, from_schema
from schemathesis.engine.recorder import ScenarioRecorder
from schemathesis.generation import GenerationMode
from schemathesis.generation.meta import TestPhase

from seedbank.access.tables import Rights
from seedbank.access.tokens_and_trail import make_token
from seedbank.interchange.folder.import_collection import import_collection
from seedbank.interchange.passport.forms import sealed
from seedbank.lots.forms import PICTURE_EXAMPLE
from seedbank.server.api import create_app
from seedbank.settings import Settings
from seedbank.upkeep.check_collection import check_collection

DEMO = Path(__file__).parents[2] / "demo_data"
TODAY = date(2027, 3, 1)
Json = dict[str, Any]
NOW = datetime(2027, 2, 20, 12, tzinfo=UTC)
SEED = 20270301
_REFUSED_FOR = "X-Test-Refused-For"

SOLVING = ["/saving-plan", "/saving-plans", "/saving-plans/{id}", "/supplies", "/forecast-record"]
SMALL: list[tuple[str, dict[str, Any]]] = [
    ("/sites", {"name": "Upper bed", "seed_bed_m2": 4.0}),
    ("/varieties", {"kind": "carrot", "name": "Purple Lantern"}),
    ("/varieties", {"kind": "lettuce", "name": "Quiet Corner"}),
    ("/lots", {"variety_id": 1, "origin": "bought", "amount": {"seeds": 900}}),
    ("/lots", {"variety_id": 2, "origin": "self-saved", "amount": {"seeds": 60}}),
]

# Refused though well formed: 412, because a made-up ETag is of no thing's version; 422, because of
# rules that join fields or things (a test ends after it began). That 422 never comes of a value's
# shape, which the document has to tell, is for the check below.
_WELL_FORMED = ["2xx", "3xx", "401", "403", "404", "409", "412", "422"]


@dataclass
class Told:
    """What came of a run."""

    requests: Counter[str] = field(default_factory=Counter)
    phases: Counter[str] = field(default_factory=Counter)
    statuses: Counter[int] = field(default_factory=Counter)
    checks: Counter[str] = field(default_factory=Counter)
    done: Counter[str] = field(default_factory=Counter)  # by operation, answered 2xx
    faults: dict[str, str] = field(default_factory=dict)

    def note(self, phase: str, recorder: ScenarioRecorder) -> None:
        """Take in the requests of one scenario and what the checks said of their answers."""
        for number, node in recorder.cases.items():
            label = node.value.operation.label
            answer = recorder.interactions.get(number)
            if answer is None or answer.response is None:
                continue
            self.requests[label] += 1
            self.done[label] += answer.response.status_code < 300
            self.phases[phase] += 1
            self.statuses[answer.response.status_code] += 1
            for check in recorder.checks.get(number, ()):
                self.checks[check.name] += 1
                if check.failure_info is not None:
                    failure = check.failure_info.failure
                    self.faults.setdefault(
                        f"{label}: {check.name}: {failure.title}: {failure.message}"[:400],
                        f"{check.failure_info.code_sample}\n{answer.response.text[:400]}",
                    )

    def add(self, other: "Told") -> None:
        """Take in what came of another run."""
        self.requests += other.requests
        self.phases += other.phases
        self.statuses += other.statuses
        self.checks += other.checks
        self.done += other.done
        self.faults |= other.faults

    def __str__(self) -> str:
        by_operation = (
            f"{count:6} {self.done[label]:6}  {label}" for label, count in self.requests.items()
        )
        return "\n".join(
            (
                f"{self.requests.total()} generated requests to {len(self.requests)} operations",
                f"by phase: {dict(self.phases)}",
                f"by status: {dict(sorted(self.statuses.items()))}",
                f"checks made: {dict(self.checks)}",
                " asked   done",
                *by_operation,
            )
        )


_numbers = itertools.count()


@schemathesis.hook
def before_call(_context: Any, case: schemathesis.Case, _kwargs: Any) -> None:
    """What a client does with keys and versions."""
    headers = case.headers or {}
    if case.meta is not None and case.meta.generation.mode == GenerationMode.POSITIVE:
        number = next(_numbers)
        if "idempotency-key" in headers:
            headers["idempotency-key"] = f"made-up-{number}"
        if "if-match" in headers and number % 2:
            headers["if-match"] = "*"
        amount = case.body.get("amount") if isinstance(case.body, dict) else None
        if isinstance(amount, dict) and ("seeds" in amount) == ("grams" in amount):
            case.body["amount"] = {"seeds": amount.get("seeds") or 2}
        if isinstance(case.body, dict) and "picture" in case.body and number % 4:
            case.body["picture"] = PICTURE_EXAMPLE
        if case.method == "POST" and number % 4:
            _seal(case)


def _seal(case: schemathesis.Case) -> None:
    """Give what is sent with a digest the one it has, as whoever made it would."""
    if case.path == "/lot-passports" and isinstance(case.body, dict):
        with suppress(ValidationError):
            case.body["passport"] = sealed(case.body["passport"]).model_dump(mode="json")
    elif case.path == "/imports" and isinstance(case.body, dict):
        asked = {name: value for name, value in case.body.items() if name != "digest"}
        app = case.operation.schema.app
        seen = TestClient(app).post("/imports/preview", json=asked, headers=case.headers)
        case.body["digest"] = seen.json().get("digest", case.body["digest"])


@dataclass(frozen=True, slots=True)
class Part:
    """Part of a run: on which garden, which operations, how many examples of each in a phase."""

    demo: bool
    solving: bool | None  # only what solves for a plan; only what doesn't; None: both
    phases: dict[str, int | None]  # None: all there are
    times: int = 1  # anew from another seed, the garden as the time before left it


def told_of(part: Part) -> Told:
    """Run one part on an application of its own."""
    with TemporaryDirectory() as folder:
        app = demo_app(Path(folder)) if part.demo else small_app(Path(folder))
        told = Told()
        for seed in range(SEED, SEED + part.times):
            told.add(run(app, part.phases, solving=part.solving, seed=seed))
        report = check_collection(app.state.wiring.writing.kw["bind"])
        told.faults |= {f"the collection afterwards: {fault}": "" for fault in report.faults}
        return told


@schemathesis.check
def the_document_tells_what_shapes_are_taken(
    _ctx: Any, response: schemathesis.Response, case: schemathesis.Case
) -> None:
    """What the document allows is refused, if at all, by a rule and not for its shape."""
    meta = case.meta
    if meta is None or not meta.generation.mode.is_positive:
        return
    if meta.phase.name is TestPhase.STATEFUL:  # what a link hands on, another answer told
        return
    refused_for = response.headers.get(_REFUSED_FOR.lower(), [""])[0]
    assert not refused_for, f"well formed by the document, refused for {refused_for}"


def demo_app(folder: Path) -> FastAPI:
    """The application on a copy of the demonstration garden, telling why it refuses a shape."""
    app = _server(folder / "demo.db")
    with app.state.wiring.writing() as session:
        import_collection(session, DEMO, NOW)
        for name in ("tablet", "telephone", "neighbour"):
            make_token(session, name, Rights.READER, now=NOW)
        session.commit()
    return _telling(app)


def _server(file: Path) -> FastAPI:
    return create_app(Settings(database_url=f"sqlite:///{file}", today=TODAY))


def _telling(app: FastAPI) -> FastAPI:
    plain = app.exception_handlers[RequestValidationError]

    async def telling(request: Request, error: Exception) -> Response:
        assert isinstance(error, RequestValidationError)
        response: Response = plain(request, error)  # type: ignore[assignment]  # not a coroutine
        shapes = [
            f"{one['loc'][-1]}: {one['type']}"
            for one in error.errors()
            if one["type"] != "value_error"
        ]
        if shapes:
            response.headers[_REFUSED_FOR] = ascii("; ".join(shapes))[:300]
        return response

    app.add_exception_handler(RequestValidationError, telling)
    return app


def small_app(folder: Path) -> FastAPI:
    """The application on a garden of two lots, so that even a plan is made in no time."""
    app = _server(folder / "small.db")
    with TestClient(app) as client:
        for number, (path, body) in enumerate(SMALL):
            answer = client.post(path, json=body, headers={"Idempotency-Key": f"first-{number}"})
            assert answer.status_code == 201, answer.text
    return _telling(app)


_PLACES = {
    "lots": ["path.code", "query.lot", "body.lot", "body.lots[*]", "body.parts[*].lot"],
    "kinds": ["path.slug", "query.kind", "body.kind"],
    "varieties": ["query.variety", "body.variety_id"],
    "sites": ["query.site", "body.site_id", "path.other"],
    "places": ["body.place_id"],
    "few": [
        "path.serial", "body.counts[*].replicate", "body.counts[*].normal",
        "body.counts[*].abnormal", "body.counts[*].hard", "body.counts[*].fresh",
        "body.counts[*].dead", "body.seeds_sown", "body.replicates[*]", "body.amount.seeds",
        "body.units_lost", "body.units_emerged",
    ],
    "days": ["body.on_date", "body.started_on", "body.sown_on", "body.harvested_on"],
    "days to come": [
        "query.sow_on", "body.finished_on", "body.first_count_due", "body.final_count_due",
    ],
}  # fmt: skip


# Without one of the gardener's own the packaged window holds again: it isn't gone.
_PACKAGED_LEFT: Json = {
    "include-path": "/kinds/{slug}/flowering-window",
    "checks": {"use_after_free": {"enabled": False}},
}


def _known(app: FastAPI, *, linked: bool) -> Json:
    """What a client knows of this garden besides the document: what there is, and the day.

    ``linked``: addresses come from the answers before.
    """
    words: dict[str, list[Any]] = {
        "few": [2, 1, 3],
        "days": [f"2027-02-{day:02}" for day in (20, *range(1, 29))],
        "days to come": [f"2027-{month:02}-{day:02}" for month in (3, 4) for day in (1, 20)],
        "kinds": ["carrot", "lettuce", "parsnip"],
    }
    of_paths = []
    with TestClient(app) as client:
        for path in app.openapi()["paths"]:
            collection, _, shown = path[1:].partition("/")
            if shown not in ("{id}", "{code}", "{slug}") or collection == "kinds":
                continue
            name = shown.strip("{}")
            found = client.get(f"/{collection}", params={"open": True}).json()
            if "items" not in found:  # not all are open or closed
                found = client.get(f"/{collection}").json()
            items = [one for one in found.get("items", ()) if _has_seed(one)]
            words[collection] = [one[name] for one in items] or [1]
            of_paths.append(
                {
                    "include-path-regex": f"^/{collection}/",
                    "parameters": {f"path.{name}": _bound(collection)},
                }
            )
    return {
        "dictionaries": {name: {"values": values} for name, values in words.items()},
        "parameters": {
            where: _bound(name)
            for name, places in _PLACES.items()
            for where in places
            if not (linked and where.startswith("path."))
        },
        "operations": [_PACKAGED_LEFT] if linked else [_PACKAGED_LEFT, *of_paths],
    }


def _has_seed(thing: Json) -> bool:
    held = thing.get("amount")
    return not isinstance(held, dict) or held["seeds"] is None or held["seeds"] > 20


def _bound(name: str) -> Json:
    return {"dictionary": name, "probability": 0.7}


def run(
    app: FastAPI, phases: dict[str, int | None], *, solving: bool | None, seed: int = SEED
) -> Told:
    """Ask what ``phases`` name of what solves for a plan, of what doesn't, or of both (None)."""
    settings: Json = {
        name: {"enabled": name in phases}
        | ({"generation": {"max-examples": phases[name]}} if phases.get(name) else {})
        for name in ("examples", "coverage", "fuzzing", "stateful")
    }
    if "stateful" in phases:  # a broken request leads nowhere; they are made in the other phases
        settings["stateful"]["generation"]["mode"] = "positive"
        settings["stateful"]["max-steps"] = 10
    config = SchemathesisConfig.from_dict(
        _known(app, linked="stateful" in phases)
        | {
            "seed": seed,
            # A passport's kind has so many facts that few examples of it are well formed.
            "suppress-health-check": ["filter_too_much"],
            "generation": {"deterministic": True, "database": "none", "no-shrink": True},
            "checks": {
                "positive_data_acceptance": {"expected-statuses": _WELL_FORMED},
                # RFC 6585, section 3: a change that doesn't say of which version is answered 428.
                "missing_required_header": {"expected-statuses": ["400", "428"]},
            },
            "phases": settings,
            "workers": 1,
            "continue-on-failure": True,
            "warnings": False,
        }
    )
    schema = schemathesis.openapi.from_asgi("/openapi.json", app, config=config)
    if solving is not None:
        # Excluding alone: what is included is added to all, where operations are configured.
        rest = [path for path in app.openapi()["paths"] if path not in SOLVING]
        schema = schema.exclude(path=rest if solving else SOLVING)
    told = Told()
    for event in from_schema(schema).execute():
        if isinstance(event, events.ScenarioFinished):
            told.note(event.phase.value, event.recorder)
        elif isinstance(event, events.NonFatalError):
            told.faults[f"{event.label}: {event.info.title}"] = str(event.value)[:1500]
        elif isinstance(event, events.FatalError):
            raise event.exception
    return told
