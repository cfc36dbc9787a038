"""A small programme and its people for these tests; nothing here follows the demo's wording."""

from __future__ import annotations

from datetime import UTC, datetime

from bot.fieldwork.dispatch import Roster
from bot.fieldwork.staff_dialog import load_staff_dialog
from bot.messages import OpenPickup
from bot.programme import Programme, load_programme
from bot.shipped import dialog_files

STAFF = """id,name,role,phone,lat,lon,reach_km,days,hours
near,Ada Birch,field,0491 570 156,-36.80,147.10,90,mon-sun,06:00-20:00
mid,Bo Cinder,field,0491 570 157,-37.00,147.30,120,mon-sun,05:00-22:00
far,Cy Dunn,field,0491 570 158,-37.30,146.70,200,mon-fri,07:00-18:00
desk,Di Ember,coordinator,0491 570 159,-36.70,147.00,0,,
"""

HEAD = """name = "Test Range"
invented = true
country = "AU"
zone = "Australia/Melbourne"
[contacts]
emergency = "000"
animal_emergency = "1800 160 401"
coordinator = "03 5550 0140"
[privacy]
keeper = "Test Range"
[law]
head_may_move = true
"""

ZONES = (
    '{"type":"FeatureCollection","features":[{"type":"Feature","properties":{"name":"all"},'
    '"geometry":{"type":"Polygon","coordinates":'
    "[[[146,-38],[148,-38],[148,-36],[146,-36],[146,-38]]]}}]}"
)


def programme(staff: str = STAFF, head_may_move: bool = True, rules: str = "") -> Programme:
    """The test programme, with another roster, law, or more tables of settings for a test."""
    head = HEAD if head_may_move else HEAD.replace("move = true", "move = false")
    return load_programme(
        {
            "programme.toml": head + rules,
            "staff.csv": staff,
            "landmarks.csv": "name,lat,lon\n",
            "zones.geojson": ZONES,
        }
    )


PROGRAMME = programme()
ON_CALL = programme(
    """id,name,role,phone,lat,lon,reach_km,days,hours,on_call
near,Ada Birch,field,0491 570 156,-36.80,147.10,90,mon-sun,06:00-18:00,mon-sun
mid,Bo Cinder,field,0491 570 157,-37.00,147.30,120,mon-sun,05:00-22:00,
far,Cy Dunn,field,0491 570 158,-37.30,146.70,200,mon-fri,07:00-18:00,mon-sun
desk,Di Ember,coordinator,0491 570 159,-36.70,147.00,0,,,
""",
    rules="[pickup]\ntwo_on_call = true\n",
)
"""Two of the three are on call each night, and both are asked at once."""
ROSTER = Roster(PROGRAMME.roster)
DIALOG = load_staff_dialog(dialog_files())
"""The wording that is shipped, since its words to listen for are what is tested."""

NOON = datetime(2026, 11, 25, 1, 0, tzinfo=UTC)
"""Wednesday 12:00 in Melbourne (UTC+11 in summer)."""

ORDER = OpenPickup(-36.87, 147.15, 50.0, "Brindle Hut", "feral pig, lump", "0491 570 110")
