"""How much was recalled, told alike by viability, verdict and sowing advice."""

from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.forms import SowingAsk
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.viability.show_viability import show_viability
from tests.use_cases.conftest import Garden


def test_each_answer_tells_what_share_rests_on_recalled_figures(garden: Garden) -> None:
    shares = set()
    for kind in ("carrot", "onion", "sunflower"):
        code = garden.lot(900, kind=kind).code
        life = show_viability(garden.session, code, today=garden.today)
        verdict = show_verdict(garden.session, code, today=garden.today)
        advice = advise_lot(garden.session, code, SowingAsk(plants=20), today=garden.today)
        assert life.recalled_share == verdict.recalled_share == advice.recalled_share
        told = "viability-recalled" in {one.code for one in advice.reasons}
        assert told == (life.recalled_share > 0)
        shares.add(life.recalled_share)
    assert len(shares) > 1
