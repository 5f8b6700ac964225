"""What is wrong with one field of a Scenario, in our words: its place, a colon, and what to mend.

Faults that lie between fields are in `between`.
"""

BOUNDS = {
    "greater_than": "greater than",
    "greater_than_equal": "at least",
    "less_than": "less than",
    "less_than_equal": "at most",
}


def sentence(error):
    """One of pydantic's errors in our words."""
    where = _place(error["loc"])
    kind, ctx = error["type"], error.get("ctx", {})
    words = {
        "missing": "missing, and needed",
        "extra_forbidden": "not a field of this format",
        "float_type": "must be a number",
        "finite_number": "must be a finite number",
        "int_type": "must be a whole number",
        "string_type": "must be a text",
        "bool_type": "must be true or false",
        "list_type": "must be a list",
        "too_short": "too few entries in this row",
        "too_long": "too many entries in this row",
        "timezone_aware": "needs its zone, e.g. 2027-10-15T04:40:00Z",
    }
    if kind in words:
        return f"{where}: {words[kind]}"
    if kind == "literal_error":
        return f"{where}: must be {ctx['expected']}"
    if kind in BOUNDS:
        return f"{where}: must be {_bound(kind, next(iter(ctx.values())), error['input'])}"
    if kind.startswith("datetime"):
        return f"{where}: must be a time with its zone, e.g. 2027-10-15T04:40:00Z"
    if kind in ("model_type", "model_attributes_type", "dict_type"):
        return f"{where}: must be an object"
    return f"{where}: {error['msg']}"


def _bound(kind, bound, given):
    if kind == "greater_than_equal" and 0 < bound < 1 and given <= 0:
        return "greater than 0"
    return f"{BOUNDS[kind]} {bound:g}"


def _place(loc):
    text = ""
    for part in loc:
        text += f"[{part}]" if isinstance(part, int) else f".{part}" if text else str(part)
    return text or "file"
