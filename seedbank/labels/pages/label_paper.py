"""What labels are printed on, and from which place of the sheet."""

from typing import Annotated

from pydantic import Field

from seedbank.common.errors import Refused
from seedbank.common.forms import WHOLE, Flag, Form, Line
from seedbank.labels.pages.labels_pdf import MOST_COPIES
from seedbank.labels.pages.layouts import LAYOUTS, LabelLayout


class LabelPaper(Form):
    """On what paper, and which of the lots found."""

    layout: Line = Field(default="a4-3x7", description=f"Layout: {', '.join(LAYOUTS)}.")
    start: Annotated[int, Field(ge=1, le=200), WHOLE] = Field(
        default=1, description="First free label of the first sheet."
    )
    copies: Annotated[int, Field(ge=1, le=MOST_COPIES), WHOLE] = Field(
        default=1, description="Labels of each lot."
    )
    all: Flag = False

    def on(self) -> LabelLayout:
        """The layout. Raises Refused: there is none of that name, or the start lies beyond it."""
        layout = LAYOUTS.get(self.layout)
        if layout is None:
            raise Refused("no-such-paper", "layout", self.layout)
        if self.start > layout.on_page:
            raise Refused("label-beyond-page", "start", self.start, on_page=layout.on_page)
        return layout
