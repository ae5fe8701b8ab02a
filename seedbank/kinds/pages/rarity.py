"""How many others keep each variety of which nobody has said: many answered for at once."""

from fastapi import Response

from seedbank.kinds.edit_varieties import answer_variety, tell_keepers, untold_keepers
from seedbank.kinds.forms import KeepersTold
from seedbank.saving import words
from seedbank.web.pages.form_reading import Filled
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, SentDep
from seedbank.web.pages.page_route import page_router

router = page_router()
_MOST = 100


@router.get("/rarity")
def ask(request: PageRequestDep) -> Response:
    """The varieties nobody has told it of, the first hundred."""
    return _page(request, Filled())


@router.post("/rarity")
def tell(sent: SentDep) -> Response:
    """Keep what was answered; the others are asked about again."""
    request = sent.request
    items = [
        {"variety_id": one.id, "other_keepers": sent.get(f"keepers-{one.id}")}
        for one in untold_keepers(request.session, _MOST)
        if sent.get(f"keepers-{one.id}")
    ]

    def action(form: KeepersTold) -> str:
        tell_keepers(request.session, form)
        return "/rarity"

    filled = sent.form(KeepersTold, {"items": items})
    return sent.act(filled, action, lambda again, status: _page(request, again, status))


def _page(request: PageRequest, filled: Filled[KeepersTold], status: int = 200) -> Response:
    return request.show(
        "kinds/pages/rarity.html",
        status,
        filled=filled,
        varieties=[
            answer_variety(request.session, one) for one in untold_keepers(request.session, _MOST)
        ],
        keepers=words.keepers(),
    )
