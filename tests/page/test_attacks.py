"""Rubbish sent to the pages: spoiled uploads, bombs, scripts in every name, fields of every wrong kind."""

from __future__ import annotations

import random
import re
import struct
import zipfile
import zlib
from io import BytesIO

import pytest
from PIL import Image

from stockyard.desk import history, job_list, jobs, labels, racks
from stockyard.desk.door import Yardkeeper
from stockyard.desk.places import PlaceFacts, add_place
from stockyard.desk.stock import MaterialFacts, add_material, add_price
from stockyard.errors import BadInput
from stockyard.kinds import Form
from stockyard.page.app import doors
from stockyard.page.doors import Read, Write
from stockyard.page.photo import tags_in
from tests.page.conftest import LIST, Browser

EVIL = "\"><script>alert(1)</script><img src=x onerror=alert(1)>'"


def spoiled(number: int) -> tuple[str, bytes]:
    """Return one of endlessly many files that are nothing they say they are."""
    by = random.Random(number)
    noise = by.randbytes(by.randrange(1, 4000))
    picture = BytesIO()
    Image.effect_noise((64, 48), 80).save(picture, by.choice(("JPEG", "PNG", "WEBP")))
    cut = bytearray(picture.getvalue()[: by.randrange(4, picture.tell())])
    for _ in range(by.randrange(1, 30)):
        cut[by.randrange(len(cut))] = by.randrange(256)
    zipped = BytesIO()
    with zipfile.ZipFile(zipped, "w", zipfile.ZIP_DEFLATED) as made:
        made.writestr("xl/workbook.xml", b"<a>" * by.randrange(1, 3000))
    kinds = (
        ("x.png", noise), ("x.jpg", bytes(cut)), ("x.xlsx", zipped.getvalue()), ("x.csv", noise),
        ("../../x.txt", b"\x00" * 50), ("x.svg", b"<svg onload='alert(1)'/>"), ("x.gif", b"GIF89a" + noise),
    )  # fmt: skip
    return kinds[number % len(kinds)]


def bomb() -> bytes:
    """Return a PNG of a few kilobytes that says it has ten thousand million pixels."""

    def chunk(kind: bytes, data: bytes) -> bytes:
        return struct.pack(">I", len(data)) + kind + data + struct.pack(">I", zlib.crc32(kind + data))

    head = struct.pack(">IIBBBBB", 100_000, 100_000, 1, 0, 0, 0, 0)
    rows = zlib.compress(b"\x00" * 100_000)
    return b"\x89PNG\r\n\x1a\n" + chunk(b"IHDR", head) + chunk(b"IDAT", rows) + chunk(b"IEND", b"")


def test_two_hundred_spoiled_uploads(bench: Browser, keeper: Yardkeeper, job: int) -> None:
    token = bench.token
    with keeper.open() as y:
        before = history.deeds(y, limit=1)[0].id
    for number in range(200):
        name, content = spoiled(number)
        got = bench.client.post(
            f"/jobs/{job}/tick", data={"token": token}, files={"picture": (name, content, "image/png")}
        )
        assert got.status_code == 400 and 'class="hurdle"' in got.text, (number, got.status_code)
        got = bench.client.post(
            "/lists/read", data={"token": token, "text": "kept"}, files={"file": (name, content, "text/csv")}
        )
        assert got.status_code in (200, 400), (number, got.status_code)
        assert "Traceback" not in got.text and "<svg onload" not in got.text
    with keeper.open() as y:
        assert history.deeds(y, limit=1)[0].id == before


def test_a_picture_that_would_fill_the_memory_is_not_opened() -> None:
    with pytest.raises(BadInput, match=r"too many pixels|no photograph"):
        tags_in(bomb())


def test_a_label_is_read_from_a_photograph(bench: Browser, keeper: Yardkeeper, job: int) -> None:
    import pypdfium2

    with keeper.open() as y:
        tag = next(p.tag for p in racks.at_place(y, "R1") + racks.at_place(y, "SLOTS") if p.job)
        pdf = labels.edge_labels(y, [tag]).pdf
    sheet = pypdfium2.PdfDocument(pdf)[0].render(scale=4).to_pil().convert("L")
    photo = BytesIO()
    sheet.rotate(4, fillcolor=200, expand=True).save(photo, "JPEG", quality=70)
    bench.post(f"/jobs/{job}/tick", files={"picture": ("photo.jpg", photo.getvalue(), "image/jpeg")})
    with keeper.open() as y:
        assert racks.lines_of(y, [tag])[0].state == "pulled"


def test_a_script_in_every_name_is_shown_and_never_run(bench: Browser, keeper: Yardkeeper, job: int) -> None:
    with keeper.open() as y:
        add_material(y, EVIL, "18 mm", Form.SHEET, MaterialFacts(density=680, note=EVIL, least_stock=9))
        add_price(y, EVIL, "2440 x 1220", "84.00", EVIL)
        wanted = racks.ToShelve(material=EVIL, place="R1", count=3, note=EVIL, supplier=EVIL)
        tag = racks.shelve(y, wanted).pieces[0].tag
        text = f"{EVIL} 18 mm\n2 {EVIL} 720 x 400"
        found = job_list.understand(y, LIST, job_list.Ways(first="along"))
        jobs.add_job(y, EVIL, text, found.parts)
    bench.post("/station", name=EVIL[:40])
    pages = [
        d.path for d in doors() if isinstance(d, Read) and not re.search(r"\.(pdf|svg)$|\{way|pair", d.path)
    ]
    seen = 0
    for n, path in enumerate(pages * 2):
        to = path.replace("{job:int}", str(job + n % 2)).replace("{tag}", tag)
        for query in (f"?code=R1&q={EVIL}&of={EVIL}&place=R1&tag={tag}&t={tag}", "?place=R1&code=R1"):
            got = bench.client.get(to + query)
            assert got.status_code in (200, 400, 409), (to, got.status_code)
            assert "<script>" not in got.text and "<img src=x" not in got.text, to
            seen += "&lt;script&gt;" in got.text
    assert seen > 10, "the name is on the pages, harmless"
    svg = bench.client.get(f"/jobs/{job}/card.svg?piece=1").text
    assert "<script>" not in svg


RUBBISH = (
    "",
    "x",
    "-1",
    "1e9",
    "9" * 30,
    "\x00",
    "\u202e",
    "A" * 1500,
    "../../etc/passwd",
    "{{7*7}}",
    "%s%n",
    "[]",
)


@pytest.mark.parametrize("path", [d.path for d in doors() if isinstance(d, Write)])
def test_rubbish_in_every_field(bench: Browser, keeper: Yardkeeper, job: int, path: str) -> None:
    """Each form takes every kind of rubbish in all its fields: refused or taken, never a fault."""
    fields = (
        "tag", "tags", "place", "size", "name", "text", "count", "kind", "material",
        "n", "why", "seconds", "how", "which", "deed", "code", "stores", "inside",
        "load", "price", "title", "form", "thickness", "n0", "keep0", "size0", "more",
        "kerf", "unit", "back",
    )  # fmt: skip
    with keeper.open() as y:
        tag = racks.at_place(y, "SLOTS")[0].tag
    token = bench.token
    to = path.replace("{job:int}", str(job)).replace("{tag}", tag)
    for rubbish in RUBBISH:
        data = dict.fromkeys(fields, rubbish) | {"token": token}
        got = bench.client.post(to, data=data, follow_redirects=False)
        assert got.status_code in (200, 303, 400, 409), (rubbish, got.status_code)
        assert "49" not in got.headers.get("location", "")
    with keeper.open() as y:
        from stockyard.desk import shop

        assert not shop.check(y)[0].differences


@pytest.mark.parametrize("path", [d.path for d in doors() if isinstance(d, Read)])
def test_rubbish_in_every_address(bench: Browser, path: str) -> None:
    words = (
        "q",
        "code",
        "place",
        "tag",
        "t",
        "tags",
        "at",
        "only",
        "piece",
        "of",
        "m",
        "draft",
        "told",
        "wrong",
    )
    for rubbish in RUBBISH:
        to = path.replace("{job:int}", "999999999").replace("{tag}", "AAAAA")
        to = to.replace("{way:int}", "9").replace("{card:int}", "9")
        got = bench.client.get(to, params=dict.fromkeys(words, rubbish), follow_redirects=False)
        assert got.status_code in (200, 303, 400, 409, 413), (rubbish, got.status_code)


def test_a_place_of_a_strange_name_is_no_path(bench: Browser, keeper: Yardkeeper) -> None:
    with keeper.open() as y:
        try:
            add_place(y, "../..", PlaceFacts(stores="flat"))
        except BadInput:
            return
    assert "../.." in bench.get("/racks/place?code=..%2F..")
