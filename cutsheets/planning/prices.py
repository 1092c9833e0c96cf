"""What a plan costs, in cents: opened foam, less a credit for kept remnants, plus handling.

score = Σ price of opened pieces − Σ credit of kept remnants + cut · cuts + keep · kept remnants.
The credit of a remnant is its share of the price of new foam; the share grows with its size, so that one large remnant
is worth more than several small ones, and stays below what a remnant costs when it is opened, so that cutting one up
for its credit never pays. All factors are the shop's own (common practice, no source).
"""

from __future__ import annotations

from dataclasses import dataclass

from cutsheets.stock import Instance, volume

CUBIC_FOOT = 304_800**3  # µm³


@dataclass(frozen=True, slots=True)
class Prices:
    """Cents a cut, cents a kept remnant, and the share of the price of new foam by size: (below ft³, share)."""

    cut: float = 15
    keep: float = 50
    shares: tuple[tuple[float, float], ...] = ((4, 0.25), (12, 0.35), (32, 0.45), (float("inf"), 0.5))

    @classmethod
    def of(cls, instance: Instance) -> Prices:
        """Return the prices of an instance, or the shop's usual ones where it has none of its own."""
        own = instance.get("prices")
        if own is None:
            return cls()
        shares = ((float("inf") if below is None else below, share) for below, share in own["credit"])
        return cls(own["cut"], own["keep"], tuple(shares))

    def kept(self, cubic_um: int, per_cubic_foot: float) -> float:
        """Return what keeping a remnant adds to the score: handling less credit.

        >>> Prices().kept(2 * CUBIC_FOOT, 260.0)
        -80.0
        """
        feet = cubic_um / CUBIC_FOOT
        share = next(share for below, share in self.shares if feet < below)
        return self.keep - feet * per_cubic_foot * share

    def cheapest(self, instance: Instance, grade: str) -> float:
        """Return the least price of new foam of a grade, cents a cubic foot; 0 where none is sold."""
        return min(
            (s["price"] * CUBIC_FOOT / volume(s["size"]) for s in instance["stock"] if s["grade"] == grade), default=0.0
        )
