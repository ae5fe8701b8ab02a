"""Every form of every page filled at random: answered in words, and no claim broken afterwards."""

import random
import uuid

import pytest
from bs4 import Tag
from fastapi.testclient import TestClient

from tests.pages.addresses import ADDRESSES
from tests.pages.conftest import Visitor, held
from tests.sizes import sized

ODD = (
    "", " ", "0", "-1", "1", "2", "7", "12", "0.5", "1e308", "-1e-320", "nan", "inf", "1e999",
    "9" * 40, "007", "½", "٣", "approx 50", "yes", "on", "none", "x" * 5000, "<b>&", "' OR 1=1 --",
    "\x00", "\U0001f600", "\u202e", "a\r\nb", "2027-02-20", "2027-02-30", "0001-01-01",
    "9999-12-31", "20.2.2027", "26YPM", "PR0K9", "00000", "Purple Lantern", "carrot", "cage",
)  # fmt: skip
LIKELY = {
    "numeric": ("0", "1", "2", "3", "5", "10", "25"),
    "decimal": ("0", "0.5", "1", "2.5", "12"),
    "date": ("2027-02-20", "2027-02-19", "2027-01-05", "2026-06-01", "2027-04-10"),
}
SHARES = (0.02, 0.1, 0.4)  # of the fields that something odd is put into, form by form
TAKEN_AWAY = 0.03


def forms(visitor: Visitor) -> list[tuple[str, Tag]]:
    """Each form once, with the page it is on."""
    found: dict[tuple[str, str, str], tuple[str, Tag]] = {}
    for address in ADDRESSES:
        for form in visitor.get(address).soup.select("form"):
            names = " ".join(sorted(str(one["name"]) for one in form.select("[name]")))
            action = str(form.get("action") or address)
            found.setdefault((str(form.get("method")), action, names), (address, form))
    return list(found.values())


def filled(form: Tag, draw: random.Random) -> dict[str, str]:
    """What the form holds, with fields likely filled in, and some of it odd or gone."""
    fields, likely = held(form), meant(form)
    odd = draw.choice(SHARES)
    for name in sorted(fields.keys() | likely.keys()):
        if name == "key":
            fields[name] = str(uuid.UUID(int=draw.getrandbits(128), version=4))
        elif draw.random() < TAKEN_AWAY:
            fields.pop(name, None)
        elif draw.random() < odd:
            fields[name] = draw.choice(ODD)
        elif likely.get(name) and (not fields.get(name) or draw.random() < 0.3):
            fields[name] = draw.choice(likely[name])
    if draw.random() > odd:  # seed is counted or weighed
        fields |= {name: "" for name in fields if name.split(".")[-1] == "grams"}
    return fields


def meant(form: Tag) -> dict[str, list[str]]:
    """Values that each field is meant for."""
    found = {
        str(one["name"]): [str(option.get("value", "")) for option in one.select("option")]
        for one in form.select("select[name]")
    }
    for one in form.select("input[name], button[name]"):
        sort = str(one.get("inputmode") or one.get("type") or "")
        if one.name == "button" and one["name"] == "step":
            continue  # pressed without script alone
        if sort in ("checkbox", "radio") or one.name == "button":
            found.setdefault(str(one["name"]), []).append(str(one.get("value", "on")))
        elif sort in LIKELY:
            found[str(one["name"])] = list(LIKELY[sort])
    return found


def send(client: TestClient, address: str, form: Tag, fields: dict[str, str]) -> tuple[bool, str]:
    """Send it: whether something was done of it, and what is wrong with the answer, if anything."""
    action = str(form.get("action") or address)
    if (form.get("method") or "get").lower() == "get":
        answer = client.get(action, params=fields)
    elif form.get("enctype") == "multipart/form-data":
        answer = client.post(action, files={n: (None, v) for n, v in fields.items()})
    else:
        answer = client.post(action, data=fields)
    wrong = answer.status_code >= 500 or "Traceback" in answer.text
    done = any(step.status_code == 303 for step in answer.history)
    return done, f"{answer.status_code} of {action}: {fields}" if wrong else ""


def tried(visitor: Visitor, seed: int, times: int) -> list[str]:
    draw = random.Random(seed)
    every = forms(visitor)
    assert len(every) > 50
    answers = [
        send(visitor.client, address, form, filled(form, draw))
        for _ in range(times)
        for address, form in every
    ]
    # Refusing all would be no test.
    assert sum(done for done, _ in answers) > len(answers) // 6
    return [wrong for _, wrong in answers if wrong]


def test_no_form_filled_at_random_breaks_anything(visitor: Visitor) -> None:
    assert tried(visitor, seed=1, times=sized(1, 2)) == []


@pytest.mark.fuzz
def test_no_form_filled_at_random_many_times_breaks_anything(visitor: Visitor) -> None:
    assert tried(visitor, seed=2, times=sized(8, 15)) == []
