"""Addresses of orders, customers, profiles, plans, stations and the day's foam."""

from django.urls import path

from orders.views import orders

urlpatterns = [
    path("", orders.order_list, name="home"),
    path("orders/", orders.order_list, name="orders"),
]
