"""What may be asked of the printer: which lots to label, and on what paper."""

from typing import Annotated

from pydantic import Field

from seedbank.common.errors import Refused
from seedbank.common.forms import WHOLE, Day, Flag, Form, Line, RowId
from seedbank.labels.pages.labels_pdf import MOST_COPIES
from seedbank.labels.pages.layouts import LAYOUTS, LabelLayout


class LabelQuestion(Form):
    """Which lots to label; what is left out asks nothing."""

    words: Line = Field(default="", description="Words in the variety, kind, code or notes.")
    place: RowId | None = Field(default=None, description="Number of the place it is kept in.")
    since: Day | None = Field(default=None, description="Taken in or tested on that day or later.")

    @property
    def nothing_asked(self) -> bool:
        return not self.words and self.place is None and self.since is None


class LabelPaper(Form):
    """On what paper, and which of the lots found."""

    layout: Line = Field(default="a4-3x7", description="Name of the layout.")
    start: Annotated[int, Field(ge=1, le=200), WHOLE] = 1
    copies: Annotated[int, Field(ge=1, le=MOST_COPIES), WHOLE] = 1
    all: Flag = False

    def on(self) -> LabelLayout:
        """The layout. Raises Refused: there is none of that name, or the start lies beyond it."""
        layout = LAYOUTS.get(self.layout)
        if layout is None:
            raise Refused("layout", self.layout, "Choose one of the papers listed.")
        if self.start > layout.on_page:
            raise Refused(
                "start",
                self.start,
                f"Count from 1, at the top left, along the rows, to {layout.on_page}.",
                f"This paper has {layout.on_page} label{'s' if layout.on_page > 1 else ''} a page.",
            )
        return layout
