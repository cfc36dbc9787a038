"""Random places written in every notation, and sentences to carry them: for the round trips.

Each writer takes WGS84 degrees and gives the text; grids are reached with PROJ and the
reference libraries, never with the readers' own code.
"""

from __future__ import annotations

import math
from collections.abc import Callable

import mgrs
from openlocationcode import openlocationcode as olc

from tests.reading.place_frame import projected_to

Writer = Callable[[float, float], str]


def _letters(lat: float, lon: float) -> tuple[str, str]:
    return "S" if lat < 0 else "N", "W" if lon < 0 else "E"


def _dm(value: float, digits: int = 3) -> tuple[int, str]:
    units = round(abs(value) * 60 * 10**digits)
    degrees, rest = divmod(units, 60 * 10**digits)
    return degrees, f"{rest / 10**digits:.{digits}f}"


def _dms(value: float, digits: int = 1) -> tuple[int, int, str]:
    units = round(abs(value) * 3600 * 10**digits)
    degrees, rest = divmod(units, 3600 * 10**digits)
    minutes, seconds = divmod(rest, 60 * 10**digits)
    return degrees, minutes, f"{seconds / 10**digits:.{digits}f}"


def dd(pattern: str, digits: int = 5) -> Writer:
    """Decimal degrees: {a} {o} signed, {A} {O} without sign, {n} {e} letters."""

    def write(lat: float, lon: float) -> str:
        n, e = _letters(lat, lon)
        return pattern.format(
            a=f"{lat:.{digits}f}", o=f"{lon:.{digits}f}",
            A=f"{abs(lat):.{digits}f}", O=f"{abs(lon):.{digits}f}", n=n, e=e,
        )  # fmt: skip

    return write


def comma(writer: Writer) -> Writer:
    """The same with decimal commas."""
    return lambda lat, lon: writer(lat, lon).replace(".", ",")


def dm(pattern: str, digits: int = 3) -> Writer:
    """Degrees and minutes: {d} {m} and {D} {M}, letters {n} {e}."""

    def write(lat: float, lon: float) -> str:
        n, e = _letters(lat, lon)
        (d, m), (d2, m2) = _dm(lat, digits), _dm(lon, digits)
        return pattern.format(d=d, m=m, D=d2, M=m2, n=n, e=e)

    return write


def dms(pattern: str, digits: int = 1) -> Writer:
    """Degrees minutes seconds: {d} {m} {s} and {D} {M} {S}, letters {n} {e}."""

    def write(lat: float, lon: float) -> str:
        n, e = _letters(lat, lon)
        (d, m, s), (d2, m2, s2) = _dms(lat, digits), _dms(lon, digits)
        return pattern.format(d=d, m=m, s=s, D=d2, M=m2, S=s2, n=n, e=e)

    return write


def iso6709(lat: float, lon: float) -> str:
    """The standard's own string, in decimal degrees."""
    return f"{lat:+010.6f}{lon:+011.6f}/"


def compact(lat: float, lon: float) -> str:
    """Degrees and minutes in one run of figures."""
    n, e = _letters(lat, lon)
    (d, m), (d2, m2) = _dm(lat), _dm(lon)
    return f"{d:02d}{float(m):06.3f}{n} {d2:03d}{float(m2):06.3f}{e}"


DEGREES: dict[str, Writer] = {
    "dd comma": dd("{a},{o}"), "dd comma space": dd("{a}, {o}"), "dd space": dd("{a} {o}"),
    "dd slash": dd("{a} / {o}"), "dd semicolon": dd("{a};{o}"), "dd marks": dd("{a}°, {o}°"),
    "dd letters after": dd("{A}{n} {O}{e}"), "dd letters spaced": dd("{A} {n}, {O} {e}"),
    "dd letters before": dd("{n}{A} {e}{O}"), "dd letters before spaced": dd("{n} {A} {e} {O}"),
    "dd lon first": dd("{O}{e} {A}{n}"), "dd labels": dd("lat {a} long {o}"),
    "dd labels colon": dd("Lat: {a}, Lon: {o}"), "dd deg": dd("{A} deg {n} {O} deg {e}"),
    "dd labels letters": dd("latitude {A} {n} longitude {O} {e}"),
    "dd decimal comma": comma(dd("{a} {o}")),
    "dd decimal comma letters": comma(dd("{A}°{n} {O}°{e}")),
    "dm": dm("{d} {m} {n} {D} {M} {e}"), "dm marks": dm("{d}° {m}' {n}, {D}° {M}' {e}"),
    "dm tight": dm("{d}°{m}'{n} {D}°{M}'{e}"), "dm before": dm("{n}{d} {m} {e}{D} {M}"),
    "dm before spaced": dm("{n} {d} {m} {e} {D} {M}"), "dm glued": dm("{d} {m}{n}, {D} {M}{e}"),
    "dm d m": dm("{d}d {m}m {n} {D}d {M}m {e}"), "dm dash": dm("{d}-{m}{n} {D}-{M}{e}"),
    "dm prime": dm("{d}º {m}′ {n} {D}º {M}′ {e}"), "dm colon": dm("{d}:{m}{n} {D}:{M}{e}"),
    "dms": dms("{d} {m} {s} {n} {D} {M} {S} {e}"),
    "dms marks": dms("{d}°{m}'{s}\"{n} {D}°{M}'{S}\"{e}"),
    "dms spaced marks": dms("{d}° {m}' {s}\" {n}, {D}° {M}' {S}\" {e}"),
    "dms quotes": dms("{d}°{m}’{s}’’{n}, {D}°{M}’{S}’’{e}"),
    "dms primes": dms("{d}°{m}′{s}″ {n} {D}°{M}′{S}″ {e}"),
    "dms before": dms("{n}{d} {m} {s} {e}{D} {M} {S}"),
    "dms colon": dms("{d}:{m}:{s}{n} {D}:{M}:{S}{e}"),
    "dms words": dms("{d}deg {m}min {s}sec {n} {D}deg {M}min {S}sec {e}"),
    "dms d m s": dms("{d}d{m}m{s}{n} {D}d{M}m{S}{e}"),
    "dms dots": dms("{d}.{m}.{s}{n} {D}.{M}.{S}{e}", 0),
    "dms whole": dms("{d} {m} {s} {n} {D} {M} {S} {e}", 0),
    "dms parens": dms("{d} {m} {s}({n}), {D} {M} {S}({e})"),
    "compact": compact, "iso6709": iso6709, "geo": dd("geo:{a},{o}"),
    "link query": dd("https://maps.example/?q={a},{o}"),
    "link path": dd("https://maps.example/@{a},{o},15z"),
    "link fragment": dd("https://maps.example/#map=15/{a}/{o}"),
    "link escaped": dd("https://maps.example/find?query={a}%2C{o}&z=3"),
    "plus code": lambda lat, lon: olc.encode(lat, lon, 11),
}  # fmt: skip

_MGRS = mgrs.MGRS()


def utm_zone(lat: float, lon: float) -> int:
    """The zone, with Norway's and Svalbard's exceptions (DMA TM 8358.1)."""
    return int(_MGRS.toMGRS(lat, lon)[:2].strip())


def _utm(lat: float, lon: float) -> tuple[int, str, float, float]:
    code = _MGRS.toMGRS(lat, lon)
    zone = int(code[:2])
    east, north = projected_to((32700 if lat < 0 else 32600) + zone, lat, lon)
    return zone, code[2], east, north


def utm(pattern: str, half: bool = False) -> Writer:
    """UTM with {z} zone, {b} band (or hemisphere), {E} and {N}."""

    def write(lat: float, lon: float) -> str:
        zone, band, east, north = _utm(lat, lon)
        band = ("S" if lat < 0 else "N") if half else band
        return pattern.format(z=zone, b=band, E=round(east), N=round(north))

    return write


def squares(spaced: bool, digits: int = 5) -> Writer:
    """The lettered squares, from the mgrs library."""

    def write(lat: float, lon: float) -> str:
        code = _MGRS.toMGRS(lat, lon, MGRSPrecision=digits)
        parts = (code[:3], code[3:5], code[5 : 5 + digits], code[5 + digits :])
        return " ".join(parts) if spaced else "".join(parts)

    return write


UTM: dict[str, Writer] = {
    "utm band": utm("{z}{b} {E} {N}"), "utm word": utm("UTM {z}{b} {E} {N}"),
    "utm letters": utm("{z}{b} E{E} N{N}"), "utm metres": utm("{z}{b} {E}mE {N}mN"),
    "utm zone": utm("zone {z}{b} {E}E {N}N"), "utm comma": utm("{z}{b} {E}, {N}"),
    "mgrs": squares(False), "mgrs spaced": squares(True), "mgrs 100 m": squares(False, 3),
    "mgrs 10 m": squares(True, 4),
}  # fmt: skip


def pair(epsg: int, pattern: str) -> Writer:
    """A pair in one grid, in whole metres."""

    def write(lat: float, lon: float) -> str:
        east, north = projected_to(epsg, lat, lon)
        return pattern.format(E=round(east), N=round(north))

    return write


def cut(value: float, figures: int) -> str:
    """The figures of a reference within its 100 km square: cut, not rounded."""
    return f"{math.floor(value) % 100_000:05d}"[:figures]


PLAIN = (
    "{}", "{}.", "Pig is at {}", "head at {} in a bag", "boar shot {}, big one", "kill site: {}",
    "{} is where it lies", "(at {})", "we left him at {}. Cheers", "gps says {} thanks mate",
)  # fmt: skip
NUMBERED = (
    "shot 2 pigs at {}", "2 pigs 80kg at {} about 6.30pm, call 0491 570 156",
    "12/11/2026 one boar {}", "Found dead 3 days ago {}, weighs 45.5 kg", "{}, 2 pigs",
    "{} 85kg boar", "sow 60kg {} at 18:45", ".308 at 200m, {} , 3 hinds", "$50 fuel, pig at {}",
    "at {} on 2026-11-03, text 0491 570 006", "1 stag, {}, tag 1234", "{} call 07700 900123",
)  # fmt: skip
