"""Templates: HTML escapes every value, a misspelt name is an error, not a blank."""

import hashlib
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


def render(template: str, **names: Any) -> str:
    """The text of ``template``."""
    return _environment().get_template(template).render(**names)


def static_address(name: str) -> str:
    """Address of a file in ``static/``, another one whenever its bytes change."""
    return f"/static/{name}?v={_digest(name)}"


@cache
def _digest(name: str) -> str:
    return hashlib.sha256((STATIC / name).read_bytes()).hexdigest()[:12]


@pass_context
def say(context: Context, found: FindingAnswer) -> str:
    """A finding, as the page's reader writes days and sizes."""
    local: Local = context["local"]
    return found.text_for(local)


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
    return environment
