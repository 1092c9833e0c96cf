from .batches import Batch
from .clashes import Clash, Refusal
from .customers import Customer
from .events import Move, Print, Scan
from .fonts import LetterFont
from .hands import SHIFT, InHand
from .orders import Blank, Line, Order, Piece, Revision
from .profiles import Profile, ProfileRevision
from .runs import CuttingRun, RunBlank, RunRemnant, RunSource
from .wire import WireUse

__all__ = [
    "SHIFT", "Batch", "Blank", "Clash", "Customer", "CuttingRun", "InHand", "LetterFont", "Line", "Move", "Order",
    "Piece", "Print", "Profile", "ProfileRevision", "Refusal", "Revision", "RunBlank", "RunRemnant", "RunSource",
    "Scan", "WireUse",
]  # fmt: skip
