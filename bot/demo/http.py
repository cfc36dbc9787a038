"""Texts brought in as a carrier brings them: our own JSON, signed, over HTTP, pictures and all.

Signatures are on real time; the text's own time is the stage's.
"""

from __future__ import annotations

import base64
import io
import json
from datetime import UTC, datetime, tzinfo

import httpx
from PIL import Image
from PIL.ExifTags import GPS, IFD, Base

from bot.demo.play import Bring, PlayError
from bot.demo.stage import Stage
from bot.demo.transcript import Line
from bot.gateways.signed import new_key, signed_headers
from bot.messages import Heard, Pin

TIMEOUT_S = 30.0


def over_http(stage: Stage, url: str) -> Bring:
    """Texts posted to the webhook of a server that stands on this stage."""
    key, client = new_key(stage.secret), httpx.Client(timeout=TIMEOUT_S, trust_env=False)

    def bring(heard: Heard, line: Line) -> None:
        body = json.dumps(_payload(heard, line, stage)).encode()
        headers = signed_headers(key, heard.id, body, datetime.now(UTC))
        answer = client.post(f"{url}/hear/{stage.carrier}", content=body, headers=headers)
        if answer.status_code != 200:
            raise PlayError(f"the webhook answered {answer.status_code}: {answer.text[:200]}")

    return bring


def _payload(heard: Heard, line: Line, stage: Stage) -> dict[str, object]:
    body: dict[str, object] = {
        "id": heard.id,
        "from": heard.sender,
        "text": heard.body,
        "at": heard.sent_at.isoformat(),
    }
    if heard.pin:
        pin = heard.pin
        body["position"] = {"lat": pin.lat, "lon": pin.lon, "accuracy": pin.accuracy_m}
    if line.photo:
        taken = line.photo.taken
        at = None if taken is None else stage.clock() - line.at + taken
        data = base64.b64encode(picture(line.photo.pin, at, stage.programme.zone)).decode()
        body["media"] = [{"type": "image/jpeg", "data": data}]
    return body


def picture(pin: Pin | None, taken_at: datetime | None, zone: tzinfo) -> bytes:
    """A small grey JPEG whose EXIF holds a position and a local time with its offset (Exif 2.31,
    tags GPSInfo, DateTimeOriginal, OffsetTimeOriginal)."""
    image = Image.new("RGB", (48, 36), (120, 120, 110))
    exif = image.getexif()
    if taken_at:
        local = taken_at.astimezone(zone)
        details = exif.get_ifd(IFD.Exif)
        details[Base.DateTimeOriginal] = f"{local:%Y:%m:%d %H:%M:%S}"
        details[Base.OffsetTimeOriginal] = f"{local:%z}"[:3] + ":" + f"{local:%z}"[3:]
    if pin:
        gps = exif.get_ifd(IFD.GPSInfo)
        gps[GPS.GPSLatitudeRef], gps[GPS.GPSLatitude] = _sides(pin.lat, "NS")
        gps[GPS.GPSLongitudeRef], gps[GPS.GPSLongitude] = _sides(pin.lon, "EW")
    kept = io.BytesIO()
    image.save(kept, "JPEG", exif=exif)
    return kept.getvalue()


def _sides(degrees: float, letters: str) -> tuple[str, tuple[float, float, float]]:
    """The EXIF letter, and degrees, minutes and seconds to a thousandth."""
    thousandths = round(abs(degrees) * 3_600_000)
    whole, rest = divmod(thousandths, 3_600_000)
    minutes, seconds = divmod(rest, 60_000)
    return letters[degrees < 0], (float(whole), float(minutes), seconds / 1000)
