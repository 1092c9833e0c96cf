"""The forms of an order's head and of its words."""

from django import forms

from orders.models import Customer, Order
from shop.models import ShopRules

NAME = forms.TextInput(attrs={"list": "customers", "autocomplete": "off"})
DATE = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")


class OrderForm(forms.Form):
    """The head of an order; a customer is named, and a new name must be meant as one."""

    version = forms.IntegerField(widget=forms.HiddenInput, required=False)
    customer = forms.CharField(
        max_length=80, widget=forms.TextInput(attrs={"list": "customers", "autocomplete": "off"})
    )
    new_customer = forms.BooleanField(required=False, label="a new customer")
    job = forms.CharField(max_length=120)
    customer_ref = forms.CharField(max_length=40, required=False, label="Their order")
    due = forms.DateField(
        required=False, label="Needed", widget=forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    )
    unit = forms.ChoiceField(choices=ShopRules.Unit, label="Lengths in")
    indoors = forms.BooleanField(required=False, label="Goes indoors")
    note = forms.CharField(required=False, max_length=4000, widget=forms.Textarea(attrs={"rows": 3}))

    def __init__(self, data=None, *, order: Order | None = None):
        initial = {"unit": ShopRules.current().unit} if order is None else initial_of(order)
        super().__init__(data, initial=initial)
        if order is not None and order.lines.exists():
            # Lengths are kept as typed, so another unit would change every size.
            self.fields["unit"].disabled = True

    def clean(self):
        data = super().clean()
        name = " ".join(data.get("customer", "").split())
        customer = Customer.objects.filter(name__iexact=name).first() if name else None
        if name and not customer and not data.get("new_customer"):
            self.add_error("customer", f"No customer is called “{name}”; choose one, or tick “a new customer”.")
        data["customer"] = customer or Customer(name=name)
        return data

    def values(self) -> dict:
        """Return the columns of the order; a new customer is not saved yet."""
        names = ("customer", "job", "customer_ref", "due", "unit", "note", "indoors")
        return {name: self.cleaned_data[name] for name in names}


def initial_of(order: Order) -> dict:
    """Return what a stored order shows in the form."""
    names = ("version", "job", "customer_ref", "due", "unit", "note", "indoors")
    return {"customer": order.customer.name, **{name: getattr(order, name) for name in names}}
