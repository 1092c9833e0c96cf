"""Sheets of paper: a frozen value goes in, the bytes of a PDF come out, the same bytes for the same value."""
