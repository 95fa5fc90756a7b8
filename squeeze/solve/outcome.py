"""How a solve went, by name, with its cause and its remedy in plain words."""

from __future__ import annotations

from enum import StrEnum


class Outcome(StrEnum):
    """How a solve went, by name.

    `docs/python.md` has a heading for each of them.

    Examples
    --------
    >>> Outcome.STEP_LIMIT.has_answer
    False
    >>> Outcome.NOT_UNIQUE.cause
    'With this friction the faces can rest in more than one state.'
    """

    CONVERGED = "converged"
    STEP_LIMIT = "step limit"
    NOT_UNIQUE = "more than one state of friction is possible"
    PIECE_NOT_HELD = "a piece is not held"
    NOT_SETTLED = "the deformed block did not settle"
    UNSTABLE = "the block gives way under its loads"
    OUT_OF_BALANCE = "forces at the nodes do not balance"
    NOT_FINITE = "not finite"

    @property
    def has_answer(self) -> bool:
        """Whether there is a certified answer to rely on.

        Where friction allows several states, the answer is the state that the faces reach while the
        loads grow from zero.
        """
        return self in (Outcome.CONVERGED, Outcome.NOT_UNIQUE)

    @property
    def cause(self) -> str:
        """What happened, in one plain sentence."""
        return _WORDS[self][0]

    @property
    def remedy(self) -> str:
        """What to do about it, in one plain sentence; empty where nothing is wrong."""
        return _WORDS[self][1]


_WORDS = {
    Outcome.CONVERGED: ("The answer is certified.", ""),
    Outcome.STEP_LIMIT: (
        "The calculation stopped at its step limit before the contact settled.",
        "Change the friction a little, or move a cut by a tenth of a millimetre.",
    ),
    Outcome.NOT_UNIQUE: (
        "With this friction the faces can rest in more than one state.",
        "Read the range of the other states, or close the block with less friction.",
    ),
    Outcome.NOT_SETTLED: (
        "The block deforms so much that the calculation did not find its balance.",
        "Try less pull, rounder corners, or a cradle.",
    ),
    Outcome.UNSTABLE: (
        "The block gives way under its loads before they are fully on.",
        "Use less pull, more friction between the faces, or a cradle that guides the pieces.",
    ),
    Outcome.PIECE_NOT_HELD: (
        "A piece of the block is held by nothing and will shift.",
        "Press on the piece with a band, a push or a cradle, or move the cut that frees it.",
    ),
    Outcome.OUT_OF_BALANCE: (
        "The rubber's displacement does not balance the forces on it.",
        "Refine the mesh, and look for a sliver of rubber or a very stiff cradle piece.",
    ),
    Outcome.NOT_FINITE: (
        "The calculation gave numbers that are not finite.",
        "Look for a modulus, a load or a gap that is far out of scale.",
    ),
}
