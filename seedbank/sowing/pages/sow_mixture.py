"""How much of a mixture to sow."""

from fastapi import Response
from starlette.responses import RedirectResponse

from seedbank.common.errors import Conflict, MisreadCode, NotThere, StockFault
from seedbank.sowing.advise_mixture import advise_mixture, is_mixture
from seedbank.sowing.forms import SowingAsk
from seedbank.sowing.setting import usual_sowing_of_lot
from seedbank.sowing.words import methods
from seedbank.web.pages.page_request import PageRequestDep, worded
from seedbank.web.pages.page_route import page_router

router = page_router()


@router.get("/lot/{code}/sow-mixture")
def ask(request: PageRequestDep, code: str) -> Response:
    """How much of it to sow for the plants wanted, by what of each part comes up.

    A lot that is no mixture is sown as lots are.
    """
    if not is_mixture(request.session, code):
        return RedirectResponse(f"/lot/{code}/sow", 303)
    usual = usual_sowing_of_lot(request.session, code)
    asked, advice, refusal = request.asked(SowingAsk), None, None
    if asked.form is not None:
        try:
            advice = advise_mixture(request.session, code, asked.form, today=request.today)
        except (NotThere, MisreadCode):
            raise
        except Conflict as fault:
            refusal = worded(fault)
        except StockFault as fault:
            asked = asked.faulted(fault, request.local)
    return request.show(
        "sowing/pages/sow_mixture.html",
        422 if asked.errors else 409 if refusal else 200,
        usual=usual,
        asked=asked,
        advice=advice,
        refusal=refusal,
        methods=methods(),
    )
