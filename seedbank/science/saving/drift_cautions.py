"""What to warn of when a variety is kept on few plants.

Outcrossers suffer from inbreeding, selfers hardly: they lose only diversity. The numbers of plants
that a kind asks for come from the facts. Ne of 50 against inbreeding and 500 to stay adaptable is
a rule of thumb: I.R. Franklin in Conservation Biology, ed. Soulé & Wilcox (1980), 135-149 (from
memory).

Outside check: the limits themselves, written out; none is known for the wording.
"""

from seedbank.science.crossing.crossing_risk import Mating
from seedbank.science.reasons import Reason, percent

SHORT_TERM_NUMBER = 50
"""Effective number under which inbreeding grows by over 1 % a generation (from memory)."""

LONG_TERM_NUMBER = 500
"""Effective number to keep a population adaptable for good (from memory)."""

_NOTABLE_LOSS = 0.1  # share of diversity gone that is worth saying: our choice


def drift_cautions(
    mating: Mating,
    parents: int | None,
    parents_to_maintain: int | None,
    effective_number: float,
    kept: float,
    unknown_steps: float = 0.0,
) -> tuple[Reason, ...]:
    """Cautions for a lot: too few parents, inbreeding over its pedigree, and what isn't known.

    ``parents`` is the number it was saved from and ``parents_to_maintain`` what its kind asks
    (plants); ``effective_number``, ``kept`` (0..1) and ``unknown_steps`` are from
    ``drift.PedigreeDrift``. Wording and limits of ours; 50/500 after Franklin 1980 (from memory).
    Outside check: the limits, written out.
    """
    found: list[Reason] = []
    crosses = mating is not Mating.SELFING
    if parents is not None and parents_to_maintain is not None and parents < parents_to_maintain:
        found.append(_few_parents(crosses, parents, parents_to_maintain))
    if crosses and effective_number < SHORT_TERM_NUMBER:
        # One generation costs 1/(2 Ne): at 50 it is 1 %.
        each = 1.0 / (2.0 * effective_number)
        text = (
            f"It was kept as on {effective_number:.0f} plants a generation: inbreeding grows by "
            f"{percent(each)} each time. A rule of thumb asks for {SHORT_TERM_NUMBER} to hold it "
            f"off, and {LONG_TERM_NUMBER} to stay adaptable for good."
        )
        found.append(Reason("inbreeding", text, {"effective_number": float(effective_number)}))
    if kept <= 1.0 - _NOTABLE_LOSS:
        text = f"About {percent(1.0 - kept)} of its founders' diversity is gone."
        if crosses:
            text += " Seed of another keeper's line of the same variety would bring some back."
        found.append(Reason("diversity-lost", text, {"kept": float(kept)}))
    if unknown_steps > 0.0:
        text = (
            f"The parents of about {max(unknown_steps, 1.0):.0f} of its generations were not "
            "counted: more may be gone than this shows."
        )
        found.append(Reason("parents-uncounted", text, {"unknown_steps": float(unknown_steps)}))
    return tuple(found)


def _few_parents(crosses: bool, parents: int, wanted: int) -> Reason:
    plants = "plant" if parents == 1 else "plants"
    text = f"It was saved from {parents} {plants}; {wanted} are asked to maintain the kind."
    if crosses:
        text += " It crosses, so few parents make it weak and uneven over the generations."
    code = "too-few-parents" if crosses else "few-parents"
    return Reason(code, text, {"parents": float(parents), "parents_to_maintain": float(wanted)})
