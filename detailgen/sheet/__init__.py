"""From section to sheet: every position decided once, in paper millimetres, before any back end runs."""
