"""`bushpost new-programme DIR --country XX --zone Area/City`: a folder to start from.

The folder passes `bushpost check` as it stands; each setting says what it is for. It stands
around the time zone's own city, as the zone table of the tz database gives it.
"""

from __future__ import annotations

import argparse
import re
import sys
from importlib.resources import files
from pathlib import Path
from typing import Any

import phonenumbers

from bot.programme import FILES, ProgrammeError, load_programme

FICTION = {"AU": ("0491 570 156", "0491 570 157"), "GB": ("07700 900123", "07700 900124")}
"""Numbers that the country's regulator keeps for fiction: ACMA for AU, Ofcom for GB."""
HALF_SIDE = 0.25
"""Degrees from the middle of the first zone to its sides."""
STARTER = Path(__file__).parent / "starter"
_TAB_PLACE = re.compile(r"([+-]\d{2})(\d\d)(\d\d)?([+-]\d{3})(\d\d)(\d\d)?")
"""ISO 6709 as zone.tab has it: +-DDMM+-DDDMM or +-DDMMSS+-DDDMMSS."""


def add_new_programme(subparsers: Any) -> None:
    """Add the command to the command line."""
    parser = subparsers.add_parser("new-programme", help="a programme's folder to start from")
    parser.add_argument("folder", type=Path, metavar="DIR")
    parser.add_argument("--country", required=True, help="ISO 3166 code, such as AU")
    parser.add_argument("--zone", required=True, help="time zone, such as Australia/Melbourne")
    parser.set_defaults(run=run_new_programme)


def run_new_programme(args: argparse.Namespace) -> int:
    """Write the folder; exit code 2 and one line where it cannot be, and nothing is written."""
    try:
        made = starter(args.country.upper(), args.zone)
        load_programme(made)
        if args.folder.exists() and any(args.folder.iterdir()):
            raise ProgrammeError(f"{args.folder} is there already and not empty")
        args.folder.mkdir(parents=True, exist_ok=True)
        for name, text in made.items():
            (args.folder / name).write_text(text, encoding="utf-8")
    except (ValueError, OSError) as fault:
        print(f"bushpost new-programme: {fault}", file=sys.stderr)
        return 2
    print(f"Written: {', '.join(made)} in {args.folder}.")
    print("Edit them, then: bushpost check", args.folder)
    return 0


def starter(country: str, zone: str) -> dict[str, str]:
    """The texts of the files by name; ProgrammeError for a country or a zone that is none."""
    if country not in phonenumbers.SUPPORTED_REGIONS:
        raise ProgrammeError(f"--country: {country!r} is no country code that has telephones")
    lat, lon = city_of(zone)
    staff, coordinator = _numbers(country)
    values = {
        "COUNTRY": country,
        "ZONE": zone,
        "LAT": f"{lat:.4f}",
        "LON": f"{lon:.4f}",
        "WEST": f"{lon - HALF_SIDE:.4f}",
        "EAST": f"{lon + HALF_SIDE:.4f}",
        "SOUTH": f"{lat - HALF_SIDE:.4f}",
        "NORTH": f"{lat + HALF_SIDE:.4f}",
        "STAFF_PHONE": staff,
        "COORDINATOR_PHONE": coordinator,
    }
    texts = {name: (STARTER / name).read_text(encoding="utf-8") for name in FILES}
    return {name: _filled(text, values) for name, text in texts.items()}


def _filled(text: str, values: dict[str, str]) -> str:
    return re.sub(r"<([A-Z_]+)>", lambda found: values[found[1]], text)


def city_of(zone: str) -> tuple[float, float]:
    """Where a zone's city lies, in degrees, by zone.tab; ProgrammeError if it is not there."""
    table = files("tzdata").joinpath("zoneinfo/zone.tab").read_text(encoding="utf-8")
    for row in table.splitlines():
        fields = row.split("\t")
        named = not row.startswith("#") and fields[2:3] == [zone]
        if named and (found := _TAB_PLACE.fullmatch(fields[1])):
            return _degrees(*found.group(1, 2, 3)), _degrees(*found.group(4, 5, 6))
    raise ProgrammeError(f"--zone: {zone!r} is no zone with a city, such as Australia/Melbourne")


def _degrees(degrees: str, minutes: str, seconds: str | None) -> float:
    size = abs(int(degrees)) + int(minutes) / 60 + int(seconds or 0) / 3600
    return -size if degrees.startswith("-") else size


def _numbers(country: str) -> tuple[str, str]:
    """Two numbers that the country can have, to be replaced: for fiction where we know such."""
    if country in FICTION:
        return FICTION[country]
    kind = phonenumbers.PhoneNumberType.MOBILE
    example = phonenumbers.example_number_for_type(country, kind)
    if example is None or example.national_number is None:
        raise ProgrammeError(f"--country: no example of a telephone number for {country!r}")
    code, first = example.country_code, example.national_number // 10 * 10
    one, other = (_written(phonenumbers.PhoneNumber(code, first + n)) for n in (0, 1))
    return one, other


def _written(number: phonenumbers.PhoneNumber) -> str:
    form = phonenumbers.PhoneNumberFormat.INTERNATIONAL
    return phonenumbers.format_number(number, form)
