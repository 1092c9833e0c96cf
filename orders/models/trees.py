"""How a cutting plan is kept: a row of blanks is a tree as deep as it is long, and databases read JSON only so deep."""

from __future__ import annotations

from typing import Any

from django.db import models

SIDES = ("lo", "hi")


class PlanField(models.JSONField):
    """A `blockyard-plan-1`; in the database each tree is the list of its nodes, whose sides are places in that list."""

    def get_prep_value(self, value):
        return super().get_prep_value(_with_trees(value, dict, flat))

    def from_db_value(self, value, expression, connection):
        return _with_trees(super().from_db_value(value, expression, connection), list, grown)


def _with_trees(plan: Any, kind: type, change) -> Any:
    """Return a plan with its trees of one kind (nested, flat) changed; what is no plan stays as it is."""
    if not isinstance(plan, dict) or "pieces" not in plan:
        return plan
    pieces = [piece | {"tree": change(piece["tree"])} if isinstance(piece["tree"], kind) else piece
              for piece in plan["pieces"]]  # fmt: skip
    return plan | {"pieces": pieces}


def flat(tree: dict[str, Any]) -> list[dict[str, Any]]:
    """Return the nodes of a tree, the root first; `lo` and `hi` are places in the list, or None.

    >>> flat({"axis": "L", "at": 5, "lo": {"blank": "A"}, "hi": None})
    [{'axis': 'L', 'at': 5, 'lo': 1, 'hi': None}, {'blank': 'A'}]
    """
    nodes = [dict(tree)]
    for node in nodes:  # grows as it goes
        for side in SIDES:
            if node.get(side):
                nodes.append(dict(node[side]))
                node[side] = len(nodes) - 1
    return nodes


def grown(nodes: list[dict[str, Any]]) -> dict[str, Any]:
    """Return the tree of its nodes.

    >>> grown([{"axis": "L", "at": 5, "lo": 1, "hi": None}, {"blank": "A"}])
    {'axis': 'L', 'at': 5, 'lo': {'blank': 'A'}, 'hi': None}
    """
    for node in nodes:
        node |= {side: nodes[node[side]] for side in SIDES if node.get(side)}
    return nodes[0]
