"""The labels, read back from the PDF and measured; the least dimensions are those of P650.

Side 50 mm, line 2 mm, letters 6 mm, proper name 6 mm: text of packing instruction 650 as printed
at appmkakb.moh.gov.my (page 164) and ru.nl, by the project's list of published checks.
"""

from __future__ import annotations

import io
import math

import pytest

from bot.web.labels import Label, LabelWords, latin, roll, sheets, table

pdfplumber = pytest.importorskip("pdfplumber")

MM = 72 / 25.4
WORDS = LabelWords("Two bags are not the triple packaging.", "Stick the mark on on its point.")
LABEL = Label(
    "K7R-4TR/2",
    "nodes",
    "https://post.example/specimen/abc",
    (("Species", "boar"), ("Place", "3.1 km NW of Brindle Hut"), ("Killed", "Sat 21 Nov 18:00")),
)


BOTH = pytest.mark.parametrize(
    "data", [roll([LABEL], WORDS), sheets([LABEL], WORDS)], ids=["roll", "A4"]
)


def pages(data: bytes):
    return pdfplumber.open(io.BytesIO(data)).pages


def mark_page(data: bytes):
    return next(p for p in pages(data) if "UN3373" in squeezed(p))


def squeezed(page) -> str:
    return "".join(c["text"] for c in page.chars).replace(" ", "")


def corners(page) -> list[tuple[float, float]]:
    """The corners of the page's one square, in millimetres."""
    squares = [c for c in page.curves + page.rects if c["linewidth"] > 4]
    (square,) = squares
    points = list(dict.fromkeys((round(x / MM, 3), round(y / MM, 3)) for x, y in square["pts"]))
    assert len(points) == 4
    return points


def sides(points) -> list[float]:
    return [math.dist(points[n], points[(n + 1) % 4]) for n in range(4)]


@BOTH
def test_the_mark_has_its_real_dimensions(data: bytes) -> None:
    page = mark_page(data)
    (line,) = {c["linewidth"] for c in page.curves + page.rects if c["linewidth"] > 4}
    assert line / MM >= 2.0
    inside = [side - line / MM for side in sides(corners(page))]
    assert all(side >= 50.0 for side in inside), inside
    assert max(inside) - min(inside) < 0.01, "a square"
    points = corners(page)
    diagonals = math.dist(points[0], points[2]), math.dist(points[1], points[3])
    assert diagonals[0] == pytest.approx(diagonals[1], abs=0.01)


@BOTH
def test_number_and_proper_name_are_high_enough(data: bytes) -> None:
    """Helvetica's capitals are 718 of 1000 high, its lowest figure (7) 688; U and N are 722 wide
    and figures 556 (Adobe's AFM files). The number slants on the roll, so that its size is taken
    from how far each character moves the pen."""
    page = mark_page(data)
    number = [c for c in page.chars if c["fontname"] == "Helvetica-Bold" and c["text"] in "UN37"]
    number = [c for c in number if c["adv"] > 12]
    assert "".join(c["text"] for c in number) == "UN3373"
    for char in number:
        wide, high = (0.556, 0.688) if char["text"].isdigit() else (0.722, 0.718)
        assert char["adv"] / wide * high / MM >= 6.0, char["text"]
    name = [c for c in page.chars if c["size"] > 20 and c["fontname"] == "Helvetica"]
    said = "".join(c["text"] for c in name).replace(" ", "")
    assert said.count("BIOLOGICALSUBSTANCE,CATEGORYB") >= 1
    assert all(c["size"] * 0.718 / MM >= 6.0 for c in name)
    foot = max(y for _, y in corners(page)) * MM
    assert min(c["top"] for c in name) > foot, "the name stands clear of the mark"


def test_on_the_roll_the_mark_is_turned_so_that_its_sides_run_along_the_roll() -> None:
    page = mark_page(roll([LABEL], WORDS))
    assert page.width / MM == pytest.approx(62.0, abs=0.01)
    points = corners(page)
    xs, ys = {x for x, _ in points}, {y for _, y in points}
    assert max(xs) - min(xs) == pytest.approx(52.4, abs=0.01)
    assert len({round(x, 1) for x in xs}) == 2, "two sides run along the roll"
    assert len({round(y, 1) for y in ys}) == 2, "two run across it"
    assert min(xs) >= 1, "inside the roll"
    assert max(xs) <= 61
    digits = [c for c in page.chars if c["text"] == "3"]
    a, b, *_ = digits[0]["matrix"]
    assert abs(math.degrees(math.atan2(b, a))) == pytest.approx(45, abs=0.1)


def test_on_a4_the_mark_stands_on_its_point() -> None:
    points = corners(mark_page(sheets([LABEL], WORDS)))
    span = max(x for x, _ in points) - min(x for x, _ in points)
    assert span == pytest.approx(52.4 * math.sqrt(2), abs=0.01)


def test_on_its_point_the_least_square_is_wider_than_the_roll() -> None:
    """Why it is turned: 50 mm sides on point span 70.7 mm."""
    assert math.sqrt(2) * 50 == pytest.approx(70.7, abs=0.02)


@BOTH
def test_a_label_says_everything_and_stays_on_its_page(data: bytes) -> None:
    for page in pages(data):
        for char in page.chars:
            assert min(char["x0"], char["top"]) >= -0.5
            assert char["x1"] <= page.width + 0.5
            assert char["bottom"] <= page.height + 0.5
    text = " ".join(p.extract_text() for p in pages(data))
    for said in ("K7R-4TR/2", "nodes", "boar", "Brindle Hut", "18:00", "not the triple packaging"):
        assert said in text.replace("\n", " ")


def test_the_qr_code_reads_back() -> None:
    """Read by zxing-cpp, which is not what drew it."""
    zxingcpp = pytest.importorskip("zxingcpp")
    for data in (roll([LABEL], WORDS), sheets([LABEL], WORDS)):
        picture = pages(data)[0].to_image(resolution=200).original
        assert [found.text for found in zxingcpp.read_barcodes(picture)] == [LABEL.qr]


def test_each_label_has_its_own_page_on_the_roll_and_two_share_a_sheet() -> None:
    three = [LABEL] * 3
    assert len(pages(roll(three, WORDS))) == 4
    assert len(pages(sheets(three, WORDS))) == 2


@pytest.mark.parametrize(("words", "safe"), [
    ("Brindle Hut", "Brindle Hut"), ("Zoë", "Zoë"), ("Māori", "Maori"), ("Łódź 熊", "?ódz ?"),
])  # fmt: skip
def test_letters_that_no_plain_font_has_are_spelt_plainer(words: str, safe: str) -> None:
    assert latin(words) == safe


def test_a_long_list_has_its_head_on_every_page() -> None:
    rows = [(f"K7R-{n}", "x") for n in range(90)]
    listed = table("Manifest", ["One note"], ("Code", "Part"), rows)
    assert len(pages(listed)) > 1
    assert all("Code" in p.extract_text() for p in pages(listed))
