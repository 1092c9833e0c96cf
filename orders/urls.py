"""Addresses of orders, customers, profiles, plans, stations and the day's foam."""

urlpatterns: list = []
