"""The forms of all kinds, by the name of the kind, in the order in which an office offers them."""

from cutsheets.kinds import KINDS
from orders.forms.kinds.base import KindForm
from orders.forms.kinds.bent import ArchForm, MouldForm, WingForm
from orders.forms.kinds.cutout import CutoutForm
from orders.forms.kinds.moulding import MouldingForm
from orders.forms.kinds.straight import ColumnForm, PanelForm, TaperForm, TurnedForm, TwistedForm
from orders.lines import KIND_WORDS

FORMS: dict[str, type[KindForm]] = {
    "moulding": MouldingForm, "column": ColumnForm, "taper": TaperForm, "turned": TurnedForm, "twisted": TwistedForm,
    "arch": ArchForm, "cutout": CutoutForm, "mould": MouldForm, "wing": WingForm, "panel": PanelForm,
}  # fmt: skip
CHOICES = tuple((name, KIND_WORDS[name]) for name in FORMS if name in KINDS)

__all__ = ["CHOICES", "FORMS", "KindForm"]
