"""Addresses of the shop's own pages: stock and settings."""

urlpatterns: list = []
