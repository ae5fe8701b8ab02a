"""Whatever is written into a page of lots stays text: never markup, script or template."""

from collections import Counter

import pytest
from bs4 import BeautifulSoup
from hypothesis import HealthCheck, Phase, given, settings
from hypothesis import strategies as st

from tests.pages.conftest import Page, Visitor
from tests.pages.lot_pages import error_of

PIECES = [
    "<script>alert(1)</script>",
    "</textarea><script src=//evil.example></script>",
    "\"'><img src=x onerror=alert(1)>",
    "' onmouseover='alert(1)",
    "{{7*7}}",
    "{% include 'base.html' %}",
    "{# no #}",
    "${7*7} %s %(x)s {0}",
    "<!--",
    "]]>",
    "&lt;b&gt;&amp;#60;",
    "javascript:alert(1)",
    "'; DROP TABLE lot; --",
    "مرحبا שלום",
    "\u200f\u200e\u200b",
    "𝔘 🌱 e\u0301",
    "\u2028\u2029\x85",
    "long " * 20,
]
HOSTILE = st.lists(st.sampled_from(PIECES), min_size=1, max_size=3).map(
    lambda pieces: "a" + " ".join(pieces).replace("  ", " ") + "z"
)

UNSHRUNK = (Phase.explicit, Phase.reuse, Phase.generate)  # the pieces are short as they are


def shape(page: Page) -> Counter[tuple[object, ...]]:
    """Elements of the page with the names of what they carry, but not the words in them."""
    return shape_of(page.soup)


def shape_of(soup: BeautifulSoup) -> Counter[tuple[object, ...]]:
    return Counter(
        (one.name, *sorted(one.attrs))
        for one in soup.find_all(True)
        if not (one.name == "option" and set(one.attrs) <= {"value", "selected"})  # one more each
    )


def said(page: Page) -> str:
    """All the page's text and all that its fields hold, blanks as one."""
    held = [str(one.get("value", "")) for one in page.soup.select("input")]
    return " ".join((page.soup.get_text(" ") + " ".join(held)).split())


def packet(text: str, variety: str) -> dict[str, str]:
    return {
        "kind": "carrot",
        "variety": variety,
        "donor": text[:200].strip(),
        "notes": text,
        "purity_note": text[:400].strip(),
        "new_place.name": variety[::-1][:120].strip() + variety[:1],
        "seed_parents": "3",
        "much": "seeds",
        "amount.seeds": "50",
    }


def shown(visitor: Visitor, text: str, variety: str) -> list[Page]:
    """Every page of lots that shows the text, in one order."""
    taken = visitor.send_fields(visitor.get("/take-in"), "/take-in", packet(text, variety))
    assert taken.status == 200, taken.text
    lot = taken.address
    give = visitor.send(visitor.get(f"{lot}/give"), f"{lot}/give", amount__seeds=1, note=text[:400])
    assert give.status == 200, give.text
    found = visitor.client.get("/find", params={"words": variety})
    return [
        taken,
        give,
        visitor._page(found),
        *(visitor.get(f"{lot}{part}") for part in ("", "/change", "/move", "/give", "/changes")),
        visitor.send(visitor.get(f"{lot}/change"), f"{lot}/change", notes=text + "!", donor="x"),
    ]


@settings(
    max_examples=5,
    deadline=None,
    phases=UNSHRUNK,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
@given(text=HOSTILE)
def test_hostile_text_is_shown_as_it_was_typed_and_is_nothing_else(
    bare: Visitor, text: str
) -> None:
    number = sum(1 for _ in bare.client.get("/varieties?limit=200").json()["items"])
    name = f"{text[:100].strip()} {number}"
    plain = shown(bare, "plain", f"Plain {number}")
    hostile = shown(bare, text, name)
    for ours, theirs in zip(plain, hostile, strict=True):
        assert theirs.status == 200
        assert shape(theirs) - shape(ours) == Counter()
        assert " ".join(name.split()) in said(theirs)


@given(text=HOSTILE)
@settings(
    max_examples=15,
    deadline=None,
    phases=UNSHRUNK,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
)
def test_hostile_words_looked_for_or_refused_are_text(visitor: Visitor, text: str) -> None:
    for address, field in (("/find", "words"), ("/take-in", "variety")):
        asked = {field: text}
        page = visitor._page(visitor.client.get(address, params=asked))
        plain = visitor._page(visitor.client.get(address, params={field: "zzzzqqq"}))
        assert page.status in (200, 422)
        if page.status == 200 and not page.soup.select("#answer li"):
            assert shape(page) == shape(plain)
        assert len(page.soup.select("script")) == len(plain.soup.select("script"))
        assert page.soup.select("main script, main img, main [onerror], main [onmouseover]") == []
    lost = visitor._page(
        visitor.client.get(f"/lot/{text.replace('/', '')[:60]}", headers={"Accept": "text/html"})
    )
    assert lost.status in (404, 422)
    assert lost.soup.select("main script, main img") == []


@pytest.mark.parametrize("sign", ["\x00", "\x1b", "\u202e", "\u2066"])
def test_signs_that_are_not_seen_are_refused_beside_the_field(visitor: Visitor, sign: str) -> None:
    for field, text in (("variety", f"Mo{sign}th"), ("notes", f"no{sign}tes")):
        typed = packet("plain", "Plain") | {field: text}
        page = visitor.send_fields(visitor.get("/take-in"), "/take-in", typed)
        assert page.status == 422
        assert "control characters" in error_of(page, field)
    assert visitor.client.get("/find", params={"words": f"a{sign}"}).status_code == 422


def test_a_text_too_long_is_refused_beside_the_field(visitor: Visitor) -> None:
    typed = packet("plain", "x" * 121)
    page = visitor.send_fields(visitor.get("/take-in"), "/take-in", typed)
    assert page.status == 422
    assert "120 characters" in error_of(page, "variety")
