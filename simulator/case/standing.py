"""How far a published fact can be trusted: where it was read."""

from enum import Enum


class Standing(Enum):
    """Where a number or a rule comes from, in the words that are printed with it."""

    READ = "read in the source"
    SECOND_HAND = "read on pages that repeat the source"
    MEMORY = "from memory"
    DERIVED = "worked out from the others"
    PRACTICE = "common practice, no source"
