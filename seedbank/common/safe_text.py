"""Hostile or odd text made safe to print anywhere: one line, nothing that isn't seen."""

import unicodedata

_UNSEEN = {"Cc", "Cf", "Cs", "Co", "Cn", "Zl", "Zp"}
_JOINERS = "\u200c\u200d"  # letters of several scripts join by them


def plain_text(text: str) -> str:
    """``text`` on one line: breaks and tabs as spaces, other control and format signs left out.
    Spaces that don't break stay.

    Format signs include those that turn the reading direction; letters of every script stay.
    """
    spaced = "".join(" " if sign in "\r\n\t\v\f\x85\u2028\u2029" else sign for sign in text)
    seen = "".join(sign for sign in spaced if _is_seen(sign))
    return " ".join(word for word in seen.split(" ") if word)


def shortened(text: str, most: int) -> str:
    """At most ``most`` characters of ``text``, an ellipsis marking what is left out."""
    text = plain_text(text)
    return text if len(text) <= most else text[: most - 1].rstrip() + "…"


def _is_seen(sign: str) -> bool:
    return sign in _JOINERS or unicodedata.category(sign) not in _UNSEEN
