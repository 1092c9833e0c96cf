"""Drawings as data: what is to be seen, in millimetres, and the two back ends that show it."""
