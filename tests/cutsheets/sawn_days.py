"""Small days of sawing for the tests of planning: one kind of block, one grade, every length in micrometres."""

FT = 304_800
KERF = 3_175


def day(*blanks, size=(8 * FT, 4 * FT, 2 * FT)):
    """An instance with one kind of block; a blank is (id, size, qty)."""
    return {
        "format": "blockyard-stock-1", "name": "day", "unit": "um", "kerf": KERF, "allow_edge_shave": True,
        "min_remnant": {"dims": [101_600, FT, 2 * FT], "volume": 0}, "max_cuts": None, "max_stages": None,
        "stock": [{"id": "B", "grade": "G", "size": list(size), "skin": [[0, 0]] * 3, "limit": None, "price": 30_000}],
        "remnants": [],
        "blanks": [
            {"id": name, "grade": "G", "size": list(sides), "qty": qty, "rot": ["LWH", "LHW"]}
            for name, sides, qty in blanks
        ],
    }  # fmt: skip
