"""The OpenAPI document kept in ``api_docs`` is the application's own, and valid."""

import json
from pathlib import Path
from typing import Any

import pytest
from openapi_spec_validator import OpenAPIV31SpecValidator

from seedbank.server.document import printed, write_document
from tests.api.conftest import Hand

KEPT = Path(__file__).parents[2] / "api_docs/openapi.json"
RENEW = "python -m seedbank.server.document api_docs/openapi.json"


@pytest.fixture(scope="module")
def kept() -> dict[str, Any]:
    document: dict[str, Any] = json.loads(KEPT.read_text("utf-8"))
    return document


def test_the_document_kept_is_the_applications_own(hand: Hand) -> None:
    # Not a bare assert: the difference is thousands of lines long, the mend one.
    if KEPT.read_text("utf-8") != printed(hand.app):
        pytest.fail(f"api_docs/openapi.json is stale; renew it with: {RENEW}", pytrace=False)


def test_the_command_that_renews_it_writes_the_same_document(tmp_path: Path, hand: Hand) -> None:
    write_document(tmp_path / "again.json")
    assert (tmp_path / "again.json").read_text("utf-8") == printed(hand.app)


def test_the_document_is_valid_openapi_3_1(kept: dict[str, Any]) -> None:
    assert kept["openapi"].startswith("3.1.")
    faults = [error.message for error in OpenAPIV31SpecValidator(kept).iter_errors()]
    assert faults == []


def test_a_document_that_is_not_valid_is_found_out(kept: dict[str, Any]) -> None:
    operation = {"responses": {"200": {"content": {}}}}  # says nothing of what it means
    broken = kept | {"paths": {"/seed": {"get": operation}}}
    assert list(OpenAPIV31SpecValidator(broken).iter_errors())
