"""Lots have states in place of verdicts: the old words in replies and plans on record are put over.

A reply kept is given again to whoever asks with its key, and a plan's report is read again.
"""

import json
from typing import Any

import sqlalchemy as sa
from alembic import op

revision: str = "0019"
down_revision: str | None = "0017"

_STATE = {
    "keep": "sow-as-usual",
    "test": "towel-first",
    "save-seed-this-year": "grow-for-seed",
    "rescue": "last-chance",
    "replace": "get-fresh",
    "discard": "can-go",
    "plant": "not-judged",
}
_HOLDS_ONE = ("verdict", "if_none", "if_all")
_TEXTS = (("answered_request", "key", "body"), ("plan_told", "plan_run_id", "told"))
_PART = 500


def upgrade() -> None:
    bind = op.get_bind()
    for table, key, text in _TEXTS:
        columns = sa.table(table, sa.column(key), sa.column(text))
        written = sa.or_(*(columns.c[text].contains(f'"{name}"') for name in _HOLDS_ONE))
        numbers = list(bind.execute(sa.select(columns.c[key]).where(written)).scalars())
        for start in range(0, len(numbers), _PART):
            these = columns.c[key].in_(numbers[start : start + _PART])
            for number, old in bind.execute(
                sa.select(columns.c[key], columns.c[text]).where(these)
            ).all():
                new = _with_states(old)
                if new != old:
                    change = sa.update(columns).where(columns.c[key] == number)
                    bind.execute(change.values({text: new}))


def _with_states(text: str) -> str:
    """The same JSON with each old word that stands for a verdict put over; else the text as is."""
    try:
        told = json.loads(text)
    except ValueError:
        return text
    changed = _put_over(told)
    return text if changed == told else json.dumps(changed, ensure_ascii=False)


def _put_over(told: Any) -> Any:
    if isinstance(told, list):
        return [_put_over(one) for one in told]
    if not isinstance(told, dict):
        return told
    return {
        name: _STATE.get(value, value)
        if name in _HOLDS_ONE and isinstance(value, str)
        else _put_over(value)
        for name, value in told.items()
    }
