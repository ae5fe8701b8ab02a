"""Proofs about the ledger, from its rows alone: sums, serials, signs, reversals."""

from sqlalchemy import Connection

from seedbank.lots.tables.balances import _MISTOLD
from seedbank.upkeep.checks.proofs import Proof, Rule

_RUNNING = """
    SELECT m.*, l.code,
        coalesce(sum(m.seeds) OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id), 0) AS summed,
        row_number() OVER (PARTITION BY m.lot_id ORDER BY m.serial, m.id) AS place
    FROM movement m LEFT JOIN lot l ON l.id = m.lot_id
"""


_LEDGER = (
    Rule(
        claim="every balance is the sum of the lot's movements up to it",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE summed <> balance_seeds",
        sentence="Lot {code}, movement {serial} (id {id}) says {balance_seeds} seeds are left; "
        "the movements add up to {summed}.",
    ),
    Rule(
        claim="an amount isn't known while uncounted seed is there, and is known else",
        things="movements",
        of="movement",
        breaking=_MISTOLD,
        sentence="Lot {code}, movement {serial} (id {id}) says what is left is {told}, which "
        "doesn't follow from what came in and was counted.",
    ),
    Rule(
        claim="each lot's movements are numbered 1, 2, 3 and so on, none missing",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running WHERE serial <> place",
        sentence="Lot {code}: its movement in place {place} (id {id}) bears the number {serial}.",
    ),
    Rule(
        claim="no lot ever held less than nothing",
        things="movements",
        of="movement",
        breaking=f"SELECT * FROM ({_RUNNING}) AS running "
        "WHERE (balance_seeds IS NOT NULL AND summed < 0) OR balance_seeds < 0",
        sentence="Lot {code} falls to {summed} seeds with its movement {serial} (id {id}).",
    ),
    Rule(
        claim="seed acquired or harvested comes in, seed used goes out",
        things="movements",
        of="movement",
        breaking="SELECT m.*, l.code FROM movement m LEFT JOIN lot l ON l.id = m.lot_id WHERE "
        "(m.reason IN ('acquired', 'harvested') AND m.seeds <= 0) "
        "OR (m.reason IN ('tested', 'sown', 'given', 'discarded') AND m.seeds >= 0)",
        sentence="Lot {code}, movement {serial} (id {id}): {seeds} seeds are booked as {reason}.",
    ),
)

_UNDOING = """
    SELECT u.id, u.lot_id, u.serial, u.seeds, u.reason, u.reverses_id, l.code, u.lot_id AS lot,
        o.id AS undone, o.lot_id AS other_lot, o.serial AS other_serial,
        o.seeds AS other_seeds, o.reverses_id AS undoes_too
    FROM movement u
    LEFT JOIN movement o ON o.id = u.reverses_id
    LEFT JOIN lot l ON l.id = u.lot_id
    WHERE u.reverses_id IS NOT NULL
"""

_UNDOINGS = (
    Rule(
        claim="each undoing undoes an earlier movement of its own lot",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing WHERE undone IS NULL "
        "OR other_lot <> lot OR other_serial >= serial OR undoes_too IS NOT NULL "
        "OR reason <> 'stock-take'",
        sentence="Lot {code}, movement {serial} (id {id}) undoes movement id {reverses_id}, which "
        "isn't an earlier movement of that lot that can be undone.",
    ),
    Rule(
        claim="each undoing cancels the seeds of what it undoes",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking=f"SELECT * FROM ({_UNDOING}) AS undoing "
        "WHERE coalesce(seeds, 0) <> -coalesce(other_seeds, 0) "
        "OR (seeds IS NULL) <> (other_seeds IS NULL)",
        sentence="Lot {code}, movement {serial} (id {id}) moves {seeds} seeds to undo a movement "
        "of {other_seeds} seeds.",
    ),
    Rule(
        claim="no movement is undone twice",
        things="undoings",
        of="movement WHERE reverses_id IS NOT NULL",
        breaking="SELECT reverses_id, count(*) AS times FROM movement "
        "WHERE reverses_id IS NOT NULL GROUP BY reverses_id HAVING count(*) > 1",
        sentence="The movement with id {reverses_id} is undone {times} times.",
    ),
)


def check_ledger(connection: Connection) -> list[Proof]:
    """What must hold of every movement. The database does the sums, in its own bounded memory."""
    return [rule.prove(connection) for rule in (*_LEDGER, *_UNDOINGS)]
