"""The catalogue, and the prose of templates, with every word made up: what still reads as English
was written by code.
"""

import re
from collections.abc import Iterable, Iterator
from functools import cache
from pathlib import Path

from fluent.syntax import FluentParser, FluentSerializer
from fluent.syntax import ast as fluent
from fluent.syntax.visitor import Transformer
from jinja2 import Environment, FunctionLoader

from seedbank.common import catalogue
from seedbank.facts.tables import read_table

_LETTERS = re.compile(r"[A-Za-z]")
_WORD = re.compile(r"[A-Za-z][A-Za-z’']{2,}")
_KEPT = re.compile(r"(&#?\w+;|%\w)")  # entities, and places where a number is put in
_ADDRESS = re.compile(r"https?://\S+")
_PROSE = re.compile(r"""["'](?:[A-Z]|.* )""")
TABLES = Path(catalogue.__file__).parents[1] / "facts" / "tables"


def made_up(text: str) -> str:
    """The text with no English letter left."""
    return _LETTERS.sub("ø", text)


class _MadeUp(Transformer):
    def visit_TextElement(self, node: fluent.TextElement) -> fluent.TextElement:  # noqa: N802
        return fluent.TextElement(made_up(node.value))


@cache
def messages() -> dict[str, str]:
    """The catalogue's messages by code, in made-up words."""
    parser, serializer = FluentParser(), FluentSerializer()
    found = {}
    for code, message in catalogue._messages().items():
        resource = _MadeUp().visit(parser.parse(message))
        found[code] = serializer.serialize(resource)
    return found


def environment(real: Environment) -> Environment:
    """The templates, their own prose in made-up words."""
    loader = real.loader
    assert loader is not None
    made = real.overlay()

    def load(name: str) -> str:
        return "".join(_template(real, loader.get_source(real, name)[0]))

    made.loader = FunctionLoader(load)
    made.cache = {}
    return made


def _template(real: Environment, source: str) -> Iterator[str]:
    tag = skipped = ""
    for _, kind, value in real.lex(source):
        if kind == "string" and _PROSE.match(value):
            yield _with_kept(value)
        elif kind != "data":
            yield value
        else:
            for piece in re.split(r"(<|>)", value):
                if piece in "<>":
                    tag = piece if piece == "<" else ""
                    yield piece
                elif tag:
                    name = re.match(r"/?(script|style)\b", piece)
                    skipped = "" if name is None or piece.startswith("/") else name[1]
                    yield piece
                else:
                    yield piece if skipped else _with_kept(piece)


def _with_kept(text: str) -> str:
    pieces = _KEPT.split(text)
    return "".join(piece if odd % 2 else made_up(piece) for odd, piece in enumerate(pieces))


@cache
def template_words() -> frozenset[str]:
    """Single words handed on in templates, as "today": they are the template's prose, or codes."""
    package = TABLES.parents[1]
    lexed = (
        token
        for file in package.rglob("*.html")
        for token in Environment().lex(file.read_text(encoding="utf-8"))
    )
    return frozenset(words_of(value for _, kind, value in lexed if kind == "string"))


@cache
def facts_words() -> frozenset[str]:
    """Words of published facts: names of kinds, sources, methods."""
    cells = (
        str(cell)
        for file in TABLES.glob("*.csv")
        for row in read_table(file.stem)
        for cell in row.values()
    )
    return frozenset(words_of(cells))


def words_of(texts: Iterable[str]) -> set[str]:
    """The English words in the texts, small."""
    return {word.lower() for text in texts for word in _WORD.findall(_ADDRESS.sub("", text))}
