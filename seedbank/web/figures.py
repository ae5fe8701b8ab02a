"""Drawing: one look for every picture, light and dark, and the same bytes for the same figures.

Matplotlib draws in sentinel colours, and each becomes a CSS variable of the document, so that one
file serves both modes. Lettering stays text. Nothing outside the document is asked for.

What a picture is: words and rows at once, the drawing only when somebody looks at it.
"""

import re
from collections import Counter
from collections.abc import Callable
from dataclasses import dataclass, field
from functools import cache
from hashlib import sha256
from html import escape
from io import BytesIO
from pathlib import Path
from threading import Lock
from typing import TYPE_CHECKING, Any

from seedbank.common.answers import Source
from seedbank.common.safe_text import plain_text

if TYPE_CHECKING:
    from matplotlib.axes import Axes
    from matplotlib.figure import Figure as Drawing

WIDTH = 324
"""CSS pixels: what a phone of 360 leaves between its margins."""
TEXT = 12.0
"""Least size of lettering, CSS pixels."""

# Sentinels: colours that nothing else can have.
INK, SOFT, RULE = "#010203", "#010204", "#010205"
OUTER, INNER, LINE = "#010206", "#010207", "#010208"
MARK, WARN, PAPER = "#010209", "#01020a", "#01020b"

# (light, dark). Text reaches 7:1 on the paper, lines and marks 3:1; the tests reckon it out.
_COLOURS = {
    INK: ("ink", "#1d1a16", "#f3eee2"),
    SOFT: ("soft", "#4a443b", "#cfc7b6"),
    RULE: ("rule", "#ddd6c8", "#4a4437"),
    OUTER: ("outer", "#f3e4ec", "#46303c"),
    INNER: ("inner", "#d9b3c7", "#71495e"),
    LINE: ("line", "#5c1f42", "#f2b9d6"),
    MARK: ("mark", "#123f6e", "#a9cdf2"),
    WARN: ("warn", "#8c1010", "#ffb4a8"),
    PAPER: ("paper", "#ffffff", "#211e18"),
}
COLOURS = {name: (light, dark) for name, light, dark in _COLOURS.values()}
_FACE = "system-ui,-apple-system,Roboto,'Segoe UI','DejaVu Sans',sans-serif"
# Lettering stands clear of whatever it crosses.
_HALO = "paint-order:stroke;stroke:var(--paper);stroke-width:3px;stroke-linejoin:round"
_STYLE = re.compile(r' style="([^"]*)"')
_NAMED = re.compile(r' id="([a-z][0-9a-f]{10})"')
_GROUP = re.compile(r"(<g(?: [^>]*)?/?>|</g>)")
_SETTINGS: Any = {  # matplotlib's own type names every setting there is
    "svg.fonttype": "none",
    "svg.hashsalt": "seedbank",
    "text.parse_math": False,
    "font.family": "DejaVu Sans",
    "font.size": TEXT,
    "axes.titlesize": TEXT,
    "hatch.linewidth": 1.0,
    "path.simplify": True,
}
_ONE_AT_A_TIME = Lock()  # matplotlib's settings belong to the whole process


class Canvas:
    """One drawing with one set of axes, lettered and ruled alike in every picture.

    Use as a context: ``with Canvas(200) as canvas: canvas.axes.plot(…); svg = canvas.svg(…)``.
    """

    drawing: "Drawing"
    axes: "Axes"

    def __init__(
        self,
        height: int,
        *,
        width: int = WIDTH,
        left: int = 40,
        right: int = 10,
        top: int = 10,
        bottom: int = 42,
    ) -> None:
        self.width, self.height = width, height
        self._box = (
            left / width,
            bottom / height,
            (width - left - right) / width,
            (height - top - bottom) / height,
        )

    def __enter__(self) -> "Canvas":
        # Only when something is drawn: it takes a good part of a second to load.
        from matplotlib import rc_context
        from matplotlib.figure import Figure as Drawing

        _ONE_AT_A_TIME.acquire()
        self._settings = rc_context(_SETTINGS)
        self._settings.__enter__()
        self.drawing = Drawing(figsize=(self.width / 72, self.height / 72), dpi=72)
        self.drawing.set_facecolor(PAPER)
        self.axes = self.drawing.add_axes(self._box)
        self._dress()
        return self

    def __exit__(self, *fault: object) -> None:
        self._settings.__exit__(None, None, None)
        _ONE_AT_A_TIME.release()

    def _dress(self) -> None:
        axes = self.axes
        axes.set_facecolor("none")
        axes.set_axisbelow(True)
        for side in ("top", "right"):
            axes.spines[side].set_visible(False)
        for side in ("left", "bottom"):
            axes.spines[side].set_color(SOFT)
        axes.tick_params(colors=SOFT, labelcolor=INK, labelsize=TEXT, length=4)
        axes.grid(visible=True, color=RULE, linewidth=0.8)

    def say(self, x: float, y: float, text: str, **more: Any) -> None:
        """Letter something at a place of the axes."""
        self.axes.text(x, y, plain_text(text), **{"color": INK, "fontsize": TEXT, **more})

    def svg(self, title: str, alt: str) -> bytes:
        """The document."""
        drawn = BytesIO()
        nothing = dict.fromkeys(("Date", "Creator", "Format", "Type"))
        self.drawing.savefig(drawn, format="svg", metadata=nothing)
        return _document(drawn.getvalue().decode(), self.width, self.height, title, alt).encode()


def _document(drawn: str, width: int, height: int, title: str, alt: str) -> str:
    """Matplotlib's drawing with our own head, its colours by name and its numbers short."""
    body = drawn[drawn.index(">", drawn.index("<svg")) + 1 :]
    body = re.sub(r"<metadata>.*?</metadata>|<!--.*?-->", "", body, flags=re.DOTALL)
    body = re.sub(r"\s*\n\s*(?=[<\"])", "", body)
    body = re.sub(r"\s*\n\s*", " ", body)
    body = re.sub(r"(-?\d+\.\d)\d+", r"\1", body)
    body = re.sub(r"font-family: [^;\"]*; ?", "", body)
    body = re.sub(r' transform="rotate\(-?0 [^"]*"', "", body)
    body = _ungrouped(re.sub(r'<g id="[^"]*"', "<g", body))
    for sentinel, (name, _, _) in _COLOURS.items():
        body = body.replace(sentinel, f"var(--{name})")
    for at, name in enumerate(dict.fromkeys(_NAMED.findall(body))):
        body = body.replace(name, f"m{at}")
    body, classes = _classed(body)
    light = ";".join(f"--{name}:{light}" for name, (light, _) in COLOURS.items())
    dark = ";".join(f"--{name}:{dark}" for name, (_, dark) in COLOURS.items())
    return (
        '<svg xmlns="http://www.w3.org/2000/svg" xmlns:xlink="http://www.w3.org/1999/xlink" '
        f'width="{width}" height="{height}" viewBox="0 0 {width} {height}" role="img">'
        f"<title>{escape(plain_text(title))}</title><desc>{escape(plain_text(alt))}</desc>"
        f"<style>svg{{{light};color-scheme:light dark;font-family:{_FACE}}}"
        f"text{{{_HALO}}}{classes}"
        f"@media (prefers-color-scheme:dark){{svg{{{dark}}}}}</style>{body}"
    )


def _ungrouped(body: str) -> str:
    """Without the groups that say nothing."""
    kept, says = [], []
    for part in _GROUP.split(body):
        if part == "<g/>":
            continue
        if part.startswith("<g"):
            says.append(part != "<g>")
        if part.startswith("</g"):
            kept.append(part if says.pop() else "")
        elif part != "<g>":
            kept.append(part)
    return "".join(kept)


def _classed(body: str) -> tuple[str, str]:
    """Styles that come again as classes, which keeps a picture of many marks small."""
    often = [style for style, times in Counter(_STYLE.findall(body)).items() if times > 2]
    classes = ""
    for at, style in enumerate(often):
        body = body.replace(f' style="{style}"', f' class="s{at}"')
        classes += f".s{at}{{{style}}}"
    return body, classes


@dataclass(frozen=True, slots=True)
class Figure:
    """A picture with its text alternative.

    It takes ``width`` by ``height`` CSS pixels, is lettered for that size and never to be shown
    smaller. ``alt`` is the picture in one or two sentences; ``rows`` under ``header`` tell all that
    it draws. ``drawn_from`` is everything that ``draw`` draws from, as text.
    """

    width: int
    height: int
    title: str
    alt: str
    header: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]
    sources: tuple[Source, ...]
    drawn_from: str = field(repr=False)
    draw: Callable[[], bytes] = field(repr=False, compare=False)

    @property
    def digest(self) -> str:
        """Names these very bytes, known without drawing: for an address kept for good, or ETag."""
        return sha256(f"{_look()}{self.alt}{self.drawn_from}".encode()).hexdigest()[:16]


@cache
def _look() -> str:
    """Changes with the code that draws."""
    here = Path(__file__).parent
    sources = sorted([*here.glob("*.py"), *here.parents[1].glob("*/pages/*_figure.py")])
    return sha256(b"".join(source.read_bytes() for source in sources)).hexdigest()
