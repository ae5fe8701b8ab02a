"""The README's pictures: there, small, and made anew from the demonstration garden by

``python -m tests.pages.browser.test_readme_pictures``
"""

from io import BytesIO
from pathlib import Path
from tempfile import TemporaryDirectory

import pytest
from PIL import Image
from playwright.sync_api import Page, sync_playwright
from sqlalchemy import make_url

from tests.pages.browser.conftest import PHONE, launched, serving
from tests.pages.conftest import import_demo

README = Path(__file__).parents[3] / "README.md"
PICTURES = README.parent / "api_docs" / "pictures"
# Name: the address, and what the top of the picture shows (empty: the page's own top).
SHOWN = {
    "now": ("/", ""),
    "lot": ("/lot/K9MXH", ""),
    "test": ("/test/130", "#counts"),
    "sow": ("/lot/K9MXH/sow?method=row&plants=30&soil_temp_c=18&was=row", ""),
}
HIGH, COLOURS, MOST_BYTES = 900, 64, 80_000


@pytest.mark.parametrize("name", SHOWN)
def test_a_picture_is_there_small_and_named_in_the_readme(name: str) -> None:
    file = PICTURES / f"{name}-360.png"
    assert file.stat().st_size <= MOST_BYTES
    with Image.open(file) as picture:
        assert picture.size == (PHONE[0], HIGH)
    assert f"api_docs/pictures/{name}-360.png" in README.read_text()


def renew() -> None:
    """Take all pictures, light, as a phone shows them."""
    with TemporaryDirectory() as folder, sync_playwright() as playwright:
        url = make_url(f"sqlite:///{folder}/demo.sqlite")
        import_demo(url)
        browser = launched(playwright, "chromium")
        # As high as the picture, so that what keeps to the foot of a screen stands at its foot.
        viewport = {"width": PHONE[0], "height": HIGH}
        page = browser.new_page(viewport=viewport, locale="en-GB")  # type: ignore[arg-type]  # a TypedDict
        with serving(str(url)) as root:
            for name, (address, top) in SHOWN.items():
                page.goto(root + address)
                take(page, top, PICTURES / f"{name}-360.png")
        browser.close()


def take(page: Page, top: str, file: Path) -> None:
    """Keep what the screen shows, in few colours."""
    if top:
        page.locator(top).evaluate("it => scrollTo(0, it.getBoundingClientRect().top - 6)")
    page.wait_for_load_state("networkidle")
    taken = Image.open(BytesIO(page.screenshot())).convert("RGB")
    taken.quantize(COLOURS, dither=Image.Dither.NONE).save(file, optimize=True)


if __name__ == "__main__":
    renew()
