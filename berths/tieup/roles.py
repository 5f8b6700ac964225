"""What lines are called: by role inside, in words outside, a spring never by a bare name."""


def role_words(role):
    """A role as it is said: a spring by where it leads, never by a bare name.

    >>> role_words("spring_aft"), role_words("stern_port")
    ('spring that runs AFT', 'port stern line')
    """
    if role in ("spring_aft", "spring_forward"):
        return f"spring that runs {role.removeprefix('spring_').upper()}"
    name, side = role, ""
    for word in ("port", "starboard"):
        if role.endswith(f"_{word}"):
            name, side = role.removesuffix(f"_{word}"), f"{word} "
    return side + {
        "spring": "spring away from the dock",
        "spring_back": "spring toward the dock",
        "far_side_stern": "stern line from the far quarter",
        "breast": "breast line",
    }.get(name, f"{name} line")
