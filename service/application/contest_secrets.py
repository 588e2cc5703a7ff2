"""What follows from a contest's secret: entries' numbers, judges' links, voting codes."""

from __future__ import annotations

import hashlib
import hmac
from collections.abc import Sequence
from dataclasses import dataclass

from solver.contest.lot import order

CODE_SIGNS = "23456789BCDFGHJKLMNPQRSTVWXZ"  # no vowels, no 0, 1, O, I
CODE_LONG = 8
CHECK_WEIGHTS = (1, 3, 5, 9, 11, 13, 15)  # none shares a factor with the number of signs, 28


@dataclass(frozen=True)
class ContestSecrets:
    """All from one secret of 192 random bits; nothing of it follows from the public seed."""

    secret: str

    def numbers(self, entry_ids: Sequence[str]) -> dict[str, int]:
        """Return the blind number of each entry: 111, 122, …

        Multiples of 11 apart: no misread digit and no two swapped make another's number.
        """
        ranked = order(self.secret, "blind", entry_ids)
        return {id: 100 + 11 * rank for rank, id in enumerate(ranked, 1)}

    def judge_code(self, judge_id: str) -> str:
        """Return what a judge's own page is opened by."""
        return self._derived(f"judge {judge_id}").hex()[:32]

    def vote_code(self, n: int) -> str:
        """Return the n-th voting code: seven signs, and one by which a misread code is none."""
        number = int.from_bytes(self._derived(f"vote {n}")[:8], "big")
        signs = ""
        for _ in range(CODE_LONG - 1):
            number, sign = divmod(number, len(CODE_SIGNS))
            signs += CODE_SIGNS[sign]
        return signs + check_sign(signs)

    def used_digest(self, code: str) -> str:
        """Return what is stored of a code that was used."""
        return hashlib.sha256(self._derived(f"used {code}")).hexdigest()

    def _derived(self, purpose: str) -> bytes:
        return hmac.digest(self.secret.encode(), purpose.encode(), "sha256")


def check_sign(signs: str) -> str:
    """Return the sign that ends a code: another where one sign is misread."""
    pairs = zip(CHECK_WEIGHTS, signs, strict=True)
    total = sum(weight * CODE_SIGNS.index(sign) for weight, sign in pairs)
    return CODE_SIGNS[total % len(CODE_SIGNS)]
