"""Every reader, fed spoilt input: one clear line at worst, no traceback, no hang, little memory."""

from __future__ import annotations

import io
import itertools
import json
import random
import shutil
import zipfile
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any

import pytest

from stockyard import yard
from stockyard.cutlist import CutList, KnownMaterial, read, read_table
from stockyard.errors import StockyardError
from stockyard.measure import Unit, parse, show
from stockyard.planning.files import read_problem
from stockyard.printing.layouts import OWN_EXAMPLE, layout_named
from stockyard.settings import Settings, change, names
from stockyard.tags import read_tag, tag_number
from stockyard.yard import Yard, exchange, intake, jobs, ledger, piece_table, pieces, places, search, undo
from stockyard.yard.check import check
from tests.cutlist.test_snippets import SNIPPETS
from tests.fuzz.spoil import (
    Fuzzer,
    small_memory,
    spoil_bytes,
    spoil_json,
    spoil_text,
    spoil_zip,
)
from tests.yard.shop import make_shop, plan_for

SHOP = [KnownMaterial(name=n) for n in ("birch ply 3/4", "MDF 18 mm", "white oak 4/4", "oak vnr 19")]
LISTS = [text for _, text in SNIPPETS.values()]
PROBLEM = {
    "unit": "mm", "kerf": 3, "edge_trim": 0, "method": "saw",
    "keep": {"short_side": 150, "area": 90000},
    "stock": [
        {"id": "A", "kind": "offcut", "material": "ply", "thickness": 18, "length": 1180,
         "width": "23 1/2 in", "count": 1, "cost": 0, "grain": True, "dig": 2},
        {"id": "B", "kind": "full", "material": "ply", "length": 2440, "width": 1220, "count": None,
         "cost": 58.5},
    ],
    "parts": [
        {"id": "side", "length": 720, "width": 560, "thickness": 18, "material": ["ply", "mdf"], "count": 2,
         "grain": "along", "priority": 0},
        {"id": "back", "length": "28 3/8 in", "width": 300, "material": None},
    ],
}  # fmt: skip
PIECES = [
    "material,kind,length,width,place,count,thickness,cost,supplier,note\n"
    "birch ply 18 mm,offcut,600,400,R1-B1,2,17.7,3.50,Ash & Sons,'=note\nwhite oak,full,2400,150,R2,,,,,\n",
    "material;place;size;kind;cost\nbirch ply;R1-B2-S3;1200 x 600;offcut;3,50\n",
    "place\tmaterial\tsize\nR2\twhite oak 4/4\t2440 x 100\n",
]
WANTED = [
    "anything at least 20 x 30 in half-inch ply?", "600 x 400 birch", "8' long oak", "1200 by 300",
    "20 x 30 1/2 ply",     "three quarter inch oak 12 in x 3 ft", "5' 6 1/2\" long",
]  # fmt: skip
SETTINGS = [
    "mm",
    "in",
    "3",
    "1/8",
    "3.2 mm",
    "0.09 m2",
    "144 in²",
    "EUR",
    "a4",
    "letter",
    "a4-21",
    "32",
    "-1.5 mm",
]
LENGTHS = [
    "720",
    "23 1/2",
    "1'-2 3/8\"",
    "6' 0\"",
    '17½"',
    "1.198,5",
    "12 ft",
    "3/4 in",
    "2.44 m",
    "1e3",
    "0,5",
]


def summed(found: CutList) -> object:
    """Tell outcomes of a cut list apart."""
    questions = sorted({(q.kind, q.unclear) for q in found.questions})
    return bool(found.rows), questions[:4], sorted(found.fates)[-1:], [w.says for w in found.warnings][:2]


def read_list(text: str) -> object:
    """Read a cut list, and read it again with the first reading of each question as its answer."""
    found = read(text, unit=Unit.MM, materials=SHOP, band_thickness=3200)
    answers = {q.id: q.readings[0].key for q in found.questions if q.readings}
    return summed(read(text, unit=Unit.MM, materials=SHOP, answers=answers)) if answers else summed(found)


def read_file(data: bytes) -> object:
    return summed(read(read_table(data), unit=Unit.INCH))


def read_any_problem(text: str) -> object:
    problem, notes = read_problem(text)
    return problem.method, len(problem.stock), len(problem.parts), notes


def read_setting(text: str) -> object:
    """Read the text as every setting there is: at least one of them must make something of the good ones."""
    taken = []
    for name in names():
        try:
            change(Settings(), {name: text})
            taken.append(name)
        except StockyardError:
            pass
    return taken


def read_own_label(text: str) -> object:
    return type(layout_named("own", text, Unit.MM)).__name__


def read_length(text: str) -> object:
    """Read a length in both units; what is shown of it can be read again."""
    for unit in (Unit.INCH, Unit.MM):
        parse(show(parse(text, unit), unit).lstrip("~≈ "), unit)
    return len(text)


def sheet(*rows: tuple[object, ...]) -> bytes:
    from openpyxl import Workbook

    book = Workbook()
    assert book.active is not None
    for row in rows:
        book.active.append(row)
    out = io.BytesIO()
    book.save(out)
    return out.getvalue()


def sheets() -> list[bytes]:
    return [
        sheet(("Part", "Qty", "Length", "Width", "Thk"), ("side", 2, 720, 560.5, 18),
              ("back", 1, "28 3/8", 300, None)),
        sheet(("side", 2, "17-1/2 x 16 1/4"), (None,), ("TOTAL", 2)),
    ]  # fmt: skip


PURE: dict[str, tuple[int, int, Callable[[], Fuzzer[Any]]]] = {
    # name: (cases by default, cases in full, fuzzer)
    "cut list": (300, 60_000, lambda: Fuzzer(read_list, LISTS, spoil_text)),
    "tables": (300, 30_000, lambda: Fuzzer(read_file, [t.encode() for t in LISTS], spoil_bytes)),
    "spreadsheet": (80, 5_000, lambda: Fuzzer(read_file, sheets(), spoil_zip)),
    "problem": (400, 40_000, lambda: Fuzzer(read_any_problem, [json.dumps(PROBLEM)], spoil_json)),
    "setting": (200, 10_000, lambda: Fuzzer(read_setting, SETTINGS, spoil_text)),
    "own label": (300, 10_000, lambda: Fuzzer(read_own_label, [OWN_EXAMPLE], spoil_text)),
    "length": (400, 20_000, lambda: Fuzzer(read_length, LENGTHS, spoil_text)),
    "tag": (400, 10_000, lambda: Fuzzer(read_tag, [tag_number(n) for n in range(9)], spoil_text)),
    "money": (300, 5_000, lambda: Fuzzer(intake.read_money, ["58", "58.50", "58,50", "0.0001"], spoil_text)),
}


@pytest.mark.parametrize("name", PURE)
def test_spoilt_input(name: str) -> None:
    cases, _, fuzzer = PURE[name]
    with small_memory():
        fuzzer().run(cases)


@pytest.mark.slow
@pytest.mark.parametrize("name", PURE)
def test_much_spoilt_input(name: str) -> None:
    _, cases, fuzzer = PURE[name]
    with small_memory():
        fuzzer().run(cases)


# Readers that look into a yard


@pytest.fixture(scope="module")
def shop_yard(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Yard]:
    shop = make_shop(tmp_path_factory.mktemp("fuzz") / "yard.db")
    plan_for(shop, shop.sheets[0])
    yield shop.yard
    shop.yard.close()


def words(y: Yard) -> dict[str, tuple[int, Fuzzer[Any]]]:
    """Return the readers of what is typed about things in the yard, each with its cases in full."""

    def find(text: str) -> object:
        wanted = search.read_wanted(y, text)
        return bool(wanted.width), len(search.find(y, wanted)), wanted.says(Unit.INCH)[:5]

    def scan(text: str) -> object:
        return pieces.by_tag(y, text).state, places.place(y, "R2").code

    def arrivals(data: bytes) -> object:
        return [(a.kind, a.count) for a in piece_table.read_pieces(y, data, "pieces.csv").arrivals][:3]

    tags = [tag_number(n) for n in range(8)]
    csvs = [text.encode() for text in PIECES]
    return {
        "find": (10_000, Fuzzer(find, WANTED, spoil_text)),
        "scan": (5_000, Fuzzer(scan, tags, spoil_text)),
        "place": (3_000, Fuzzer(lambda t: places.place(y, t).rack, ["R1-B2-S3", "r2", "R1/B1"], spoil_text)),
        "job": (3_000, Fuzzer(lambda t: jobs.job(y, t).name, ["kitchen", "1", "kit"], spoil_text)),
        "pieces file": (10_000, Fuzzer(arrivals, csvs, spoil_bytes)),
    }


WORDS = ("find", "scan", "place", "job", "pieces file")


@pytest.mark.parametrize("name", WORDS)
def test_spoilt_words(shop_yard: Yard, name: str) -> None:
    with small_memory():
        words(shop_yard)[name][1].run(200)


@pytest.mark.slow
@pytest.mark.parametrize("name", WORDS)
def test_many_spoilt_words(shop_yard: Yard, name: str) -> None:
    cases, fuzzer = words(shop_yard)[name]
    with small_memory():
        fuzzer.run(cases)


# Whole yards: exports and files


class Imports:
    """Imports spoilt exports of one yard; what comes of it is a sound yard or nothing at all."""

    def __init__(self, y: Yard, folder: Path) -> None:
        self.folder = folder
        exchange.export_json(y, folder / "good.json")
        exchange.export_csv(y, folder / "good")
        self.good = (folder / "good.json").read_text(encoding="utf-8")
        self.number = itertools.count()

    def json(self, text: str) -> object:
        """Import a JSON export."""
        source = self.folder / "spoilt.json"
        source.write_bytes(text.encode("utf-8", "surrogatepass"))
        return self._into(source)

    def csv(self, data: bytes) -> object:
        """Import the CSV tables with other content in the one named in the first line of `data`."""
        name, _, content = data.partition(b"\n")
        source = self.folder / "spoilt"
        shutil.rmtree(source, ignore_errors=True)
        shutil.copytree(self.folder / "good", source)
        table = source / name.decode("ascii", "replace")
        if table.parent == source and table.exists():
            table.write_bytes(content)
        return self._into(source)

    def tables(self) -> list[bytes]:
        """Return each CSV table as `csv` takes it."""
        return [f.name.encode() + b"\n" + f.read_bytes() for f in sorted((self.folder / "good").iterdir())]

    def _into(self, source: Path) -> str:
        path = self.folder / f"{next(self.number)}.db"
        try:
            exchange.import_yard(source, path)
        except StockyardError:
            assert not path.exists()
            assert not list(self.folder.glob(".*"))
            raise
        with yard.open(path) as made:
            assert check(made) == ()
        path.unlink()
        return "equal"


@pytest.fixture
def imports(shop_yard: Yard, tmp_path: Path) -> Imports:
    return Imports(shop_yard, tmp_path)


def spoil_table(rng: random.Random, data: bytes, other: bytes) -> bytes:
    """Spoil a CSV table and leave its name."""
    name, _, content = data.partition(b"\n")
    return name + b"\n" + spoil_bytes(rng, content, other)


@pytest.mark.parametrize("cases", [6, pytest.param(400, marks=pytest.mark.slow)])
def test_spoilt_exports(imports: Imports, cases: int) -> None:
    with small_memory():
        Fuzzer(imports.json, [imports.good], spoil_json).run(cases)
        Fuzzer(imports.csv, imports.tables(), spoil_table).run(cases)


def exported(y: Yard) -> None:
    target = y.path.with_name("export.json")
    target.unlink(missing_ok=True)
    exchange.export_json(y, target)


def rebuilt(y: Yard) -> None:
    target = y.path.with_name("rebuilt.db")
    target.unlink(missing_ok=True)
    exchange.rebuild(y, target)


def said(use: Callable[[Yard], object]) -> Callable[[Yard], object]:
    """Return the use with what it refuses as what it returns, so that the next one is tried too."""

    def run(y: Yard) -> object:
        try:
            return use(y)
        except StockyardError as error:
            return str(error)

    return run


USES: tuple[Callable[[Yard], object], ...] = tuple(
    said(use)
    for use in (
        lambda y: [d.what for d in check(y)][:1],
        lambda y: len(pieces.on_hand(y)),
        lambda y: len(ledger.deeds(y)),
        lambda y: len(ledger.history(y, tag_number(0)).events),
        lambda y: len(search.find(y, search.read_wanted(y, "600 x 400 birch"))),
        exported,
        rebuilt,
        lambda y: undo.undo(y).what,
        lambda y: len(ledger.history(y, tag_number(0)).events),
    )
)


@pytest.mark.parametrize("cases", [40, pytest.param(3000, marks=pytest.mark.slow)])
def test_spoilt_yard_files(shop_yard: Yard, tmp_path: Path, cases: int) -> None:
    """Bytes of the file itself: all that is done with it works, or says what is wrong."""
    good = tmp_path / "good.db"
    shop_yard.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    shutil.copy(shop_yard.path, good)

    def look(data: bytes) -> object:
        path = tmp_path / "spoilt.db"
        for end in ("", "-wal", "-shm"):
            path.with_name(path.name + end).unlink(missing_ok=True)
        path.write_bytes(data)
        with yard.open(path) as y:
            return [use(y) for use in USES]

    with small_memory():
        Fuzzer(look, [good.read_bytes()], spoil_file).run(cases)


def spoil_file(rng: random.Random, data: bytes, _: bytes) -> bytes:
    """Change some bytes, most of them in the first pages, where the schema is."""
    changed = bytearray(data)
    for _n in range(rng.choice((1, 3, 20))):
        end = rng.choice((100, 4096, 60_000, len(data)))
        changed[rng.randrange(min(end, len(data)))] = rng.randrange(256)
    cut = rng.choice((len(data), len(data), len(data), rng.randrange(len(data))))
    return bytes(changed[:cut])


# Hostile input made on purpose


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        '{"a":' * 100_000,
        '{"kerf": 1e999999999}',
        '{"kerf": ' + "9" * 100_000 + "}",
        '{"kerf": -1e-999999999, "stock": [], "parts": []}',
        json.dumps(PROBLEM).replace("58.5", "1e-400"),
        json.dumps(PROBLEM).replace("720", "NaN"),
        "\ufeff" + json.dumps(PROBLEM),
        "",
    ],
)
def test_hostile_problems(text: str) -> None:
    Fuzzer(read_any_problem, [text], spoil_json).run(0)


HOSTILE = (
    "1/" * 9_000,
    "(" * 19_000,
    '"' * 19_000,
    "1 x " * 4_000,
    "1-" * 9_000 + "x 2",
    "a " * 9_000,
    "\t" * 19_000,
    ";" * 19_000,
    "|" * 19_000 + "\n" + "|" * 19_000,
    "9" * 19_000 + " x " + "9" * 19_000,
    "2 side " + "½" * 9_000,
    "'" * 9_000 + " x 3",
    "1 " * 9_000 + "x 3",
    "1'" * 9_000,
    "0." + "0" * 19_000 + "1",
    " " * 19_000 + "x",
    "x" * 19_000,
    "1 x 2 x 3 ; " * 1_500,
    "ditto\n" * 3_000,
    "2 ea side 12 x 20\n" * 1_000,
    "page a4, " * 2_000,
    "²" * 19_000,
)


@pytest.mark.parametrize("text", HOSTILE, ids=lambda text: ascii(text[:12]))
def test_hostile_text(shop_yard: Yard, text: str) -> None:
    """Such as a reader that tries every way to split a line would never end on."""
    readers: dict[str, Callable[[str], object]] = {
        "list": read_list, "label": read_own_label, "length": read_length, "setting": read_setting,
        "tag": read_tag, "money": intake.read_money, "find": lambda t: search.read_wanted(shop_yard, t),
        "pieces": lambda t: piece_table.read_pieces(shop_yard, t.encode(), "pieces.csv"),
    }  # fmt: skip
    with small_memory():
        for read_it in readers.values():
            Fuzzer(read_it, [text], spoil_text).run(0)


def packed_sheet(rows: str) -> bytes:
    """Return a spreadsheet whose only sheet has these rows, as XML."""
    with zipfile.ZipFile(io.BytesIO(sheet(("x",)))) as plain:
        members = {name: plain.read(name) for name in plain.namelist()}
    head, _, tail = members["xl/worksheets/sheet1.xml"].decode().partition("<sheetData>")
    body = head + "<sheetData>" + rows + "</sheetData>" + tail.partition("</sheetData>")[2]
    members["xl/worksheets/sheet1.xml"] = body.encode()
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w", zipfile.ZIP_DEFLATED) as packed:
        for name, content in members.items():
            packed.writestr(name, content)
    return out.getvalue()


@pytest.mark.parametrize(
    "rows",
    [
        "<!-- " + "a" * 50_000_000 + " -->",
        '<row r="1"><c r="A1" t="inlineStr"><is><t>' + "9" * 1_900_000 + "</t></is></c></row>",
        "".join(f'<row r="{n}"><c r="XFD{n}"/></row>' for n in range(1, 19_000)),
        '<row r="1048576"><c r="A1048576"><v>1</v></c></row>',
        "<row/>" * 19_000,
        '<row r="1"><c r="A1"><v>1e999</v></c><c r="B1" t="d"><v>9999-99-99</v></c></row>',
        "<row>" * 50_000,
    ],
    ids=["comment", "long cell", "wide rows", "last row", "empty rows", "odd values", "nested"],
)
def test_hostile_spreadsheets(rows: str) -> None:
    """Small files that unfold to much."""
    with small_memory():
        Fuzzer(read_file, [packed_sheet(rows)], spoil_zip).run(0)


@pytest.mark.parametrize(
    ("old", "new"),
    [
        ("R1-B2-S3", "\\ud800"),
        ("7808000", "7" + "0" * 30),
        ('"step": ', '"step": 9e999, "was": '),
        ('["id", "at", "what"', '["id", "id", "at", "what"'),
        ('"rows": [', '"rows": [[], {}, null, "x", '),
        ('{"contract"', "[" * 100_000 + '{"contract"'),
    ],
    ids=lambda text: ascii(text[:12]),
)
def test_hostile_exports(imports: Imports, old: str, new: str) -> None:
    assert old in imports.good
    with pytest.raises(StockyardError):
        imports.json(imports.good.replace(old, new))


def test_an_export_with_an_empty_table(imports: Imports) -> None:
    with pytest.raises(StockyardError, match="has other columns"):
        imports.csv(b"stocktake.csv\n")


def test_a_label_of_three_figures() -> None:
    with pytest.raises(StockyardError, match="is not a size"):
        read_own_label(OWN_EXAMPLE.replace("63.5 x", "63.5 x 10 x"))


def test_a_yard_file_whose_schema_is_no_text(shop_yard: Yard, tmp_path: Path) -> None:
    """SQLite repeats the bad bytes in what it says of them."""
    shop_yard.connection.execute("PRAGMA wal_checkpoint(TRUNCATE)")
    path = tmp_path / "spoilt.db"
    path.write_bytes(shop_yard.path.read_bytes().replace(b"CREATE TABLE deed", b"CREATE TABLE \xc1eed"))
    with pytest.raises(StockyardError, match="is damaged"), yard.open(path) as y:
        check(y)
        pieces.on_hand(y)
