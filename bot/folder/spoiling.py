"""The table [spoiling] of programme.toml: how many hours a head lasts, by how it is kept.

Nobody has published such a rule for whole heads. The defaults follow what is known of the germ in
possum carcases on grassland, simulated lesions: none left after 3 days in summer, all still
positive at 20 days in winter (abstract, Longevity of M. bovis in brushtail possum carcasses, New
Zealand), and half gone within a day at 16 degrees, within 36 days at 0 in the laboratory (doi
10.1017/S095026881600131X, table 3). They set an order of urgency and nothing else.
"""

from __future__ import annotations

from msgspec import Struct


class AirRow(Struct, frozen=True, forbid_unknown_fields=True):
    """In air of so many degrees Celsius and more, a head that is not cooled lasts these hours."""

    air_c: float
    hours: float


class Spoiling(Struct, frozen=True, forbid_unknown_fields=True):
    """Hours from fresh to due. 0 is without end."""

    warm_hours: float = 48.0
    """Not cooled, and nobody said how hot it is."""
    by_air: tuple[AirRow, ...] = (AirRow(25.0, 24.0), AirRow(15.0, 48.0), AirRow(5.0, 96.0))
    cold_hours: float = 240.0
    """Not cooled, in air colder than every row of `by_air`."""
    chilled_hours: float = 168.0
    frozen_hours: float = 0.0

    def __post_init__(self) -> None:
        """ValueError for hours that cannot be."""
        hours = {"warm_hours": self.warm_hours, "cold_hours": self.cold_hours}
        hours |= {"chilled_hours": self.chilled_hours, "frozen_hours": self.frozen_hours}
        hours |= {f"by_air at {row.air_c:g}": row.hours for row in self.by_air}
        for name, figure in hours.items():
            if not 0 <= figure <= 10_000:
                raise ValueError(f"spoiling.{name}: {figure:g} is not between 0 and 10000")
