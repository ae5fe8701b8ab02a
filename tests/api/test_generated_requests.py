"""Requests generated from the OpenAPI document find no 5xx and no answer against the document."""

import multiprocessing
from concurrent.futures import ProcessPoolExecutor

import pytest

from tests.api.generated_requests import Part, Told, told_of
from tests.sizes import sized

MANY = [
    Part(demo=True, solving=False, phases={"fuzzing": sized(15, 45)}),
    Part(demo=True, solving=False, phases={"examples": None, "coverage": None}),
    Part(demo=True, solving=False, phases={"stateful": sized(60, 100)}, times=sized(5, 10)),
    Part(
        demo=False,
        solving=True,
        phases={"examples": None, "coverage": None, "fuzzing": sized(8, 15)},
    ),
    Part(demo=False, solving=True, phases={"stateful": sized(10, 20)}),
    # A garden grown wild by requests is planned for as well.
    Part(demo=False, solving=None, phases={"fuzzing": sized(6, 12)}),
]
FEW = Part(demo=False, solving=None, phases={"fuzzing": 4})
CHECKS = {
    "allow_header_conformance",
    "content_type_conformance",
    "ensure_resource_availability",
    "ignored_auth",
    "missing_required_header",
    "negative_data_rejection",
    "not_a_server_error",
    "object_level_authorization",
    "positive_data_acceptance",
    "response_headers_conformance",
    "response_schema_conformance",
    "status_code_conformance",
    "the_document_tells_what_shapes_are_taken",
    "unsupported_method",
    "use_after_free",
}


def faultless(told: Told) -> None:
    print(f"\n{told}")
    for fault, example in told.faults.items():
        print(f"\n{fault}\n{example}")
    assert set(told.checks) == CHECKS
    assert list(told.faults) == []


def test_a_few_hundred_generated_requests_are_answered_as_documented() -> None:
    told = told_of(FEW)
    assert told.requests.total() >= 300
    faultless(told)


@pytest.mark.fuzz
def test_thousands_of_generated_requests_are_answered_as_documented() -> None:
    told = Told()
    apart = multiprocessing.get_context("spawn")
    with ProcessPoolExecutor(2, mp_context=apart) as pool:
        for part in pool.map(told_of, MANY):
            told.add(part)
    faultless(told)
    assert told.requests.total() >= sized(8_000, 10_000)
    # Refusing all would be no test: nine operations in ten were also done as asked.
    never = sorted(label for label in told.requests if not told.done[label])
    print(f"never done: {never}")
    assert len(never) <= len(told.requests) // 10
