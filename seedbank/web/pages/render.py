"""Templates: HTML escapes every value, a misspelt name is an error, not a blank."""

import hashlib
import re
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, PackageLoader, StrictUndefined, pass_context
from jinja2.runtime import Context

from seedbank.common.answers import FindingAnswer
from seedbank.common.catalogue import text_of
from seedbank.common.local_format import Local
from seedbank.science.quantities import Finding

STATIC = Path(__file__).parent / "static"


_DRAWN = re.compile(r'href="#i-([a-z-]+)"')
_NO_ICONS = 'aria-hidden="true"></svg>\n</body>'  # the end of base.html, where they come to stand


def render(template: str, **names: Any) -> str:
    """The text of ``template``, with the drawings that it uses and no others."""
    text = _environment().get_template(template).render(**names)
    icons = _icons()
    used = "".join(icons[name] for name in dict.fromkeys(_DRAWN.findall(text)))
    return text.replace(_NO_ICONS, _NO_ICONS.replace("></svg>", f">{used}</svg>"))


@cache
def _icons() -> dict[str, str]:
    """Our own drawings by name, each a symbol."""
    drawn = (Path(__file__).parent / "icons.svg").read_text("utf-8")
    return {one[1]: one[0] for one in re.finditer(r'<symbol id="i-([a-z-]+)".*?</symbol>', drawn)}


def static_address(name: str) -> str:
    """Address of a file in ``static/``, another one whenever its bytes change."""
    return f"/static/{name}?v={_digest(name)}"


@cache
def _digest(name: str) -> str:
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]


@pass_context
def say(context: Context, found: FindingAnswer, part: str = "") -> str:
    """A finding, or a ``part`` of it, as the page's reader writes days and sizes."""
    local: Local = context["local"]
    return found.text_for(local, part)


@pass_context
def chance(context: Context, share: float) -> str:
    """A chance 0..1 in per cent, never rounded into a certainty."""
    return text_of(Finding("chance-in-words", {"chance": share}), context["local"])


@pass_context
def amount(context: Context, seeds: int | None) -> str:
    """So many seeds; None: some, not counted."""
    return text_of(Finding("amount", {"seeds": seeds}), context["local"])


@pass_context
def isolation(context: Context, way: str) -> str:
    """A way of isolating, by the word for it."""
    return text_of(Finding("isolation-way", {"way": way}), context["local"])


@pass_context
def state_word(context: Context, state: str) -> str:
    """A packet's state, a verdict's code, in words."""
    return text_of(Finding("verdict", {"verdict": state}), context["local"])


def upper_first(text: str) -> str:
    """A name or words to begin a line with: the first letter large, the others as they are."""
    return text[:1].upper() + text[1:]


@cache
def _environment() -> Environment:
    environment = Environment(
        loader=PackageLoader("seedbank", ""),
        autoescape=True,
        undefined=StrictUndefined,
        trim_blocks=True,
        lstrip_blocks=True,
        auto_reload=False,
    )
    environment.globals["static"] = static_address
    environment.filters["say"] = say
    environment.filters["chance"] = chance
    environment.filters["amount"] = amount
    environment.filters["isolation"] = isolation
    environment.filters["state_word"] = state_word
    environment.filters["upper_first"] = upper_first
    return environment
