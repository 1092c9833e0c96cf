"""A plan by hand for one blank, to hold the planner against: every order of the cuts along its six faces is tried."""

from itertools import permutations

from cutsheets.stock import lying


def fewest_cuts(day, source, each):
    """The cuts that free one blank out of a corner of some foam within saw and stages, or None where none do."""
    skin = source.get("skin", [[0, 0]] * 3)
    if source["grade"] != each["grade"] or source["id"] not in each.get("from", (source["id"],)):
        return None
    found = [_faces(day, source["size"], skin, lying(each["size"], lie)) for lie in each["rot"]]
    return min(
        (len(faces) for faces in found if faces is not None and _in_some_order(day, source, faces)), default=None
    )


def _faces(day, size, skin, blank):
    """The faces of a blank that need a cut, each as (axis, what comes off along it); None: it does not fit.

    On a saw that may not cut air no sliver is left beside the skin, as the skin may come off first.
    """
    kerf, faces = day["kerf"], []
    for axis, (side, (low, high), want) in enumerate(zip(size, skin, blank, strict=True)):
        begin = max(low, kerf + 1) if low else 0
        beyond = side - begin - want
        between = beyond - (high if day["allow_edge_shave"] or not high else max(high, kerf))
        if between < 0 or (0 < between < kerf and not day["allow_edge_shave"]):
            return None
        faces += [(axis, begin)] if begin else []
        faces += [(axis, beyond)] if beyond else []
    return faces


def _in_some_order(day, source, faces):
    return any(_may_be_cut(day, source["size"], order) for order in permutations(faces))


def _may_be_cut(day, size, order):
    saw, sides, last, stages = day.get("saw", {"height": None, "length": None}), list(size), None, 0
    for axis, off in order:
        low, long = sorted(side for other, side in enumerate(sides) if other != axis)
        if low > (saw["height"] or low) or long > (saw["length"] or long):
            return False
        sides[axis] -= off
        stages, last = stages + (axis != last), axis
    return day["max_stages"] is None or stages <= day["max_stages"]
