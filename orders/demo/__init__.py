"""One believable small shop: Tern Point Foam Works, invented, with invented customers.

`small_shop` makes the bare shop in a moment and serves the tests; `load` makes the shop in the middle of its week,
through the same import and the same services that its people use, so the demo cannot hold what they could not do.
"""

from pathlib import Path

from .shop import PEOPLE, SHOP, Shop, small_shop

JOBS = Path(__file__).parent / "jobs"

__all__ = ["JOBS", "PEOPLE", "SHOP", "Shop", "small_shop"]
