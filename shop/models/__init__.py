from .feeds import WireFeed
from .grades import Grade
from .people import Person
from .rates import CoatSystem
from .rules import ShopRules
from .stations import Station
from .stock import BlockSize, DayClose, StockMove, StockPiece

__all__ = [
    "BlockSize", "CoatSystem", "DayClose", "Grade", "Person", "ShopRules", "Station", "StockMove", "StockPiece",
    "WireFeed",
]  # fmt: skip
