"""What tests of the pages of lots share."""

import re

from bs4 import Tag

from tests.pages.conftest import Page, Visitor, held


def undo(visitor: Visitor, form: Tag) -> Page:
    """Press the key of one of a page's forms that undo, and see where it leads."""
    return visitor._page(visitor.client.post("/undo", data=held(form)))


def seeds_left(visitor: Visitor, code: str) -> int:
    """Seeds the lot's page says are left."""
    said = visitor.get(f"/lot/{code}").soup.select("#amount")[0].text
    found = re.match(r"([\d,]+) seed", said)
    return int(found[1].replace(",", "")) if found else 0


def error_of(page: Page, field: str) -> str:
    """What is said beside a field, found as a screen reader would: by its description."""
    box = page.soup.find(id=field)
    assert isinstance(box, Tag), field
    said = [page.soup.find(id=name) for name in str(box.get("aria-describedby", "")).split()]
    return " ".join(one.text for one in said if one and "error" in one.get("class", []))
