"""Job files: read into a new order, or saved from one; a file with a fault writes nothing."""

import re

from django import forms
from django.contrib import messages
from django.http import HttpResponse
from django.shortcuts import redirect, render
from django.views.decorators.http import require_safe

from orders.exchange.jobs import export_job, import_job
from shop.acts import Act
from shop.refusals import Refused
from shop.roles import DESK, allowed

from .orders import get_order
from .showing import place_words

MOST_BYTES = 2_000_000
JSON_FILE = forms.FileInput(attrs={"accept": ".json,application/json"})


class JobForm(forms.Form):
    file = forms.FileField(required=False, label="A job file", widget=JSON_FILE)
    text = forms.CharField(
        required=False, max_length=MOST_BYTES, label="or its text",
        widget=forms.Textarea(attrs={"rows": 14, "spellcheck": "false"}),
    )  # fmt: skip

    def clean_file(self):
        file = self.cleaned_data["file"]
        if file is None:
            return ""
        if file.size > MOST_BYTES:
            raise forms.ValidationError("This file is larger than 2 MB; a job file is not. Choose another.")
        try:
            return file.read().decode("utf-8-sig")
        except UnicodeDecodeError as error:
            raise forms.ValidationError("This is not a text file in UTF-8; choose a job file.") from error

    def clean(self):
        data = super().clean()
        if "file" in data and not data["file"] and not data.get("text"):
            self.add_error("file", "Choose a job file, or paste its text.")
        return data


@allowed(DESK)
def order_import(request):
    """Read a job file into a new order, or list every fault in it and write nothing."""
    form = JobForm(*((request.POST, request.FILES) if request.method == "POST" else ()))
    faults = []
    if request.method == "POST" and form.is_valid():
        text = form.cleaned_data["file"] or form.cleaned_data["text"]
        try:
            order = import_job(text, Act(request.user))
        except Refused as refused:
            faults = refused.details.get("faults") or [{"where": "", "message": refused.sentence}]
            faults = [{"place": say_place(fault["where"]), **fault} for fault in faults]
        else:
            messages.success(request, f"The job file is order {order} now.")
            return redirect("order", order.number)
        if form.cleaned_data["file"]:
            # A file cannot be sent back to its field; its text can, to be put right and read again.
            form = JobForm(initial={"text": text})
    return render(
        request, "orders/import.html", {"form": form, "faults": faults}, status=422 if faults or form.errors else 200
    )


def say_place(where: str) -> str:
    """Return a place in a job file as the office counts: `lines[39].runs[0].wall` is “Line 40, run 1, wall”."""
    found = re.match(r"lines\[(\d+)\]\.?", where)
    if not found:
        return ""
    inside = place_words(where[found.end() :]).removesuffix(": ")
    return f"Line {int(found[1]) + 1}" + (f", {inside[0].lower()}{inside[1:]}" if inside else "")


@require_safe
@allowed(DESK)
def order_export(request, number: int):
    """Save an order as a job file."""
    order = get_order(number)
    headers = {"Content-Disposition": f'attachment; filename="order-{order.number}.json"'}
    return HttpResponse(export_job(order), content_type="application/json; charset=utf-8", headers=headers)
