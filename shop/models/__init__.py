from .devices import Device, Naming, PairingCode
from .feeds import WireFeed
from .grades import Grade
from .people import Person
from .rates import CoatSystem
from .rules import ShopRules
from .stations import Outage, Station
from .stock import BlockSize, DayClose, StockMove, StockPiece

__all__ = [
    "BlockSize", "CoatSystem", "DayClose", "Device", "Grade", "Naming", "Outage", "PairingCode", "Person",
    "ShopRules", "Station", "StockMove", "StockPiece", "WireFeed",
]  # fmt: skip
