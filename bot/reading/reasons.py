"""PURE. Every reason that a reader may give for an Unclear, by the question that it is about.

A new reason is added here, and gets its sentence under [say.why] in dialogs/report.toml and in
every language; `bushpost check` and the tests hold the two together.
"""

from __future__ import annotations

PLACE = (
    "bad_geo",
    "band_mismatch",
    "contradiction",
    "how_far",
    "lat_over_90",
    "link_without_place",
    "minutes_over_59",
    "no_hemisphere",
    "no_such_code",
    "no_such_sheet",
    "no_such_square",
    "no_such_zone",
    "no_zone",
    "odd_digits",
    "outside_area",
    "outside_grid",
    "outside_sheet",
    "same_axis",
    "short_code",
    "square_or_number",
    "square_or_word",
    "stray_letter",
    "swapped",
    "two_landmarks",
    "two_readings",
    "unknown_crs",
    "which_landmark",
)
WHEN = (
    "in_the_future",
    "no_such_date",
    "other_day",
    "parts_disagree",
    "too_old",
    "two_days",
    "two_readings",
    "weekday_today",
)
SPECIES = ("two_animals", "two_species")
REASONS: tuple[str, ...] = tuple(dict.fromkeys((*PLACE, *WHEN, *SPECIES)))
