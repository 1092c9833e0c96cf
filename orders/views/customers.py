"""Customers: who they are, and what they ordered."""

from django.contrib import messages
from django.core.paginator import Paginator
from django.db.models import Count, Max, Q
from django.shortcuts import get_object_or_404, redirect, render
from django.views.decorators.http import require_safe

from orders.forms.customers import CustomerForm
from orders.models import Customer
from orders.standing import standings
from shop.roles import DESK, allowed
from shop.views.asking import typed, words

PAGE = 50


@require_safe
@allowed(DESK)
def customer_list(request):
    """List customers, found by name, contact, phone or address."""
    find = typed(request)
    customers = Customer.objects.annotate(count=Count("orders"), last=Max("orders__number")).order_by("name")
    for part in words(find):
        customers = customers.filter(
            Q(name__icontains=part) | Q(contact__icontains=part) | Q(phone__icontains=part) | Q(email__icontains=part)
        )
    page = Paginator(customers, PAGE).get_page(request.GET.get("page"))
    return render(request, "customers/list.html", {"page": page, "find": find})


@allowed(DESK)
def customer_new(request):
    return _edit(request, None)


@allowed(DESK)
def customer_page(request, pk: int):
    """Show a customer with their orders, and change what is known of them."""
    return _edit(request, get_object_or_404(Customer, pk=pk))


def _edit(request, customer: Customer | None):
    form = CustomerForm(request.POST if request.method == "POST" else None, instance=customer)
    if request.method == "POST" and form.is_valid():
        saved = form.save()
        messages.success(request, f"{saved.name} is saved.")
        return redirect("customer", saved.pk)
    orders = Paginator(customer.orders.all(), PAGE).get_page(request.GET.get("page")) if customer else None
    where = standings(orders.object_list) if orders else {}
    rows = [{"order": order, "standing": where[order.pk]} for order in orders] if orders else []
    # A refused name must not stand in the head of the page: read it again.
    name = Customer.objects.get(pk=customer.pk).name if customer else ""
    context = {"form": form, "customer": customer, "name": name, "rows": rows, "page": orders}
    return render(request, "customers/customer.html", context, status=422 if form.errors else 200)
