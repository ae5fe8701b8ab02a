"""How thickly to sow, answered as the question changes, and recorded with one tap."""

from collections.abc import Callable, Mapping
from dataclasses import dataclass
from datetime import date
from typing import Annotated, Any
from urllib.parse import urlencode

from fastapi import Path, Response

from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import choice_words, text_of
from seedbank.common.errors import Conflict, MisreadCode, Missing, NotThere, StockFault
from seedbank.common.local_format import Local
from seedbank.emergence.tables import SowingMethod
from seedbank.science.quantities import Finding, Value
from seedbank.science.verdicts.verdict import Verdict
from seedbank.sowing.advise_sowing import advise_lot
from seedbank.sowing.advise_variety import advise_variety
from seedbank.sowing.answers import SowingAdviceAnswer, UsualSowingAnswer, VarietySowingAdviceAnswer
from seedbank.sowing.forms import SeveralSowings, SowingAsk
from seedbank.sowing.pages.drill_figure import seeds_along
from seedbank.sowing.record_sowing import record_sowings
from seedbank.sowing.setting import usual_protection, usual_sowing_of_lot, usual_sowing_of_variety
from seedbank.sowing.words import methods, protections
from seedbank.verdicts.list_verdicts import show_verdict
from seedbank.web.pages.form_reading import Filled, read_form
from seedbank.web.pages.page_request import PageRequest, PageRequestDep, Sent, SentDep, worded
from seedbank.web.pages.page_route import page_router

router = page_router()
Number = Annotated[int, Path(ge=1, le=2_147_483_647)]
Advice = SowingAdviceAnswer | VarietySowingAdviceAnswer
_SPAN_COOKIE, _YEAR_S = "seedbank_hand_span", 31_536_000
_STEPS = ("usual", "little", "half", "nearly-twice", "twice")
_ALIKE = 0.05  # of the rate: more is another rate
CONFIDENCES = (0.5, 0.8, 0.9, 0.95, 0.99)
_ROOM = {
    "row": ["row_m", "area_m2"],
    "station": ["row_m", "stations"],
    "module": ["cells", "plants_a_cell"],
    "broadcast": ["area_m2"],
}
_FIELDS = (
    "plants", "confidence", "method", "protection", "soil_temp_c", "sow_on", "spacing_cm", "row_m",
    "area_m2", "stations", "cells", "plants_a_cell", "sowings", "hand_span_cm", "use_reserve",
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class _Subject:
    """What is to be sown, and who answers for it."""

    path: str
    usual: UsualSowingAnswer
    advise: Callable[[SowingAsk], Advice]


@router.get("/lot/{code}/sow")
def ask_lot(request: PageRequestDep, code: str) -> Response:
    """How thickly to sow a lot."""
    return _show(request, _lot(request, code), Filled(), 200)


@router.post("/lot/{code}/sow")
def sow_lot(sent: SentDep, code: str) -> Response:
    """Record what was sown of the lot."""
    return _record(sent, _lot(sent.request, code))


@router.get("/variety/{number}/sow")
def ask_variety(request: PageRequestDep, number: Number) -> Response:
    """Which lots of a variety to sow, and how thickly."""
    return _show(request, _variety(request, number), Filled(), 200)


@router.post("/variety/{number}/sow")
def sow_variety(sent: SentDep, number: Number) -> Response:
    """Record what was sown of each lot."""
    return _record(sent, _variety(sent.request, number))


def _lot(request: PageRequest, code: str) -> _Subject:
    usual = usual_sowing_of_lot(request.session, code)
    return _Subject(
        f"/lot/{usual.lot}/sow",
        usual,
        lambda ask: advise_lot(request.session, code, ask, today=request.today),
    )


def _variety(request: PageRequest, number: int) -> _Subject:
    return _Subject(
        f"/variety/{number}/sow",
        usual_sowing_of_variety(request.session, number),
        lambda ask: advise_variety(request.session, number, ask, today=request.today),
    )


def _record(sent: Sent, subject: _Subject) -> Response:
    request = sent.request

    def action(form: SeveralSowings) -> str:
        made = record_sowings(request.session, form, today=request.today, now=request.now)
        return f"/sowing/{made[0].id}" if len(made) == 1 else "/sowing"

    def again(filled: Filled[SeveralSowings], status: int) -> Response:
        return _show(request, subject, filled, status)

    return sent.act(sent.form(SeveralSowings), action, again)


def _show(
    request: PageRequest, subject: _Subject, recording: Filled[SeveralSowings], status: int
) -> Response:
    asked, typed = _asked(request, subject)
    advice, refusal = None, None
    if asked.form is not None:
        try:
            advice = subject.advise(asked.form)
        except (NotThere, Missing, MisreadCode):
            raise
        except Conflict as fault:
            refusal = worded(fault)
        except StockFault as fault:
            asked = asked.faulted(fault, request.local)
    sowings = [] if advice is None else _sowings(advice, request.local)
    hand = None if advice is None or advice.row is None else advice.rate.hand
    page = request.show(
        "sowing/pages/sow.html",
        422 if asked.errors and status == 200 else status,
        subject=subject.usual,
        action=subject.path,
        again=f"{subject.path}?{urlencode(typed)}",
        asked=asked,
        advice=advice,
        whole=None if advice is None else _whole(advice),
        sign=("", "") if advice is None else _sign(request, subject.usual, advice),
        asked_for=""
        if advice is None or not advice.seeds
        else _asked_for(request, asked.form, advice),
        drawn=hand and (seeds_along(hand.usual_a_span), seeds_along(hand.seeds_a_span)),
        refusal=refusal,
        recording=recording,
        warnings=[] if advice is None else _warnings(advice),
        sowings=sowings,
        recorded_fields=[
            f"sowings[{at}].{name}"
            for at in range(len(sowings))
            for name in ("lot", "seeds_sown", "sown_on", "row_m", "stations")
        ],
        can_record=advice is not None and advice.seeds > 0 and advice.sow_on <= request.today,
        room=_ROOM.get(typed.get("method", ""), []),
        least_cost=text_of(Finding("sowing-least-cost")),
        confidences=choice_words("sowing-confidence", CONFIDENCES).items(),
        methods=methods().items(),
        protections=protections().items(),
        shown=_FIELDS,
        labels=choice_words("sowing-asked", _FIELDS),
    )
    span = asked.value("hand_span_cm")
    if asked.form is not None and span:  # asked once
        page.set_cookie(_SPAN_COOKIE, span, max_age=_YEAR_S, httponly=True, samesite="lax")
    return page


def _whole(advice: Advice) -> SowingAdviceAnswer | None:
    """The advice on the one lot that is sown; None: several are."""
    return advice if isinstance(advice, SowingAdviceAnswer) else advice.lot_advice


def _sign(request: PageRequest, usual: UsualSowingAnswer, advice: Advice) -> tuple[str, str]:
    """The answer in a sentence, and the packet's state as every page tells it.

    Where what is said of the packet is what this sowing asks, that is said again, also where the
    two lie on either side of a step's edge; else this sowing's own sentence, without a state.
    """
    whole = _whole(advice)
    if whole and whole.several and whole.several.asked:
        clump: dict[str, Value] = {"units": whole.several.seeds_per_cell}
        return text_of(Finding("several-sign", clump), request.local), ""
    own = text_of(advice.rate.sign.finding, request.local)
    if not usual.lot:
        return own, ""
    verdict = show_verdict(request.session, usual.lot, today=request.today)
    if verdict.advice is None or verdict.verdict not in (
        Verdict.SOW_AS_USUAL,
        Verdict.SOW_THICKER,
    ):
        return own, verdict.verdict or ""
    told, here = verdict.advice.names.get("step", "usual"), advice.rate.sign.names["what"]
    usually = verdict.in_rows.times_usual if verdict.in_rows else 1.0
    alike = abs(advice.rate.thickness - usually) <= _ALIKE * usually
    if here not in _STEPS or (here != told and not alike):
        return own, ""
    return text_of(verdict.advice.finding, request.local, "sign"), verdict.verdict


def _asked_for(request: PageRequest, ask: SowingAsk | None, advice: Advice) -> str:
    """What is asked for, in a few words; a row as it was asked for where it holds no plant more."""
    row_m = None if advice.row is None else advice.row.row_m
    if ask and ask.row_m and advice.row:
        spare_m = ask.row_m - advice.row.row_m
        row_m = ask.row_m if spare_m < advice.row.final_spacing_cm / 100.0 else row_m
    values: dict[str, Value] = {
        "method": advice.method,
        "plants": advice.plants_wanted,
        "row_m": row_m,
        "on": None if advice.sow_on == request.today else advice.sow_on,
    }
    return text_of(Finding("sowing-asked-for", values), request.local)


def _asked(request: PageRequest, subject: _Subject) -> tuple[Filled[SowingAsk], Mapping[str, str]]:
    """The question in the address, with what is usual for the kind where nothing is asked yet.

    What went with another method (``was``) goes with it: its limits, what it was kept under.
    """
    given = request.http.query_params
    typed = {name: given[name] for name in _FIELDS if given.get(name, "").strip()}
    usual = subject.usual
    if "hand_span_cm" not in given and _SPAN_COOKIE in request.http.cookies:
        typed["hand_span_cm"] = request.http.cookies[_SPAN_COOKIE]
    if "method" not in given:
        typed = {"method": usual.method, "protection": usual.protection, **typed}
        if usual.row_m:
            typed.setdefault("row_m", request.local.shown("row_m", usual.row_m))
        elif usual.plants_wanted:
            typed.setdefault("plants", str(usual.plants_wanted))
    elif given.get("was", typed.get("method")) != typed.get("method"):
        protection = usual_protection(SowingMethod(typed["method"])) if _known(typed) else ""
        typed |= {"protection": str(protection)} if protection else {}
    room = {name for names in _ROOM.values() for name in names}
    gone = room - set(_ROOM.get(typed.get("method", ""), room))
    typed = {name: text for name, text in typed.items() if name not in gone}
    if "plants" not in typed and not room & typed.keys():
        typed["plants"] = "10" if "method" not in given else ""
    return read_form(SowingAsk, typed, request.local), typed


def _warnings(advice: Advice) -> list[FindingAnswer]:
    """What to beware of; what the page says in its own words is left out."""
    own = (advice.soil.code, "sowing-reserve-kept")
    warnings = [one for one in advice.warnings if one.code not in own]
    if advice.kept_back:
        tick = Finding("sowing-reserve-tick", {"seeds": advice.kept_back})
        warnings.insert(0, FindingAnswer.of(tick))
    return warnings


def _known(typed: Mapping[str, str]) -> bool:
    return typed.get("method", "") in list(SowingMethod)


def _sowings(advice: Advice, local: Local) -> list[dict[str, Any]]:
    """What one tap records, a lot each, as the fields of its form hold it."""
    whole = _whole(advice)
    if isinstance(advice, SowingAdviceAnswer):
        several = advice.several if advice.several and advice.several.asked else None
        shares = [(advice.lot, several.seeds if several else advice.seeds)]
    else:
        shares = [(one.lot, one.seeds) for one in advice.lots if one.seeds]
    return [
        {
            "lot": lot,
            "seeds": seeds,
            "hidden": _carried(advice, whole, local, seeds / max(advice.seeds, 1)),
        }
        for lot, seeds in shares
    ]


def _carried(
    advice: Advice, whole: SowingAdviceAnswer | None, local: Local, share: float
) -> dict[str, str]:
    """The rest of one sowing; of lots sown together each has its share of row and of plants."""
    places = None
    row_m = None if advice.row is None else advice.row.row_m * share
    if whole is not None and whole.stations is not None:
        places, row_m = whole.stations.stations, whole.stations.row_m
    if whole is not None and whole.cells is not None:
        places = whole.cells.cells
        if whole.several and whole.several.asked:
            places = whole.several.cells
    area = None if advice.bed is None else advice.bed.area_m2 * share
    fields = {
        "method": str(advice.method),
        "protection": str(advice.protection),
        "row_m": local.shown("row_m", row_m) if row_m else "",
        "area_m2": local.shown("area_m2", area) if area else "",
        "stations": "" if places is None else str(places),
        "soil_temp_c": local.shown("soil_temp_c", advice.soil.soil_temp_c),
        "plants_wanted": str(round(advice.plants_wanted * share)),
        "notes": _as_told(advice, advice.sow_on),
    }
    return {name: text for name, text in fields.items() if text}


def _as_told(advice: Advice, day: date) -> str:
    """The forecast as it was told, kept with the sowing."""
    numbers: dict[str, Value] = {
        "seeds": advice.seeds,
        "plants_wanted": advice.plants_wanted,
        "plants": advice.plants.mean,
        "low_plants": advice.plants.low,
        "high_plants": advice.plants.high,
        "p_enough": advice.chance_of_enough.pct / 100.0,
    }
    return text_of(Finding("sowing-as-told", {"on": day, **numbers}))
