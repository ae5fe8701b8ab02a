"""Which lots to towel this winter."""

from fastapi import Response

from seedbank.verdicts.choose_tests import choose_tests
from seedbank.verdicts.forms import TestBatchAsked
from seedbank.web.pages.page_request import PageRequestDep
from seedbank.web.pages.page_route import page_router

router = page_router()


@router.get("/towels")
def towels(request: PageRequestDep) -> Response:
    """The few lots whose towels save most."""
    filled = request.asked(TestBatchAsked)
    asked = filled.form or TestBatchAsked()
    answer = choose_tests(request.session, asked, today=request.today)
    status = 422 if filled.errors else 200
    return request.show("verdicts/pages/towels.html", status, answer=answer, filled=filled)
