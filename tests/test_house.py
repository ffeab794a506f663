"""The rules of the house, checked on the source itself."""

from __future__ import annotations

import ast
import re
import subprocess
import sys
from functools import cache
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "stockyard"
SOURCES = sorted(PACKAGE.rglob("*.py"))

# What each room may import from its own house, besides itself and the ground floor.
GROUND = {
    "bands", "days", "errors", "measure", "tags", "text", "wording", "kinds", "worth", "effort", "saws",
    "figures", "flaws", "footage", "rough", "routing", "settings_said", "settings_text", "tolerances",
    "whole",
}  # fmt: skip
ALLOWED = {
    "errors": set(),
    "bands": set(),
    "rough": {"errors", "measure"},
    "footage": {"errors", "measure"},
    "tolerances": {"measure"},
    "days": {"errors"},
    "measure": {"errors"},
    "tags": {"errors"},
    "text": {"errors"},
    "wording": set(),
    "saws": {"measure"},
    "effort": {"measure", "worth"},
    "handling": GROUND,
    "kinds": set(),
    "figures": {"measure"},
    "flaws": {"errors", "measure"},
    "routing": {"errors", "measure"},
    "whole": {"errors"},
    "worth": {"measure"},
    "settings": GROUND,
    "settings_text": {"days", "errors", "measure", "routing", "settings_said"},
    "cutlist": GROUND,
    "planning": GROUND,
    "printing": GROUND,
    "advice": GROUND | {"handling"},
    "yard": GROUND | {"settings", "handling"},
    "desk": None,
    "cli": None,
    "page": None,
}
# The rooms of the planner, its ground ("") first: each may import from those before it.
PLANNING = [
    "", "sawing", "recreate", "tables", "bounds", "placing", "choosing", "polish", "boards", "hunting",
]  # fmt: skip
HEAVY = {
    "ortools", "numba", "numpy", "pandas", "reportlab", "openpyxl", "sqlite_utils", "ezdxf", "starlette",
    "uvicorn", "jinja2", "anyio", "PIL", "zxingcpp",
}  # fmt: skip


@cache
def tree_of(path: Path) -> ast.Module:
    """Return a source file's tree, read once for all tests."""
    return ast.parse(path.read_text(encoding="utf-8"))


def room_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return parts[0]


def imports_of(tree: ast.AST) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(tree):
        if isinstance(node, ast.Import):
            found.update(alias.name for alias in node.names)
        elif isinstance(node, ast.ImportFrom) and node.module:
            found.add(node.module)
            found.update(f"{node.module}.{alias.name}" for alias in node.names)
    return found


def test_arrows_go_one_way() -> None:
    wrong = []
    for path in SOURCES:
        room = room_of(path)
        allowed = ALLOWED.get(room, set())
        if allowed is None or room in {"__init__", "__main__"}:
            continue
        for name in imports_of(tree_of(path)):
            if not name.startswith("stockyard."):
                continue
            inside = name.removeprefix("stockyard.")
            own = inside.split(".")[0] == room
            if own or any(inside == a or inside.startswith(a + ".") for a in allowed):
                continue
            wrong.append(f"{path.relative_to(PACKAGE)} imports {name}")
    assert not wrong


def test_arrows_in_the_planner_go_one_way() -> None:
    wrong = []
    for path in (PACKAGE / "planning").rglob("*.py"):
        own = path.parent.name if path.parent.name in PLANNING else ""
        for name in imports_of(tree_of(path)):
            room = name.split(".")[2] if name.startswith("stockyard.planning.") else ""
            if room in PLANNING and PLANNING.index(room) > PLANNING.index(own):
                wrong.append(f"{path.relative_to(PACKAGE)} imports {name}")
    assert not wrong


def test_nothing_imports_the_command_line() -> None:
    for path in SOURCES:
        if room_of(path) not in {"cli", "__main__"}:
            names = imports_of(tree_of(path))
            assert not any(name.startswith("stockyard.cli") for name in names), path


def test_the_doors_ask_the_desk_alone() -> None:
    """They hold words and formats: what they may import is the desk, what prints, and the ground floor."""
    allowed = {"desk", "printing", "handling", "settings", *GROUND}
    own = {"cli": {"cli", "page"}, "page": {"page"}}
    wrong = [
        f"{path.name} imports {name}"
        for door, more in own.items()
        for path in (PACKAGE / door).rglob("*.py")
        for name in imports_of(tree_of(path))
        if name.startswith("stockyard.") and name.split(".")[1] not in allowed | more
    ]
    assert not wrong


def test_only_the_command_that_serves_them_knows_the_pages() -> None:
    for path in SOURCES:
        if room_of(path) != "page" and path.name != "serve.py":
            names = imports_of(tree_of(path))
            assert not any(name.startswith("stockyard.page") for name in names), path


def test_no_command_calls_another() -> None:
    """A command's file imports no function of another command's file."""
    groups = {path.stem for path in (PACKAGE / "cli").glob("*.py") if "def register(" in path.read_text()}
    wrong = [
        f"{path.name} imports {name}"
        for path in (PACKAGE / "cli").glob("*.py")
        for name in imports_of(tree_of(path))
        if name.startswith("stockyard.cli.") and name.split(".")[2] in groups - {path.stem}
    ]
    assert not wrong


# What begins a statement, as it stands in a text; keywords in capitals, as all our SQL has them.
SQL = re.compile(
    r"\b(SELECT\s.*\sFROM\s|INSERT\s+INTO\s|UPDATE\s+\w+\s+SET\s|DELETE\s+FROM\s|PRAGMA\s+\w"
    r"|CREATE\s+(TABLE|VIEW|INDEX|TRIGGER)\s|DROP\s+(TABLE|TRIGGER|VIEW)\s|BEGIN\s+IMMEDIATE)",
    re.DOTALL,
)


def sql_in(tree: ast.AST) -> list[str]:
    """Return the texts of a file that hold SQL, pieced together where they are formatted."""
    texts = [n.value for n in ast.walk(tree) if isinstance(n, ast.Constant) and isinstance(n.value, str)]
    for node in ast.walk(tree):
        if isinstance(node, ast.JoinedStr):
            texts.append(" ".join(str(v.value) if isinstance(v, ast.Constant) else "x" for v in node.values))
    return [text for text in texts if SQL.search(text)]


def test_no_text_of_sql_outside_the_yard() -> None:
    found = {
        str(path.relative_to(PACKAGE)): texts
        for path in SOURCES
        if room_of(path) != "yard" and (texts := sql_in(tree_of(path)))
    }
    assert not found
    assert sql_in(ast.parse((PACKAGE / "yard" / "pieces.py").read_text(encoding="utf-8"))), "it finds some"


def test_errors_of_the_rooms_name_no_command() -> None:
    """What to do about a fault is the door's to say: no room below one names a command or an option."""
    named = re.compile(r"'stockyard [a-z]|(^|\s)--[a-z]")
    found = [
        f"{path.relative_to(PACKAGE)}:{node.lineno} {text.value[:60]}"
        for path in SOURCES
        if room_of(path) not in {"cli", "__main__"}
        for node in ast.walk(tree_of(path))
        if isinstance(node, ast.Raise)
        for text in ast.walk(node)
        if isinstance(text, ast.Constant) and isinstance(text.value, str) and named.search(text.value)
    ]
    assert not found


def test_sql_lives_in_the_yard() -> None:
    for path in SOURCES:
        if room_of(path) != "yard":
            names = imports_of(tree_of(path))
            assert not names & {"sqlite3", "sqlite_utils"}, path


def test_the_verifier_shares_no_code_with_the_search() -> None:
    own = {path.stem: path for path in (PACKAGE / "planning").glob("verify*.py")}
    for path in own.values():
        names = imports_of(tree_of(path))
        modules = {n.split(".")[2] for n in names if n.startswith("stockyard.planning.")}
        assert modules <= {"problem", "plan", "tree", *own}


def test_the_front_hall_holds_what_it_is_to_hold() -> None:
    """What the project keeps at its top, hidden files apart: an odd note is noticed here."""
    listing = ["git", "ls-files"]
    names = subprocess.run(listing, cwd=PACKAGE.parent, capture_output=True, text=True, check=False).stdout
    if not names:
        pytest.skip("not a checkout")
    top = {name.split("/")[0] for name in names.splitlines() if not name.startswith(".")}
    folders = {"db", "demo_data", "stockyard", "tests"}
    assert top == {"DEVELOPERS.md", "LICENSE", "README.md", "pyproject.toml", *folders}


def test_functions_are_short() -> None:
    long = []
    for path in SOURCES:
        for node in ast.walk(tree_of(path)):
            if isinstance(node, ast.FunctionDef):
                body = node.body[1:] if ast.get_docstring(node) else node.body
                lines = (body[-1].end_lineno or 0) - body[0].lineno + 1 if body else 0
                if lines > 70:
                    long.append(f"{path.relative_to(PACKAGE)}:{node.name} has {lines} lines")
    assert not long


def test_public_things_are_documented() -> None:
    bare = []
    for path in SOURCES:
        tree = tree_of(path)
        if not ast.get_docstring(tree) and path.name != "__main__.py":
            bare.append(str(path.relative_to(PACKAGE)))
        for node in tree.body:
            public = isinstance(node, (ast.FunctionDef, ast.ClassDef)) and not node.name.startswith("_")
            if public and not ast.get_docstring(node):
                bare.append(f"{path.relative_to(PACKAGE)}:{node.name}")
    assert not bare


@pytest.mark.parametrize("words", [["--help"], ["find", "--help"]])
def test_nothing_heavy_is_imported_to_answer_at_once(words: list[str]) -> None:
    code = (
        "import sys; from stockyard.cli.main import main\n"
        f"sys.argv = ['stockyard', *{words!r}]\n"
        "try: main()\n"
        "except SystemExit: pass\n"
        f"print('HEAVY', sorted(set(sys.modules) & {HEAVY!r}))"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert "HEAVY []" in done.stdout


def test_work_at_the_racks_loads_no_reader_of_lists() -> None:
    rooms = "racks stock putting_away pulling cutting counting labels papers shelve_advice"
    imports = ", ".join(f"stockyard.desk.{room}" for room in rooms.split())
    code = f"import sys, {imports}; print([m for m in sys.modules if m.startswith('stockyard.cutlist')])"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert done.stdout.strip() == "[]"
