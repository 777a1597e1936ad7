"""Water, weight and warmth: the numbers behind the heights. Pure functions; values are in ``catalogue/physics/*.toml``.

Nothing here is a structural, plumbing or energy design.
"""
