"""Names kept by a former version with characters that no paper prints: written out on paper and screen."""

from __future__ import annotations

import re
import shutil
from dataclasses import replace
from io import BytesIO, StringIO
from pathlib import Path
from xml.etree import ElementTree

import ezdxf
import pypdf
import pytest
from typer.testing import CliRunner, Result

from stockyard import yard
from stockyard.cli.main import build
from stockyard.printing.drawing import Badge, Drawing, Region, Words
from stockyard.printing.drawing_file import sheet_dxf, sheet_svg
from stockyard.printing.drawing_pdf import draw_pdf
from stockyard.printing.drawing_svg import draw_svg
from stockyard.printing.output import Paper
from stockyard.printing.routed_sheet import DrawingRules, Release
from stockyard.yard import pieces
from tests.printing.test_routed_drawing import random_sheet
from tests.yard.test_check import without_rules

OLD = Path(__file__).parents[1] / "data" / "yards" / "step-3.db"
# A colour, a bell, a mark that turns the direction of writing; also as the text of a plan writes them.
STRANGE = "'si' || char(27) || '[31m' || char(7, 8238) || 'de'"
IN_JSON = r"'si\u001b[31m\u0007\u202ede'"
RAW = "si\x1b[31m\x07\u202ede"
WRITTEN = r"si\u001b[31m\u0007\u202ede"
OBEYED = re.compile("[\x00-\x08\x0b-\x1f\x7f-\x9f\u202a-\u202e]")


@pytest.fixture(scope="module")
def old(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A yard of the former version whose material, job, part and supplier have such names."""
    path = tmp_path_factory.mktemp("old") / "yard.db"
    shutil.copy(OLD, path)
    without_rules(
        path,
        *(f"UPDATE {table} SET name = {STRANGE}" for table in ("material", "job", "part", "cut_part")),
        f"UPDATE layout SET gives = replace(gives, 'side', {IN_JSON})",
        f"UPDATE piece SET note = {STRANGE}",
    )
    return path


def typed(path: Path, *words: str) -> Result:
    done = CliRunner().invoke(build(), list(words), env={"STOCKYARD_YARD": str(path), "COLUMNS": "200"})
    assert done.exit_code == 0, (words, done.output, done.exception)
    return done


def pages(path: Path) -> str:
    """Return the words of a PDF as another program reads them."""
    reader = pypdf.PdfReader(path)
    return "\n".join([*(page.extract_text() for page in reader.pages), str(reader.metadata)])


def test_papers_write_out_what_does_not_print(old: Path, tmp_path: Path) -> None:
    typed(old, "papers", "1", "--out", str(tmp_path))
    made = sorted(tmp_path.iterdir())
    assert len(made) == 3
    for paper in made:
        assert paper.name.isprintable()
        text = pages(paper)
        assert WRITTEN in re.sub(r"\s", "", text), paper.name
        assert not OBEYED.search(text), paper.name


def test_labels_write_out_what_does_not_print(old: Path, tmp_path: Path) -> None:
    with yard.open(old) as y:
        tag = pieces.at_place(y, "R1-B2-S3")[0].tag
    typed(old, "labels", tag, "--out", str(tmp_path / "l.pdf"))
    text = pages(tmp_path / "l.pdf")
    assert r"\u001b" in text
    assert not OBEYED.search(text)


def test_a_drawing_is_sound_xml(old: Path, tmp_path: Path) -> None:
    typed(old, "draw", "1", "1", "--svg", str(tmp_path / "d.svg"))
    root = ElementTree.parse(tmp_path / "d.svg").getroot()
    words = [str(node.text) for node in root.iter() if node.text and node.text.strip()]
    assert any(r"\u001b" in text for text in words), words
    assert not any(OBEYED.search(text) for text in words)


def test_a_drawing_in_a_terminal_keeps_its_outline(old: Path) -> None:
    shown = typed(old, "draw", "1", "1").stdout
    outline = [line for line in shown.splitlines() if line[:1] in "┌│├└" and line]
    assert len({len(line) for line in outline}) == 1
    assert r"si\u001b" in shown


@pytest.mark.parametrize("release", Release)
def test_a_drawing_for_a_router_is_sound(release: Release) -> None:
    sheet = random_sheet(3)
    sheet = replace(sheet, parts=tuple(replace(part, label=RAW) for part in sheet.parts), material=RAW)
    drawn = sheet_svg(sheet, DrawingRules()).decode()
    assert WRITTEN in drawn
    assert ElementTree.fromstring(drawn) is not None
    read = ezdxf.read(StringIO(sheet_dxf(sheet, DrawingRules(release=release)).decode("cp1252")))
    texts = [found.dxf.text for found in read.modelspace().query("TEXT")]
    assert any(WRITTEN in text for text in texts)
    assert not any(OBEYED.search(text) for text in texts)


def test_every_kind_of_writing_in_a_drawing_is_written_out() -> None:
    at = Region(5, 5, 150, 20)
    drawing = Drawing(
        200, 100, (Words(at, RAW, 9), Words(at, RAW, 9, turned=True), Badge(at, RAW, 9, black=False))
    )
    root = ElementTree.fromstring(draw_svg(drawing, RAW))
    assert [str(node.text) for node in root.iter() if node.text and node.text.strip()] == [WRITTEN] * 4
    paper = Paper((200, 100), RAW)
    draw_pdf(paper, drawing, 0, 0)
    text = str(pypdf.PdfReader(BytesIO(paper.finish())).pages[0].extract_text())
    assert text.replace("\n", "").count(WRITTEN) == 3
